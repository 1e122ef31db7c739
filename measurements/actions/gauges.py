"""Gauges: take one in, calibrate it, retire it. A calibration is never changed; a new one follows it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from measurements.engineering.units import unit_named
from measurements.models import Calibration, Gauge
from shop import entries
from shop.clock import shop_day
from shop.codes import normalise_mark
from shop.errors import Refusal
from shop.models import Item, ItemKind, Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who

KEEPERS = (Role.INSPECTOR, Role.ENGINEER, Role.QUALITY)


@dataclass(frozen=True)
class NewGauge:
    """What is known of a gauge when it comes: `low` and `high` are its marked range, `setting` a ring's size."""

    mark: str
    kind: str
    name: str
    unit: str
    step: Decimal | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    setting: Decimal | None = None


@dataclass(frozen=True)
class Calibrated:
    """One calibration: good from `made_on` up to, not including, `due_on`."""

    made_on: date
    due_on: date
    certificate: str
    as_found: Decimal | None = None
    as_left: Decimal | None = None


def take_in_gauge(*, gauge: NewGauge, by: Who, now: datetime | None = None) -> Gauge:
    """Give a gauge its identity. It may not be used before it has a calibration."""
    mark = normalise_mark(gauge.mark)
    if not mark:
        raise Refusal("The gauge has no mark. Give it one and put the label on it.", field="mark")
    _check(gauge)
    with act("gauge.taken_in", subject=f"gauge:{mark}", by=by, now=now) as a:
        require_role(by, KEEPERS, shop_day(a.now))
        if Item.objects.filter(kind=ItemKind.GAUGE, mark=mark).exists():
            raise Refusal(f"A gauge {mark} is there already. Marks are never used twice.", field="mark")
        item = a.create(Item, kind=ItemKind.GAUGE, mark=mark)
        a.note(name=gauge.name, kind=gauge.kind)
        return a.create(
            Gauge,
            item=item,
            kind=gauge.kind,
            name=gauge.name.strip(),
            unit=gauge.unit,
            step=gauge.step,
            low=gauge.low,
            high=gauge.high,
            setting=gauge.setting,
        )


def _check(gauge: NewGauge) -> None:
    if not gauge.name.strip():
        raise Refusal("Say what gauge it is.", field="name")
    try:
        unit_named(gauge.unit)
    except ValueError as error:
        raise Refusal(str(error), field="unit") from error
    if gauge.step is not None and gauge.step <= 0:
        raise Refusal("The step must be more than zero.", field="step")
    if gauge.low is not None and gauge.high is not None and gauge.low >= gauge.high:
        raise Refusal("The range must run from a smaller to a larger figure.", field="low")
    if gauge.kind == "setting_ring" and gauge.setting is None:
        raise Refusal("A setting ring needs its size.", field="setting")


def calibrate(*, gauge: Gauge, calibrated: Calibrated, by: Who, now: datetime | None = None) -> Calibration:
    """Put a calibration on record."""
    with act("gauge.calibrated", subject=gauge.item.subject, by=by, now=now) as a:
        require_role(by, KEEPERS, shop_day(a.now))
        gauge = Gauge.objects.select_related("item").get(pk=gauge.pk)
        if gauge.retired_at is not None:
            raise Refusal(f"Gauge {gauge.item.mark} is retired.")
        if calibrated.made_on > shop_day(a.now):
            raise Refusal("A calibration cannot lie in the future.", field="made_on")
        entries.day(calibrated.made_on, "day of the calibration", field="made_on")
        if entries.day(calibrated.due_on, "due day", field="due_on") <= calibrated.made_on:
            raise Refusal("It must be due after the day on which it was made.", field="due_on")
        if not calibrated.certificate.strip():
            raise Refusal("Name the certificate: it is what an auditor asks for.", field="certificate")
        if Calibration.objects.filter(gauge=gauge, made_on__gt=calibrated.made_on).exists():
            raise Refusal("A newer calibration is on record; an older one cannot follow it.", field="made_on")
        a.note(made_on=calibrated.made_on.isoformat(), due_on=calibrated.due_on.isoformat())
        return a.create(
            Calibration,
            gauge=gauge,
            made_on=calibrated.made_on,
            due_on=calibrated.due_on,
            as_found=calibrated.as_found,
            as_left=calibrated.as_left,
            certificate=calibrated.certificate.strip(),
        )


def retire_gauge(*, gauge: Gauge, reason: str, by: Who, now: datetime | None = None) -> Gauge:
    """Take a gauge out of use at once: the next reading with it is refused on every open page."""
    if not reason.strip():
        raise Refusal("Say why it is retired.", field="reason")
    with act("gauge.retired", subject=gauge.item.subject, by=by, now=now) as a:
        require_role(by, KEEPERS, shop_day(a.now))
        gauge = Gauge.objects.select_related("item").get(pk=gauge.pk)
        if gauge.retired_at is not None:
            raise Refusal(f"Gauge {gauge.item.mark} is retired already.")
        a.note(reason=reason.strip())
        return a.update(gauge, retired_at=a.now)
