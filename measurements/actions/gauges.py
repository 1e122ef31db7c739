"""Gauges: take one in, calibrate it, recall it, retire it, note its uses. A calibration is never changed; a new one
follows it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from measurements.engineering.units import unit_named
from measurements.gauges import ALL_OF_IT, MORE_THAN_ALL, no_percentage
from measurements.models import Calibration, Gauge, GaugeRecall, GaugeUse
from measurements.uses import recalls_standing
from shop import entries
from shop.clock import shop_day
from shop.codes import normalise_mark
from shop.errors import Refusal
from shop.models import Item, ItemKind, Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who

#: More than any tool is due after; a larger figure is a slip of the key.
MOST_USES = 1_000_000
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
    """One calibration: good from `made_on` up to, not including, `due_on`, and for `due_after` uses. The errors are
    in the gauge's unit, or with `in_percent` in per cent of the true value."""

    made_on: date
    due_on: date
    certificate: str
    as_found: Decimal | None = None
    as_left: Decimal | None = None
    in_percent: bool = False
    due_after: int | None = None


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
    entries.line(gauge.kind, "kind", longest=40)
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
        _check_calibrated(gauge, calibrated)
        if Calibration.objects.filter(gauge=gauge, made_on__gt=calibrated.made_on).exists():
            raise Refusal("A newer calibration is on record; an older one cannot follow it.", field="made_on")
        due = {} if calibrated.due_after is None else {"due_after": f"{calibrated.due_after} uses"}
        a.note(made_on=calibrated.made_on.isoformat(), due_on=calibrated.due_on.isoformat(), **due)
        return a.create(
            Calibration,
            gauge=gauge,
            made_on=calibrated.made_on,
            due_on=calibrated.due_on,
            as_found=calibrated.as_found,
            as_left=calibrated.as_left,
            in_percent=calibrated.in_percent,
            due_after=calibrated.due_after,
            certificate=calibrated.certificate.strip(),
            entered_at=a.now,
        )


def _check_calibrated(gauge: Gauge, calibrated: Calibrated) -> None:
    entries.day(calibrated.made_on, "day of the calibration", field="made_on")
    if entries.day(calibrated.due_on, "due day", field="due_on") <= calibrated.made_on:
        raise Refusal("It must be due after the day on which it was made.", field="due_on")
    if not calibrated.certificate.strip():
        raise Refusal("Name the certificate: it is what an auditor asks for.", field="certificate")
    if calibrated.due_after is not None:
        entries.whole(calibrated.due_after, "number of uses", least=1, most=MOST_USES, field="due_after")
    if calibrated.in_percent:
        _check_percent(gauge, calibrated)


def _check_percent(gauge: Gauge, calibrated: Calibrated) -> None:
    """Per cent of a reading needs a scale that begins at nothing, and an error that is less than all of it."""
    if said := no_percentage(gauge):
        raise Refusal(said, field="in_percent")
    for name in ("as_found", "as_left"):
        error = getattr(calibrated, name)
        if error is not None and abs(error) >= ALL_OF_IT:
            raise Refusal(MORE_THAN_ALL, field=name)


def recall_gauge(*, gauge: Gauge, reason: str, by: Who, now: datetime | None = None) -> GaugeRecall:
    """Call a gauge out of use at once: the next reading with it is refused on every open page, until a calibration
    that is made from now on is on record."""
    reason = entries.line(reason, "reason", longest=200)
    with act("gauge.recalled", subject=gauge.item.subject, by=by, now=now) as a:
        require_role(by, KEEPERS, shop_day(a.now))
        gauge = Gauge.objects.select_related("item").get(pk=gauge.pk)
        if gauge.retired_at is not None:
            raise Refusal(f"Gauge {gauge.item.mark} is retired: nothing is read with it any more.")
        last = gauge.calibrations.order_by("-made_on", "-pk").first()
        if recalls_standing([last] if last else [], a.now).get(gauge.pk) is not None:
            raise Refusal(f"Gauge {gauge.item.mark} is recalled already. Calibrate it, or retire it.")
        assert by.person is not None
        a.note(reason=reason)
        words = reason if reason.endswith((".", "!", "?")) else f"{reason}."
        return a.create(GaugeRecall, gauge=gauge, reason=words[:200], person=by.person, at=a.now, day=shop_day(a.now))


def note_uses(*, gauge: Gauge, uses: int, reason: str, by: Who, now: datetime | None = None) -> GaugeUse:
    """Count uses that left no reading, so that the gauge is due when it is worn and not only when it is read."""
    uses = entries.whole(uses, "number of uses", least=1, most=MOST_USES, field="uses")
    reason = entries.line(reason, "reason", longest=200, field="what_for")
    with act("gauge.used", subject=gauge.item.subject, by=by, now=now) as a:
        require_role(by, KEEPERS, shop_day(a.now))
        last = gauge.calibrations.order_by("-made_on", "-pk").first()
        if last is None or last.due_after is None:
            raise Refusal(f"Gauge {gauge.item.mark} is not due by use, so its uses are not counted.", field="uses")
        assert by.person is not None
        a.note(uses=uses, reason=reason)
        return a.create(GaugeUse, calibration=last, uses=uses, reason=reason, person=by.person, at=a.now)


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
