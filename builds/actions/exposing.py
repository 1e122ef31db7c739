"""Look axles that left through, once each, and keep what is found for the ranking of what returns share.

Outside the ledger: nothing here was entered by anybody, and all of it may be thrown away and found again. Race: two
that look the same axle through write the same; what moves on meanwhile has an older stamp and is looked through anew.
"""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable, Sequence

import numpy as np
from django.db import transaction
from django.utils import timezone

from builds.models import Exposed, SharedValue
from builds.reports.returns.exposure import exposure
from builds.reports.returns.kept import STORED, by_axle, not_kept, numbered, rules_now
from shop.record import jobs
from shop.record.models import Job

LOOK_THROUGH = "returns.look_through"
#: Axles that are looked through at once; those that a page waits for; seconds after which a job hands over to another.
AT_ONCE, WAITED_FOR, LONGEST_S = 500, 2000, 120.0


def look_through(waiting: Sequence[tuple[int, int]], rules: str, pause: Callable[[], bool] = lambda: True) -> bool:
    """Keep the values of these axles (with their stamps). `pause` is asked between; False ends it. Whether all are."""
    for at in range(0, len(waiting), AT_ONCE):
        if at and not pause():
            return False
        _keep(waiting[at : at + AT_ONCE], rules)
    return True


def _keep(some: Sequence[tuple[int, int]], rules: str) -> None:
    found = exposure([axle for axle, _ in some])
    turned = by_axle(found)
    with transaction.atomic():
        rows = [SharedValue(**dict(zip(("kind", "typed", "day", "shift", "words"), value.counted_as, strict=True)))
                for value in found]  # fmt: skip
        known = {tuple(row[:5]) for row in numbered(sorted({row.typed for row in rows}))}
        SharedValue.objects.bulk_create(
            [row for row, value in zip(rows, found, strict=True) if value.counted_as not in known],
            ignore_conflicts=True, batch_size=2000,
        )  # fmt: skip
        numbers = {tuple(row[:5]): row[5] for row in numbered(sorted({row.typed for row in rows}))}
        Exposed.objects.bulk_create(
            [
                Exposed(
                    axle_id=axle, stamp=stamp, rules=rules,
                    numbers=np.array(sorted(numbers[v.counted_as] for v in turned[axle]), STORED).tobytes(),
                )
                for axle, stamp in some
            ],
            update_conflicts=True, unique_fields=["axle"], update_fields=["numbers", "stamp", "rules"],
        )  # fmt: skip


def keep_up() -> int:
    """Look through what a page may wait for; more than that is asked for as a job. How many are still to be done."""
    rules = rules_now()
    waiting = not_kept(rules)
    if len(waiting) <= WAITED_FOR:
        look_through(waiting, rules)
        return 0
    ask()
    return len(waiting)


def ask() -> None:
    """One job is enough: it sees for itself what there is to do."""
    open_states = (Job.State.WAITING, Job.State.RUNNING)
    if not Job.objects.filter(kind=LOOK_THROUGH, state__in=open_states).exists():
        jobs.ask(LOOK_THROUGH, key=f"{LOOK_THROUGH}:{uuid.uuid4().hex}", argument={}, now=timezone.now())


def work_off(renew: Callable[[], None]) -> None:
    """What the job does: look through what there is, for a while; then hand over to another job."""
    rules, end = rules_now(), time.monotonic() + LONGEST_S

    def pause() -> bool:
        renew()
        return time.monotonic() < end

    if not look_through(not_kept(rules), rules, pause):
        key = f"{LOOK_THROUGH}:{uuid.uuid4().hex}"
        jobs.ask(LOOK_THROUGH, key=key, argument={}, now=timezone.now())
