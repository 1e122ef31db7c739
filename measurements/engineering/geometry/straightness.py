"""Straightness of an axle from the alignment bar and the dial.

Formula: offset of the bar's end, v up and h forward: size = hypot(v, h), direction = atan2(v, h) from straight
forward, toe or camber = atan(offset/L); centre offset of a turned part = TIR/2; the bar read, turned
by 180 degrees and read again: the mean is free of the bar's own bend, half of the difference is that bend
(its sag stays: it points down both times, so allow for it or support the bar).
Face runout TIR across a diameter D leans by atan(TIR/D).
Units: mm or inches, one for all; degrees. Validity: offsets small against the length (angle up to 10 degrees).
Errors: the dial's, and the bar's fit in its pucks. Source: arithmetic; ISO 13920 general limits for weldments
are far wider than an axle shop's own (its card decides).
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from measurements.engineering.units import Exact
from measurements.engineering.validity import Number, above_zero, between, finite, not_below_zero, require


@dataclass(frozen=True, slots=True)
class EndOffset:
    """How far and which way an end lies off the bar, and the angles it makes over the length."""

    size: float
    direction_deg: float
    camber_deg: float
    toe_deg: float


def end_offset(vertical: Number, horizontal: Number, length: Number) -> EndOffset:
    """Size, direction and angles of an end's offset."""
    finite("vertical offset", vertical)
    finite("horizontal offset", horizontal)
    up, forward = float(vertical), float(horizontal)
    return EndOffset(
        size=math.hypot(up, forward),
        direction_deg=math.degrees(math.atan2(up, forward)),
        camber_deg=lean_deg(up, length),
        toe_deg=lean_deg(forward, length),
    )


def lean_deg(offset: Number, length: Number) -> float:
    """The angle of an offset over a length (or of a face runout across its diameter), with its sign."""
    above_zero("length", length)
    angle = math.degrees(math.atan(float(offset) / float(length)))
    between("angle of the offset", angle, -10, 10, "degrees")
    return angle


def centre_offset(tir: Exact) -> Fraction:
    """How far a turned part's centre lies off: half of the total indicator reading."""
    not_below_zero("total indicator reading", tir)
    return Fraction(tir) / 2


@dataclass(frozen=True, slots=True)
class BarReversal:
    """The housing's own offset and the bar's own error."""

    offset: Fraction
    bar_error: Fraction


def reverse_bar(first: Exact, turned: Exact) -> BarReversal:
    """The bar turned by 180 degrees in its pucks: mean = housing, half difference = bar."""
    finite("first reading", first)
    finite("reading with the bar turned", turned)
    return BarReversal((Fraction(first) + Fraction(turned)) / 2, (Fraction(first) - Fraction(turned)) / 2)


# Upper end of each range of nominal size in mm, and the class limits in mm for it.
_ISO_13920_LENGTH = ((30, 1, 1), (120, 1, 2), (400, 1, 2), (1000, 2, 3), (2000, 3, 4))
_ISO_13920_STRAIGHT = ((120, ".5", "1"), (400, "1", "1.5"), (1000, "1.5", "3"), (2000, "2", "4.5"))


def weldment_length_limit_mm(length_mm: Number, tolerance_class: str) -> Fraction:
    """Plus-minus limit of ISO 13920 table 1, class A or B, for a length over 2 up to 2000 mm."""
    require(tolerance_class in ("A", "B"), "Classes A and B are held here.", field="class")
    require(2 < length_mm <= 2000, "The table is held here for lengths over 2 up to 2000 mm.", field="length")
    row = next(row for row in _ISO_13920_LENGTH if length_mm <= row[0])
    return Fraction(row[1] if tolerance_class == "A" else row[2])


def weldment_straightness_mm(length_mm: Number, tolerance_class: str) -> Fraction:
    """Limit of ISO 13920 table 3, class E or F, for a length over 30 up to 2000 mm."""
    require(tolerance_class in ("E", "F"), "Classes E and F are held here.", field="class")
    require(30 < length_mm <= 2000, "The table is held here for lengths over 30 up to 2000 mm.", field="length")
    row = next(row for row in _ISO_13920_STRAIGHT if length_mm <= row[0])
    return Fraction(row[1] if tolerance_class == "E" else row[2])
