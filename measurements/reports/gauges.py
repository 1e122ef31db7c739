"""The gauge shelf: what is overdue, what is due soon, what each gauge has read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Count

from measurements.engineering.limits import plain
from measurements.models import Calibration, Gauge, Reading
from shop.lists import CsvList

SOON = 30


@dataclass(frozen=True)
class ShelfRow:
    """One gauge with the calibration in force, if any."""

    gauge: Gauge
    calibration: Calibration | None
    days: int | None
    readings: int

    @property
    def state(self) -> str:
        if self.gauge.retired_at is not None:
            return "retired"
        if self.days is None or self.days <= 0:
            return "overdue"
        return "due soon" if self.days <= SOON else "valid"


def shelf(today: date) -> list[ShelfRow]:
    """Overdue ones first, then by the day they are due; retired ones last. Two queries."""
    last: dict[int, Calibration] = {}
    for row in Calibration.objects.filter(made_on__lte=today).order_by("made_on", "pk"):
        last[row.gauge_id] = row
    gauges = Gauge.objects.select_related("item").annotate(read=Count("readings")).order_by("item__mark")
    rows = [_row(gauge, last.get(gauge.pk), today) for gauge in gauges]
    far = 10**6
    return sorted(rows, key=lambda row: (row.state == "retired", row.days if row.days is not None else -far))


def shelf_list(rows: list[ShelfRow]) -> CsvList:
    head = (
        "gauge", "kind", "what it is", "low", "high", "step", "set to", "unit", "state", "calibrated", "due",
        "certificate", "readings",
    )  # fmt: skip
    lines = [
        (
            row.gauge.item.mark, row.gauge.kind, row.gauge.name, _plain(row.gauge.low), _plain(row.gauge.high),
            _plain(row.gauge.step), _plain(row.gauge.setting), row.gauge.unit, row.state,
            row.calibration.made_on if row.calibration else None, row.calibration.due_on if row.calibration else None,
            row.calibration.certificate if row.calibration else "", row.readings,
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


def _row(gauge: Gauge, calibration: Calibration | None, today: date) -> ShelfRow:
    days = (calibration.due_on - today).days if calibration is not None else None
    return ShelfRow(gauge, calibration, days, getattr(gauge, "read", 0))
