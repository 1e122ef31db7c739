"""A bought part's own values: they belong to it wherever it goes, until it is reworked or somebody doubts them."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from django.db.models import Exists, OuterRef, Q, QuerySet

from builds.definitions.plan import Slot
from builds.models import Decision, Disposition, JudgedAgain, Visit
from measurements.models import OUT, Reading

_REWORKED = (Decision.REWORK, Decision.REPAIR)


def given_by_parts(slot: Slot) -> list[str]:
    """The codes that a bought part gives here."""
    given = [(planned.code, planned.characteristic.given) for planned in slot.characteristics]
    return [code for code, by in given if by is not None and by.source == "part"]


def since_rework(rows: QuerySet[Reading]) -> QuerySet[Reading]:
    """What was read on a part before it was reworked counts no more."""
    reworked = Disposition.objects.filter(
        Q(tag__item=OuterRef("item")) | Q(tag__reading__item=OuterRef("item")),
        decision__in=_REWORKED,
        at__gte=OuterRef("entered_at"),
    )
    return rows.exclude(Exists(reworked))


def before_rework(readings: Collection[int]) -> set[int]:
    """Of these readings of parts those that count no more."""
    if not readings:
        return set()
    rows = Reading.objects.filter(pk__in=readings)
    return set(readings) - set(since_rework(rows).values_list("pk", flat=True))


def undoubted(rows: QuerySet[Reading]) -> QuerySet[Reading]:
    """Without what a look-back gave another verdict: that is read again before anything is built on it."""
    now_out, was_out = Q(verdict__in=OUT), Q(reading__verdict__in=OUT)
    other = Q(verdict="") | (now_out & ~was_out) | (was_out & ~now_out)
    return rows.exclude(Exists(JudgedAgain.objects.filter(other, reading=OuterRef("pk"))))


def own_rows(visit: Visit, rows: Iterable[Reading], given: Collection[str], cited: Iterable[Reading]) -> list[Reading]:
    """Of the readings on the sheets of a pass for single codes those that count: of a code that it asks again and that
    a part gives, what the part here brings along. The pass before may have been about another part, or this one was
    reworked or doubted since."""
    counts = {row.pk for row in cited}
    return [
        row
        for row in rows
        if row.characteristic.code not in given
        or row.characteristic.code not in visit.only
        or row.item_id == visit.item_id
        or row.pk in counts
    ]
