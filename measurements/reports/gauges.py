"""The gauge shelf: what is overdue, what is due soon, what each gauge has read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Count

from measurements.engineering.limits import plain
from measurements.models import Calibration, Characteristic, Gauge, GaugeRecall, GaugeUse, Reading
from measurements.rings import has_the_size, set_on_a_ring
from measurements.uses import Wear, recalls_standing, wear_of
from shop.clock import shop_day
from shop.lists import CsvList

SOON = 30
NEWEST = 50
_FAR = 10**6


@dataclass(frozen=True)
class ShelfRow:
    """One gauge with the calibration in force, if any, what it was used for since, and the recall that stands."""

    gauge: Gauge
    calibration: Calibration | None
    days: int | None
    readings: int
    wear: Wear | None = None
    recall: GaugeRecall | None = None

    @property
    def state(self) -> str:
        if self.gauge.retired_at is not None:
            return "retired"
        if self.recall is not None:
            return "recalled"
        worn = self.wear is not None and self.wear.is_out
        if self.days is None or self.days <= 0 or worn:
            return "overdue"
        soon = self.wear is not None and self.wear.is_soon
        return "due soon" if self.days <= SOON or soon else "valid"

    @property
    def measures(self) -> str:
        """Its size, or its range and step, in its unit: "20 to 150 ft-lb, step 1"."""
        gauge = self.gauge
        if gauge.setting is not None:
            return f"{plain(gauge.setting)} {gauge.unit}"
        step = f"step {plain(gauge.step)}" if gauge.step is not None else ""
        if gauge.low is None or gauge.high is None:
            return f"{step} {gauge.unit}".strip()
        return ", ".join(filter(None, (f"{plain(gauge.low)} to {plain(gauge.high)} {gauge.unit}", step)))

    @property
    def wants(self) -> bool:
        """Whether somebody has to see to it: overdue or recalled, or soon to be due."""
        return self.state in _ORDER[:3]


_ORDER = ("overdue", "recalled", "due soon", "valid", "retired")


def shelf(now: datetime) -> list[ShelfRow]:
    """Overdue ones first, then what is recalled or due soon, by the day they are due; retired ones last. Five
    queries."""
    today = shop_day(now)
    last: dict[int, Calibration] = {}
    for row in Calibration.objects.filter(made_on__lte=today).order_by("made_on", "pk"):
        last[row.gauge_id] = row
    wear, recalls = wear_of(last.values(), now), recalls_standing(last.values(), now)
    gauges = Gauge.objects.select_related("item").annotate(read=Count("readings")).order_by("item__mark")
    rows = [_row(gauge, last.get(gauge.pk), today, wear, recalls.get(gauge.pk)) for gauge in gauges]
    return sorted(rows, key=lambda row: (_ORDER.index(row.state), row.days if row.days is not None else -_FAR))


@dataclass(frozen=True)
class GaugeStanding:
    """One gauge for its page: how it stands today, its calibrations and its newest readings. `asked_at`: what the build
    cards measure with such a gauge, or with one that is set on this ring, in the order of their codes."""

    row: ShelfRow
    calibrations: list[Calibration]
    newest: list[Reading]
    by_hand: list[GaugeUse]
    asked_at: list[str]

    @property
    def count(self) -> int:
        return self.row.readings

    @property
    def since(self) -> date | None:
        """The last day on which it is known to have been good: that of the last calibration that found no error, or,
        where the newest found one, of the one before it."""
        for place, row in enumerate(self.calibrations):
            if not row.as_found or place:
                return row.made_on
        return None


def gauge_standing(gauge: Gauge, now: datetime) -> GaugeStanding:
    """Seven queries, however much it has read; of a setting ring the cards are asked too."""
    today = shop_day(now)
    calibrations = list(gauge.calibrations.select_related("gauge").order_by("-made_on", "-pk"))
    last = next((row for row in calibrations if row.made_on <= today), None)
    kept = [last] if last is not None else []
    recall = recalls_standing(kept, now).get(gauge.pk)
    gauge.read = Reading.objects.filter(gauge=gauge).count()  # type: ignore[attr-defined]
    row = _row(gauge, last, today, wear_of(kept, now), recall)
    readings = Reading.objects.filter(gauge=gauge).select_related("characteristic", "item", "person")
    by_hand = GaugeUse.objects.filter(calibration__in=kept).select_related("person").order_by("-at", "-pk")
    newest = list(readings.order_by("-entered_at", "-pk")[:NEWEST])
    return GaugeStanding(row, calibrations, newest, list(by_hand), _asked_at(gauge))


def _asked_at(gauge: Gauge) -> list[str]:
    rows = _set_on(gauge) if gauge.kind == "setting_ring" else _measured_with(gauge)
    named = {(row.code, row.name) for row in rows}
    return [f"{code} {name}" for code, name in sorted(named, key=lambda one: (code_order(one[0]), one[1]))]


def _measured_with(gauge: Gauge) -> list[Characteristic]:
    """A card names the kind of gauge, and every gauge of that kind may be taken whose range holds the limits."""
    return [row for row in Characteristic.objects.filter(gauge_kind=gauge.kind) if _holds_the_limits(gauge, row)]


def _set_on(ring: Gauge) -> list[Characteristic]:
    """A card names no ring: every one may be scanned that has the size."""
    rows = Characteristic.objects.exclude(gauge_kind="").exclude(unit="").exclude(low=None, high=None)
    near = [row for row in rows if has_the_size(ring, row.low, row.high, row.unit)]
    asked = set_on_a_ring({row.card_key for row in near})
    return [row for row in near if (row.card_key, row.code) in asked]


def _holds_the_limits(gauge: Gauge, asked: Characteristic) -> bool:
    limits = [limit for limit in (asked.low, asked.high) if limit is not None]
    return asked.unit != gauge.unit or all(gauge.covers(limit) for limit in limits)


def code_order(code: str) -> list[tuple[int, int | str]]:
    """The codes of a card as it lists them: 50.3 before 220.1, 270.2 before 270.a."""
    return [(0, int(part)) if part.isdecimal() else (1, part) for part in code.split(".")]


def shelf_list(rows: list[ShelfRow]) -> CsvList:
    head = (
        "gauge", "kind", "what it is", "low", "high", "step", "set to", "unit", "state", "calibrated", "due",
        "certificate", "readings", "uses since", "due after uses",
    )  # fmt: skip
    lines = [
        (
            row.gauge.item.mark, row.gauge.kind, row.gauge.name, _plain(row.gauge.low), _plain(row.gauge.high),
            _plain(row.gauge.step), _plain(row.gauge.setting), row.gauge.unit, row.state,
            row.calibration.made_on if row.calibration else None, row.calibration.due_on if row.calibration else None,
            row.calibration.certificate if row.calibration else "", row.readings,
            row.wear.used if row.wear else "", row.wear.due_after if row.wear else "",
        )
        for row in rows
    ]  # fmt: skip
    return CsvList("gauges", head, lines)


def read_with(gauge: Gauge) -> CsvList:
    """Every reading taken with it, the newest first: what is looked at when it turns out to be off."""
    rows = Reading.objects.filter(gauge=gauge).select_related("characteristic", "item", "person", "calibration")
    head = ("when", "on", "code", "characteristic", "position", "reading", "unit", "verdict", "by", "calibration")
    lines = [
        (
            row.entered_at, row.item.mark, row.characteristic.code, row.characteristic.name, row.position, row.typed,
            row.unit_typed, row.get_verdict_display(), row.person.name if row.person else "",
            row.calibration.certificate if row.calibration else "",
        )
        for row in rows.order_by("-entered_at", "-pk").iterator()
    ]  # fmt: skip
    return CsvList(f"{gauge.item.mark}-readings", head, lines)


def _plain(value: Decimal | None) -> str:
    return "" if value is None else plain(value)


def _row(
    gauge: Gauge, calibration: Calibration | None, today: date, wear: dict[int, Wear], recall: GaugeRecall | None
) -> ShelfRow:
    days = (calibration.due_on - today).days if calibration is not None else None
    own = wear.get(calibration.pk) if calibration is not None else None
    return ShelfRow(gauge, calibration, days, getattr(gauge, "read", 0), own, recall)
