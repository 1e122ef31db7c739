"""Whether a gauge may take a reading now: kind, retirement, calibration in force, range, setting ring."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from measurements.engineering.units import convert, same_dimension
from measurements.models import Calibration, Gauge
from shop.clock import shop_day
from shop.codes import parse_scan
from shop.errors import Refusal
from shop.models.prepared import Prepared, on, text

#: A setting ring must lie this near the limits (inches; common practice, no source): a bore gauge set on a ring of
#: another size would measure far from where it was set.
RING_WITHIN_IN = Decimal("0.010")


class GaugeRefused(Refusal):
    """A gauge that may not measure this."""


@dataclass(frozen=True)
class Chosen:
    """A gauge good for a reading at that moment, with the calibration that makes it so."""

    gauge: Gauge
    calibration: Calibration


_NEWEST = Prepared(
    lambda: (
        Calibration.objects.filter(gauge__item__mark=text("mark"), made_on__lte=on("day"))
        .select_related("gauge__item")
        .order_by("-made_on", "-pk")[:1]
    )
)


def newest_calibration(mark: str, day: date) -> Calibration | None:
    """The last calibration made up to that day, with its gauge, read anew each time."""
    return _NEWEST.first(mark=mark, day=day)


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
    found = newest_calibration(mark, day)
    if found is None:
        raise GaugeRefused(_why_unknown(mark), field="gauge")
    gauge = found.gauge
    if gauge.retired_at is not None and gauge.retired_at <= at:
        raise GaugeRefused(f"Gauge {mark} is retired. Take another {words}.", field="gauge")
    if gauge.kind != kind:
        is_words = gauge.kind.replace("_", " ")
        raise GaugeRefused(f"{mark} is a {is_words}; this needs a {words}.", field="gauge")
    if not found.good_on(day):
        raise GaugeRefused(_why_overdue(mark, found, day), field="gauge")
    return Chosen(gauge, found)


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
    size = convert(ring.setting, ring.unit, unit)
    margin = convert(RING_WITHIN_IN, "in", unit)
    near_low = low is None or size >= Fraction(low) - margin
    near_high = high is None or size <= Fraction(high) + margin
    if not (near_low and near_high):
        raise GaugeRefused(
            f"Ring {ring.item.mark} is {_shown(ring.setting)} {ring.unit}: too far from the limits here"
            f" ({_shown(low)} to {_shown(high)} {unit}). Scan the ring for this size.",
            field="ring",
        )
    return ring


def _shown(value: Decimal | None) -> str:
    return "" if value is None else format(value.normalize(), "f")
