"""Whether a gauge may take a reading now: kind, recall, calibration in force by day and by use, range, setting ring."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Q

from measurements.engineering.units import convert, same_dimension, unit_named
from measurements.models import Calibration, Gauge
from measurements.rings import has_the_size
from measurements.uses import Wear, recalled_by, used_by, wear_of
from shop.clock import shop_day
from shop.codes import parse_scan
from shop.errors import Refusal
from shop.models.prepared import Prepared, moment, on, text

#: An error in per cent of the true value must be less than all of it.
ALL_OF_IT = 100
MORE_THAN_ALL = "An error of 100 per cent or more is not a reading. Check the figure."


#: More readings than can be on their way at one moment: there are not so many terminals. With more uses left than
#: that, two that do not see each other cannot pass the limit.
AT_ONCE = 100


class GaugeRefused(Refusal):
    """A gauge that may not measure this."""


@dataclass(frozen=True)
class Chosen:
    """A gauge good for a reading at that moment, with the calibration that makes it so."""

    gauge: Gauge
    calibration: Calibration
    wear: Wear | None = None


@dataclass(frozen=True)
class InForce:
    """The calibration that counts at a moment, what its gauge had been used for by then, and why it was recalled."""

    calibration: Calibration
    wear: Wear | None
    recalled: str


_IN_FORCE = Prepared(
    lambda: (
        Calibration.objects.filter(gauge__item__mark=text("mark"))
        .filter(
            Q(made_on__lt=on("day")) | Q(made_on=on("day")) & (Q(entered_at=None) | Q(entered_at__lte=moment("at")))
        )
        .annotate(used=used_by(moment("at")), recalled=recalled_by(moment("at")))
        .select_related("gauge__item")
        .order_by("-made_on", "-pk")[:1]
    )
)


def in_force(mark: str, at: datetime) -> InForce | None:
    """The calibration that counts at that moment, with its gauge, read anew each time.

    One that was made on that very day counts from when it went on record: what was measured before it, and is entered
    from paper after it, was measured under the one before.
    """
    found = _IN_FORCE.first(mark=mark, day=shop_day(at), at=at)
    if found is None:
        return None
    used, recalled = getattr(found, "used", None), getattr(found, "recalled", None)
    wear = Wear(used or 0, found.due_after) if found.due_after is not None else None
    return InForce(found, wear, recalled or "")


def mark_of(scan: str) -> str:
    read = parse_scan(scan)
    return read.mark if read is not None else " ".join(scan.upper().split())


def good_gauge(scan: str, kind: str, at: datetime) -> Chosen:
    """The gauge with this mark, if it may measure now. Looked up anew for every reading, so that one that is
    retired or overdue refuses the next reading on every open page."""
    mark = mark_of(scan)
    words = kind.replace("_", " ")
    if not mark:
        raise GaugeRefused(f"No gauge was scanned. Scan the {words} you use.", field="gauge")
    day = shop_day(at)
    standing = in_force(mark, at)
    if standing is None:
        raise GaugeRefused(_why_unknown(mark), field="gauge")
    found = standing.calibration
    gauge = found.gauge
    if gauge.retired_at is not None and gauge.retired_at <= at:
        raise GaugeRefused(f"Gauge {mark} is retired. Take another {words}.", field="gauge")
    if gauge.kind != kind:
        is_words = gauge.kind.replace("_", " ")
        raise GaugeRefused(f"{mark} is a {is_words}; this needs a {words}.", field="gauge")
    if standing.recalled:
        raise GaugeRefused(f"Gauge {mark} is recalled: {standing.recalled} Take another {words}.", field="gauge")
    if not found.good_on(day):
        raise GaugeRefused(_why_overdue(mark, found, day), field="gauge")
    if standing.wear is not None and standing.wear.is_out:
        raise GaugeRefused(_why_worn(mark, found, standing.wear), field="gauge")
    return Chosen(gauge, found, standing.wear)


def still_within_uses(chosen: Chosen, at: datetime | None) -> None:
    """Refuse a gauge whose last use was taken by another terminal since it was looked up.

    Race: two axles have two locks, and one gauge at its last use. The calibration's row is locked until the reading
    is written, always after the axle, so the second one counts the first. On SQLite the act already holds the only
    write lock. `at` None: everything on record counts, for the first one's time may lie a moment after ours. A
    gauge that is due by the day alone, or that has many uses left, is not asked about.
    """
    calibration = chosen.calibration
    if chosen.wear is None or chosen.wear.left > AT_ONCE:
        return
    Calibration.objects.select_for_update(no_key=True).get(pk=calibration.pk)
    wear = wear_of([calibration], at)[calibration.pk]
    if wear.is_out:
        raise GaugeRefused(_why_worn(chosen.gauge.item.mark, calibration, wear), field="gauge")


def _why_unknown(mark: str) -> str:
    if Gauge.objects.filter(item__mark=mark).exists():
        return f"Gauge {mark} has no calibration on record up to today. It may not be used; ask the inspector."
    return f"No gauge carries the mark “{mark[:40]}”. Scan the gauge's own label."


def _why_overdue(mark: str, calibration: Calibration, day: date) -> str:
    days = (day - calibration.due_on).days
    ago = "today" if days == 0 else f"{days} day{'s' if days != 1 else ''} ago"
    return (
        f"Gauge {mark} is overdue: its calibration ran out on {calibration.due_on:%d %b %Y}, {ago}."
        " It may not be used; take another or ask the inspector."
    )


def _why_worn(mark: str, calibration: Calibration, wear: Wear) -> str:
    return (
        f"Gauge {mark} is overdue: it has been used {wear.used:,} times since its calibration of"
        f" {calibration.made_on:%d %b %Y}, and is due after {wear.due_after:,}."
        " It may not be used; take another or ask the inspector."
    )


def in_range(gauge: Gauge, value: Decimal, unit: str) -> None:
    """Refuse a value of another kind than the gauge reads, or outside its marked range."""
    if not same_dimension(unit, gauge.unit):
        raise GaugeRefused(f"{gauge.item.mark} reads {gauge.unit}; this needs {unit}. Take another.", field="gauge")
    if gauge.low is None and gauge.high is None:
        return
    own = convert(value, unit, gauge.unit)
    below = gauge.low is not None and own < gauge.low
    above = gauge.high is not None and own > gauge.high
    if below or above:
        low, high = _shown(gauge.low), _shown(gauge.high)
        raise GaugeRefused(
            f"{value} {unit} is outside the range of {gauge.item.mark} ({low} to {high} {gauge.unit})."
            " Read again, or take a gauge with the right range.",
            field="gauge",
        )


def range_fits(gauge: Gauge, low: Decimal | None, high: Decimal | None, unit: str) -> None:
    """Refuse, when it is scanned, a gauge whose marked range does not hold the limits themselves."""
    for limit in (low, high):
        if limit is not None and limit != 0:
            in_range(gauge, limit, unit)


def good_ring(scan: str, at: datetime, low: Decimal | None, high: Decimal | None, unit: str) -> Gauge:
    """The setting ring, calibrated and of the right size for these limits."""
    if not scan.strip():
        raise GaugeRefused("A bore gauge is set on a ring. Scan the setting ring.", field="ring")
    try:
        ring = good_gauge(scan, "setting_ring", at).gauge
    except GaugeRefused as refused:
        raise GaugeRefused(refused.text, field="ring") from refused
    if ring.setting is None:
        raise GaugeRefused(f"Ring {ring.item.mark} has no size on record. Ask the inspector.", field="ring")
    if not has_the_size(ring, low, high, unit):
        raise GaugeRefused(
            f"Ring {ring.item.mark} is {_shown(ring.setting)} {ring.unit}: too far from the limits here"
            f" ({_shown(low)} to {_shown(high)} {unit}). Scan the ring for this size.",
            field="ring",
        )
    return ring


def _shown(value: Decimal | None) -> str:
    return "" if value is None else format(value.normalize(), "f")


def no_percentage(gauge: Gauge) -> str:
    """Why the error of this gauge cannot be given in per cent; "" when it can: its scale begins at nothing."""
    mark = gauge.item.mark
    if gauge.setting is not None:
        return f"{mark} is a ring: its error is a size in {gauge.unit}, not a percentage."
    if unit_named(gauge.unit).dimension == "temperature":
        return f"{mark} reads {gauge.unit}, which has no percentage: give the error in degrees."
    return ""
