"""How often a gauge was used since its calibration: the readings taken with it, and uses that left none.

Hand torque tools are due after 12 months or 5,000 cycles, whichever comes first (ISO 6789, public torque notes); every
reading counts as a cycle, one that was replaced or voided too, for the tool was used all the same.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import UTC, datetime

from django.db.models import Case, Count, DateTimeField, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum, Value, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce

from measurements.models import Calibration, GaugeRecall, GaugeUse, Reading
from shop.models.prepared import Blank

#: From nine tenths of its uses on a gauge is told as due soon (house rule).
_SOON_OF_TEN = 9
#: For a calibration of which nobody noted when it went on record: no recall is older.
_LONG_AGO = datetime(1950, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Wear:
    """Uses since the calibration, beside the number at which it is due."""

    used: int
    due_after: int

    @property
    def is_out(self) -> bool:
        """Whether it may not be used again: the next use would be one too many."""
        return self.used >= self.due_after

    @property
    def left(self) -> int:
        return self.due_after - self.used

    @property
    def is_soon(self) -> bool:
        return self.used * 10 >= self.due_after * _SOON_OF_TEN

    def __str__(self) -> str:
        return f"{self.used:,} of {self.due_after:,} uses"


def used_by(at: Blank) -> Combinable:
    """For a query of calibrations: uses up to that moment; nothing is counted where nothing is due by use."""
    return Case(
        When(due_after=None, then=None),
        default=_total(Reading.objects.filter(happened_at__lte=at), Count("pk"))
        + _total(GaugeUse.objects.filter(at__lte=at), Sum("uses")),
        output_field=IntegerField(),
    )


def _total(rows: QuerySet[Reading] | QuerySet[GaugeUse], sums: Count | Sum) -> Combinable:
    own = rows.filter(calibration=OuterRef("pk")).order_by().values("calibration")
    return Coalesce(Subquery(own.annotate(total=sums).values("total")), 0)


def recalled_by(at: Blank) -> Combinable:
    """For a query of calibrations: why the gauge stood recalled at that moment. A recall stands until a calibration
    that was made on its day or later, and went on record after it."""
    entered = Coalesce(OuterRef("entered_at"), Value(_LONG_AGO), output_field=DateTimeField())
    since = Q(at__gt=entered) | Q(day__gt=OuterRef("made_on"))
    never = GaugeRecall.objects.filter(since, gauge=OuterRef("gauge"), at__lte=at)
    return Subquery(never.order_by("-at").values("reason")[:1])


def wear_of(calibrations: Collection[Calibration], at: datetime | None) -> dict[int, Wear]:
    """By calibration, where it is due by use, up to that moment; None: all that is on record. Two queries."""
    due = {row.pk: row.due_after for row in calibrations if row.due_after is not None}
    read = Reading.objects.filter(calibration__in=due)
    by_hand = GaugeUse.objects.filter(calibration__in=due)
    if at is not None:
        read, by_hand = read.filter(happened_at__lte=at), by_hand.filter(at__lte=at)
    counts = dict(read.order_by().values_list("calibration").annotate(total=Count("pk")))
    sums = dict(by_hand.order_by().values_list("calibration").annotate(total=Sum("uses")))
    return {pk: Wear(counts.get(pk, 0) + sums.get(pk, 0), most) for pk, most in due.items()}


def recalls_standing(calibrations: Collection[Calibration], at: datetime) -> dict[int, GaugeRecall]:
    """By gauge, the recall that stands over its newest calibration. One query."""
    newest = {row.gauge_id: row for row in calibrations}
    found: dict[int, GaugeRecall] = {}
    for recall in GaugeRecall.objects.filter(at__lte=at).select_related("person").order_by("at"):
        last = newest.get(recall.gauge_id)
        if last is None or last.entered_at is None or recall.at > last.entered_at or recall.day > last.made_on:
            found[recall.gauge_id] = recall
    return found
