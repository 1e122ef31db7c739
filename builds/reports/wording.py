"""Figures, limits and moments as a page or a certificate shows them: both units, rounded once, for show only."""

from __future__ import annotations

from datetime import date, datetime
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation
from functools import lru_cache
from zoneinfo import ZoneInfo

from django.utils import dateformat

from builds.definitions.characteristic import Characteristic as Asked
from builds.definitions.words import Kind
from measurements.engineering.limits import plain
from measurements.engineering.units import convert, rounded
from measurements.models import Reading, VerdictWord
from shop.clock import shop_zone

#: The other unit that stands beside the drawing's, with the decimals it gains or loses.
OTHER_UNIT = {
    "in": ("mm", -1), "mil": ("µm", 0), "ft-lb": ("N·m", 1), "in-lb": ("N·m", 2), "lbf": ("kN", 2), "psi": ("kPa", -1),
    "F": ("C", 0), "kJ/in": ("kJ/mm", 2), "in/min": ("mm/s", 1), "oz": ("g", 0), "ksi": ("MPa", 0),
    "mm": ("in", 2), "µm": ("mil", 1), "N·m": ("ft-lb", 0), "kN": ("lbf", 0), "kPa": ("psi", 1), "C": ("F", 0),
}  # fmt: skip
#: Units whose decimals follow the drawing's; at the others the figure in the table is the number of decimals.
FOLLOWING = ("in", "mm", "psi", "kPa")
UNIT_WORDS = {"F": "°F", "C": "°C", "deg": "°", "count": "", "turns": "turns"}
VERDICT_KIND = {
    VerdictWord.IN: "in",
    VerdictWord.BELOW: "low",
    VerdictWord.ABOVE: "high",
    VerdictWord.NEVER: "high",
    VerdictWord.NO: "out",
    VerdictWord.NONE: "",
}
VERDICT_WORDS = {
    VerdictWord.IN: "in",
    VerdictWord.BELOW: "low",
    VerdictWord.ABOVE: "high",
    VerdictWord.NEVER: "far too high",
    VerdictWord.NO: "out",
    VerdictWord.NONE: "recorded",
}


def unit_words(unit: str) -> str:
    return UNIT_WORDS.get(unit, unit)


def figure(value: Decimal, decimals: int) -> str:
    """Rounded for show only; the verdict was given on the exact value."""
    try:
        # The same as `rounded`, in a tenth of the time: a file of an axle shows some hundred figures.
        near = value.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN)
    except InvalidOperation:  # more digits than the context holds
        near = rounded(value, Decimal(1).scaleb(-decimals))
    return format(near if near else abs(near), "f")


def other_unit(unit: str) -> str:
    """The word of the unit that stands beside this one; empty where there is none."""
    return unit_words(OTHER_UNIT[unit][0]) if unit in OTHER_UNIT else ""


def in_other(value: Decimal, unit: str, decimals: int, *, with_unit: bool = True, difference: bool = False) -> str:
    """The same figure in the other unit; empty where there is none.

    `difference`: between two temperatures, so the zero points of the scales do not count: 5 °F is 2.8 °C.
    """
    if unit not in OTHER_UNIT:
        return ""
    other, change = OTHER_UNIT[unit]
    places = max(0, decimals + change if unit in FOLLOWING else change + (1 if difference else 0))
    exact = convert(value, unit, other, difference=difference)
    text = format(rounded(exact, Decimal(1).scaleb(-places)), "f")
    return f"{text} {unit_words(other)}" if with_unit else text


def other_figure(reading: Reading, asked: Asked) -> str:
    """A reading in the other unit; empty where there is none."""
    if reading.value is None:
        return ""
    return in_other(reading.value, asked.unit, asked.decimals, difference=is_difference(asked))


def shown(reading: Reading, decimals: int) -> str:
    """A reading's value as it stands on a page: the drawing unit's figure, or the word."""
    if reading.value is None:
        return "photo" if reading.photo else reading.typed
    return figure(reading.value, decimals)


def limits(asked: Asked) -> str:
    """ "100 to 110 ft-lb", "at most 0.003 in", "go", or nothing."""
    return _limits(asked.low, asked.high, asked, "")


@lru_cache(maxsize=1024)
def limits_of(low: Decimal | None, high: Decimal | None, decimals: int) -> str:
    """Limits as they stand with a reading: "100 to 110", "at most 0.003"."""
    if low is not None and high is not None:
        return f"{figure(low, decimals)} to {figure(high, decimals)}"
    if high is not None:
        return f"at most {figure(high, decimals)}"
    return f"at least {figure(low, decimals)}" if low is not None else ""


def limits_other(asked: Asked) -> str:
    if asked.unit not in OTHER_UNIT or (asked.low is None and asked.high is None):
        return ""
    return _limits(asked.low, asked.high, asked, OTHER_UNIT[asked.unit][0])


def is_difference(asked: Asked) -> bool:
    """Whether the value is how far apart two temperatures are, not a temperature."""
    return asked.unit in ("F", "C") and asked.computation is not None and asked.computation.name == "dew_point_margin"


def _limits(low: Decimal | None, high: Decimal | None, asked: Asked, other: str) -> str:
    if asked.kind in (Kind.YES_NO, Kind.GO_NO_GO, Kind.CHOICE):
        return "" if asked.recorded_only or not asked.accepted else " or ".join(asked.accepted)
    unit = unit_words(other or asked.unit)
    low_text, high_text = _limit(low, asked, other), _limit(high, asked, other)
    if low is not None and high is not None:
        return f"{low_text} {unit}".strip() if low == high else f"{low_text} to {high_text} {unit}".strip()
    if high is not None:
        return f"at most {high_text} {unit}".strip()
    if low is not None:
        return f"at least {low_text} {unit}".strip()
    return ""


def _limit(value: Decimal | None, asked: Asked, other: str) -> str:
    if value is None:
        return ""
    if other:
        return in_other(value, asked.unit, asked.decimals, with_unit=False, difference=is_difference(asked))
    return figure(value, asked.decimals)


def by_how_much(reading: Reading, asked: Asked) -> str:
    """How far a value is beyond its limit: "2 ft-lb under"."""
    value = reading.value
    if value is None:
        return ""
    unit = unit_words(asked.unit)
    if reading.verdict == VerdictWord.BELOW and asked.low is not None:
        return f"{_gap(asked.low - value, asked)} {unit} under"
    if reading.verdict == VerdictWord.ABOVE and asked.high is not None:
        return f"{_gap(value - asked.high, asked)} {unit} over"
    return "must never be passed" if reading.verdict == VerdictWord.NEVER else ""


def _gap(value: Decimal, asked: Asked) -> str:
    """As it was typed; what was computed is kept with nine places and shown with those of the drawing."""
    if asked.kind is not Kind.COMPUTED:
        return plain(value)
    least = Decimal(1).scaleb(-asked.decimals)
    return plain(rounded(value, least)) if value >= least / 2 else f"less than {plain(least)}"


def clock(at: datetime | None) -> str:
    """A moment in the shop's own time: "10:42", with the day when asked with `day`."""
    return "" if at is None else f"{at.astimezone(shop_zone()):%H:%M}"


def day(at: datetime | None, zone: ZoneInfo | None = None) -> str:
    """ "Thu 20 Nov 10:42". `zone`: the shop's, from who tells many moments and asks for it once."""
    if at is None:
        return ""
    here = at.astimezone(zone or shop_zone())
    return f"{_weekday(here.date())} {here.hour:02d}:{here.minute:02d}"


@lru_cache(maxsize=512)
def _weekday(on: date) -> str:
    """The calendar's own words of a day; what is told of one axle happened on few of them."""
    return f"{on:%a %d %b}"


def date_words(on: date, *, year: bool = False) -> str:
    """A day of the calendar as the templates write it: "3 Jan", with the year "3 Jan 2025"."""
    return dateformat.format(on, "j M Y" if year else "j M")
