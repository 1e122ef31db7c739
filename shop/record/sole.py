"""Whether the act about to open is all that its caller's transaction holds."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_sole: ContextVar[bool] = ContextVar("record_sole_act", default=False)


@contextmanager
def sole_act() -> Iterator[None]:
    """The caller's transaction holds one act and ends as that act ends: it needs no savepoint of its own."""
    token = _sole.set(True)
    try:
        yield
    finally:
        _sole.reset(token)


def is_sole() -> bool:
    return _sole.get()
