"""Cut lengths of the two tubes, and lengths corrected to 20 degrees Celsius.

Formulas
  cut length        L = (W - C)/2 +- offset + insertion - end fitting - root gap + weld shrink
  length at 20 °C   L20 = L (1 - ap (Tp - 20) + ag (Tg - 20))
Symbols: W finished width over the flanges, C centre housing over its necks, offset of the centre to one side,
insertion of the tube in the neck, end fitting what the spindle adds outside, root gap what stays open at
each weld; L reading, ap and ag expansion of part and gauge per kelvin, Tp and Tg their temperatures.
Units: one length unit, exact; °C (or °F by `at_20_fahrenheit`, whose reference is 68 °F).
Validity: positive lengths; -10 to 60 °C; first order (the second order is below 1e-6 there).
Errors: 1 K on 500 mm of steel is 5.8 µm; let parts soak when the correction exceeds a tenth of the tolerance.
Source: arithmetic; ISO 1 (20 °C). Expansion 1e-6/K: steel 11.5, grey iron 10.8, ductile iron 11 to 12,
aluminium 23.1 (from memory). Weld shrink comes from the shop's own history.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from fractions import Fraction

from measurements.engineering.units import Exact, convert
from measurements.engineering.validity import above_zero, between, not_below_zero, require, shown

STEEL, GREY_IRON, DUCTILE_IRON, ALUMINIUM = (Decimal(value) / 10**6 for value in ("11.5", "10.8", "11.5", "23.1"))


class Side(Enum):
    """The side of the axle; the longer tube is on the side the offset adds to."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class AxleWidth:
    """What decides the two tube lengths; `offset` is how far the centre sits to the right of the middle."""

    width: Exact
    centre: Exact
    insertion: Exact
    end_fitting: Exact
    root_gap: Exact = Fraction(0)
    weld_shrink: Exact = Fraction(0)
    offset: Exact = Fraction(0)

    def __post_init__(self) -> None:
        above_zero("finished width", self.width)
        above_zero("centre housing", self.centre)
        not_below_zero("insertion", self.insertion)
        not_below_zero("end fitting", self.end_fitting)
        not_below_zero("root gap", self.root_gap)
        not_below_zero("weld shrink", self.weld_shrink)
        require(
            self.centre < self.width,
            "The centre housing must be narrower than the finished axle.",
            field="centre",
        )


def cut_length(axle: AxleWidth, side: Side) -> Fraction:
    """The length to cut one tube to; with the centre to the right the left tube is the longer."""
    offset = Fraction(axle.offset) if side is Side.LEFT else -Fraction(axle.offset)
    length = (
        (Fraction(axle.width) - Fraction(axle.centre)) / 2
        + offset
        + Fraction(axle.insertion)
        - Fraction(axle.end_fitting)
        - Fraction(axle.root_gap)
        + Fraction(axle.weld_shrink)
    )
    require(length > 0, f"The {side.value} tube would be {shown(length)} long: check the inputs.", field="width")
    return length


@dataclass(frozen=True, slots=True)
class AtReference:
    """A length as it is at 20 °C, and what was added to the reading."""

    length: Fraction
    correction: Fraction


def at_20(
    reading: Exact, part_c: Exact, gauge_c: Exact, part_per_k: Exact = STEEL, gauge_per_k: Exact = STEEL
) -> AtReference:
    """A length read at other temperatures, as it would be with part and gauge at 20 °C.

    With the same material and temperature for both the correction is zero.
    """
    above_zero("reading", reading)
    for name, temperature in (("part temperature", part_c), ("gauge temperature", gauge_c)):
        between(name, temperature, -10, 60, "°C")
    for expansion in (part_per_k, gauge_per_k):
        between("expansion per kelvin", expansion, 0, Decimal("0.00005"))
    growth = Fraction(gauge_per_k) * (Fraction(gauge_c) - 20) - Fraction(part_per_k) * (Fraction(part_c) - 20)
    correction = Fraction(reading) * growth
    return AtReference(Fraction(reading) + correction, correction)


def at_20_fahrenheit(
    reading: Exact, part_f: Exact, gauge_f: Exact, part_per_k: Exact = STEEL, gauge_per_k: Exact = STEEL
) -> AtReference:
    """The same with temperatures in °F; expansions stay per kelvin."""
    return at_20(reading, convert(part_f, "F", "C"), convert(gauge_f, "F", "C"), part_per_k, gauge_per_k)


def let_it_soak(correction: Exact, tolerance: Exact) -> bool:
    """Whether the part should first take the room's temperature: correction over a tenth of the tolerance."""
    above_zero("tolerance", tolerance)
    return abs(Fraction(correction)) > Fraction(tolerance) / 10
