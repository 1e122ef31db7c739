"""From what a person entered to a value with its verdict: figures, counts, words, moments, photos.

Nothing is written here. Limits are inclusive and judged in the drawing unit, exactly; a metric entry is converted,
rounded to the gauge's step, then judged; a figure finer than the gauge's step is refused.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from builds.definitions.characteristic import Characteristic as Asked
from builds.definitions.words import Kind
from builds.errors import FarOff
from measurements.engineering.limits import (
    LARGEST,
    MOST_DECIMALS,
    FigureError,
    Limits,
    far_off,
    judge,
    parse_figure,
    to_drawing_unit,
)
from measurements.engineering.units import convert, rounded, same_dimension, unit_named
from measurements.gauges import GaugeRefused, good_gauge, good_ring, in_range, still_within_uses
from measurements.models import Calibration, Gauge, VerdictWord
from shop.clock import shop_day
from shop.errors import Refusal

_LONGEST_TEXT = 400
_SMALLEST = Decimal(1).scaleb(-MOST_DECIMALS)  # the last place that is stored


@dataclass(frozen=True)
class Entered:
    """What a person entered at one place. `try_number`: the try the page showed as next, so that a second
    terminal sees the first one's entry before it saves. `sure`: the answer to "far off?"."""

    code: str
    position: str = ""
    text: str = ""
    unit: str = ""
    gauge: str = ""
    ring: str = ""
    reason: str = ""
    photo: str = ""
    try_number: int | None = None
    sure: bool = False
    happened_at: datetime | None = None


@dataclass(frozen=True)
class Judged:
    """A value fit to be stored, with its verdict and what it was measured with."""

    typed: str
    unit: str = ""
    value: Decimal | None = None
    verdict: str = VerdictWord.NONE
    gauge: Gauge | None = None
    ring: Gauge | None = None
    calibration: Calibration | None = None
    photo: str = ""
    #: Far off, asked about, and kept by the answer.
    questioned: bool = False


def judge_entry(asked: Asked, entered: Entered, now: datetime, happened: datetime) -> Judged:
    """The judged value, or a refusal that says what to enter instead.

    `happened` is when it was measured: work entered late from paper is judged by its gauge as it was then, not as it
    is on the day of typing.
    """
    try:
        return _judge_entry(asked, entered, now, happened)
    except GaugeRefused as refused:
        if shop_day(happened) == shop_day(now):
            raise
        day = f"{shop_day(happened):%d %b %Y}"
        text = f"{refused.text} It was measured on {day}, and the gauge counts as it stood then."
        raise GaugeRefused(text, field=refused.field, where=refused.where) from refused


def _judge_entry(asked: Asked, entered: Entered, now: datetime, happened: datetime) -> Judged:
    if asked.kind in (Kind.MEASURED, Kind.GIVEN):
        return _figure(asked, entered, now, happened)
    if asked.kind is Kind.COUNTED:
        return _counted(asked, entered, now, happened)
    if asked.kind is Kind.PHOTO:
        if not entered.photo:
            raise Refusal(f"{asked.code} {asked.name}: no photo was taken. Take one, or choose a file.", field="photo")
        return Judged(typed="photo", photo=entered.photo)
    if asked.kind is Kind.TIME:
        return _moment(asked, entered, now)
    return _word(asked, entered, now, happened)


def _figure(asked: Asked, entered: Entered, now: datetime, happened: datetime) -> Judged:
    gauge, calibration = _gauge(asked, entered, now, happened)
    ring = None
    step = asked.step or Decimal(1).scaleb(-asked.decimals)
    if gauge is not None:
        step = _step(gauge, asked)
    if asked.needs_setting:
        ring = good_ring(entered.ring, happened, asked.low, asked.high, asked.unit)
    unit = entered.unit or asked.unit
    value = _in_drawing_unit(asked, entered.text, unit, step, gauge)
    if gauge is not None:
        in_range(gauge, value, asked.unit)
    return _judged(asked, entered, Judged(entered.text.strip(), unit, value, "", gauge, ring, calibration), step)


def _gauge(
    asked: Asked, entered: Entered, now: datetime, happened: datetime
) -> tuple[Gauge | None, Calibration | None]:
    """What it is measured with, where the card names a kind: a figure, a count and a go or no-go alike."""
    if not asked.gauge_kind:
        return None, None
    chosen = good_gauge(entered.gauge, asked.gauge_kind, happened)
    still_within_uses(chosen, None if happened == now else happened)
    return chosen.gauge, chosen.calibration


def _step(gauge: Gauge, asked: Asked) -> Decimal:
    """The gauge's step in the drawing unit; the card's own where the gauge reads in another unit, or has no step."""
    own = asked.step or Decimal(1).scaleb(-asked.decimals)
    if gauge.step is None or not same_dimension(gauge.unit, asked.unit):
        return own
    if asked.step is not None and convert(gauge.step, gauge.unit, asked.unit, difference=True) > asked.step:
        raise GaugeRefused(
            f"{gauge.item.mark} reads in steps of {gauge.step.normalize():f} {gauge.unit}; this needs"
            f" {asked.step.normalize():f} {asked.unit}. Take a finer gauge.",
            field="gauge",
        )
    return gauge.step if _same_unit(gauge.unit, asked.unit) else own


def _in_drawing_unit(asked: Asked, text: str, unit: str, step: Decimal, gauge: Gauge | None) -> Decimal:
    if not _goes_into(unit, asked.unit):
        raise Refusal(f"{asked.code} is in {asked.unit}; “{unit[:12]}” is not a unit of the same kind.", field="unit")
    try:
        value = parse_figure(text, step=_step_typed(asked, unit, step, gauge))
    except FigureError as error:
        raise Refusal(f"{asked.code} {asked.name}: {error}", field="value") from error
    value = _converted(asked, value, unit, step, gauge)
    if abs(value) >= LARGEST:
        raise Refusal(
            f"{asked.code} {asked.name}: {text.strip()} {unit} is too large. Look at the unit and type it again.",
            field="value",
        )
    return value


def _converted(asked: Asked, value: Decimal, unit: str, step: Decimal, gauge: Gauge | None) -> Decimal:
    """In the drawing unit; what was typed in another is rounded once, to the gauge's step.

    A gauge that reads in another unit has its steps there, so the figure is rounded there. Where no step is known,
    nothing is rounded away but what cannot be stored: the card's decimals only format, and rounding to them could bring
    a figure into the limits.
    """
    if gauge is None or gauge.step is None or not _goes_into(gauge.unit, asked.unit):
        return to_drawing_unit(value, unit, asked.unit, asked.step or _SMALLEST)
    if _same_unit(gauge.unit, asked.unit) or _same_unit(unit, asked.unit):
        return to_drawing_unit(value, unit, asked.unit, step)
    shown = rounded(convert(value, unit, gauge.unit), gauge.step)
    return rounded(convert(shown, gauge.unit, asked.unit), _SMALLEST)


def _step_typed(asked: Asked, unit: str, step: Decimal, gauge: Gauge | None) -> Decimal | None:
    """The smallest step of a figure typed in this unit; None where it was not read in that unit."""
    if gauge is None:
        return None
    if gauge.step is not None and _same_unit(unit, gauge.unit):
        return gauge.step
    return step if _same_unit(unit, asked.unit) else None


def _same_unit(one: str, other: str) -> bool:
    """Whether two names mean one unit, such as inch and in."""
    return unit_named(one) == unit_named(other)


def _goes_into(unit: str, drawing_unit: str) -> bool:
    try:
        return same_dimension(unit, drawing_unit)
    except ValueError:  # no unit that is known here
        return False


def _counted(asked: Asked, entered: Entered, now: datetime, happened: datetime) -> Judged:
    try:
        value = parse_figure(entered.text)
    except FigureError as error:
        raise Refusal(f"{asked.code} {asked.name}: {error}", field="value") from error
    if value < 0 or value != value.to_integral_value():
        raise Refusal(f"{asked.code} {asked.name} is a count: type a whole number, 0 or more.", field="value")
    gauge, calibration = _gauge(asked, entered, now, happened)
    typed = Judged(entered.text.strip(), asked.unit, value, "", gauge, None, calibration)
    return _judged(asked, entered, typed, Decimal(1))


def _judged(asked: Asked, entered: Entered, value: Judged, step: Decimal) -> Judged:
    if asked.recorded_only or value.value is None:
        return replace(value, verdict=VerdictWord.NONE)
    limits = Limits(asked.low, asked.high, asked.never_above)
    question = far_off(value.value, limits, step)
    if question is not None and not entered.sure:
        raise FarOff(question.text, "" if question.meant is None else format(question.meant, "f"))
    verdict = VerdictWord.of(judge(value.value, limits))
    return replace(value, verdict=verdict, questioned=question is not None)


def judged_exactly(asked: Asked, value: Fraction) -> str:
    """The verdict on a computed value, judged as computed and not as shown."""
    if asked.recorded_only:
        return VerdictWord.NONE
    return VerdictWord.of(judge(value, Limits(asked.low, asked.high, asked.never_above)))


def _word(asked: Asked, entered: Entered, now: datetime, happened: datetime) -> Judged:
    text = " ".join(entered.text.split())
    if not text:
        raise Refusal(f"{asked.code} {asked.name}: nothing was entered. Blank is not an answer.", field="value")
    if len(text) > _LONGEST_TEXT:
        raise Refusal(f"{asked.code}: the text is longer than {_LONGEST_TEXT} characters. Shorten it.", field="value")
    if asked.kind is Kind.TEXT:
        return Judged(text)
    known = answers(asked)
    if text not in known:
        raise Refusal(f"{asked.code} {asked.name}: answer one of {', '.join(known)}.", field="value")
    gauge, calibration = _gauge(asked, entered, now, happened)
    word = Judged(text, gauge=gauge, calibration=calibration)
    if asked.recorded_only:
        return word
    accepted = asked.accepted or known[:1]
    return replace(word, verdict=VerdictWord.IN if text in accepted else VerdictWord.NO)


def answers(asked: Asked) -> tuple[str, ...]:
    """What can be answered, the answer in limits first."""
    if asked.kind is Kind.YES_NO:
        return ("no", "yes") if asked.accepted == ("no",) else ("yes", "no")
    if asked.kind is Kind.GO_NO_GO:
        return ("go", "no-go")
    return asked.choices


def _moment(asked: Asked, entered: Entered, now: datetime) -> Judged:
    """A stated moment. A wait counts from the server's time of entry, so a typed time never shortens it."""
    text = entered.text.strip()
    if text in ("", "now"):
        return Judged(now.isoformat(timespec="minutes"))
    try:
        stated = datetime.fromisoformat(text)
    except ValueError:
        raise Refusal(f"{asked.code} {asked.name}: “{text[:30]}” is not a time. Press “now”.", field="value") from None
    if stated.tzinfo is None:
        raise Refusal(f"{asked.code}: the time has no zone. Press “now”.", field="value")
    if stated > now:
        raise Refusal(f"{asked.code} {asked.name}: that time is still to come. Press “now”.", field="value")
    return Judged(text)
