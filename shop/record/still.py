"""Hold chains still without writing in them: nobody acts on these subjects until the block ends.

For an act that looks at many things and writes about few: the lock is that of `act`, and nothing is said on record
about what was only looked at. Ask for what sorts first (`axle:`) in the outer block, so that nobody waits crosswise.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from django.db import transaction

from shop.record.heads import lock_heads
from shop.record.locks import told_plainly


@contextmanager
def held_still(subjects: Iterable[str], words: str) -> Iterator[None]:
    """Hold the chains of these subjects in one transaction. `words`: what they are, for whoever has to wait too long.

    Raises Conflict when one of them stays locked by somebody else for longer than the lock time-out.
    """
    with told_plainly([words]), transaction.atomic():
        lock_heads(dict.fromkeys(subjects))
        yield
