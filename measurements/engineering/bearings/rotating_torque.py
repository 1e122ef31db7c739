"""Rotating torque of pinion and carrier bearings, read turning.

Formula: from a pull M = F*r (F on a wrap or bar at radius r); with the carrier in, felt at the pinion,
M = M_pinion + M_carrier/i. Symbols: i = ring teeth / pinion teeth.
Units: N, mm, N·m, with in-lb entry and exit; sums and shares are exact in any one unit.
Validity: read turning, never the breakaway figure; ratio 1 to 15. Turning a torque into a force is only
indicative: accept on torque. Errors: a dial wrench reads to a few per cent; seal drag is in it once the seal is.
Sources: TM 10-3930-660-34 and TM 9-2320-302-34 (5-45 and 10-30 in-lb, read turning; adjuster method);
public specification pages (20-25 new, 10-15 used).
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Self

from measurements.engineering.units import Exact
from measurements.engineering.validity import Number, above_zero, between, not_below_zero, require, scaled

ADJUSTER_RISE_IN_LB = (Decimal(2), Decimal(4))  # rise of pinion torque by the adjuster method; public manuals


@dataclass(frozen=True, slots=True)
class SeenTorque:
    """A range of rotating torque seen in print: a default, never a limit of this shop."""

    what: str
    low_in_lb: Decimal
    high_in_lb: Decimal
    source: str


SEEN_TORQUE = (
    SeenTorque("heavy, new pinion bearings", Decimal(5), Decimal(45), "TM 10-3930-660-34, TM 9-2320-302-34"),
    SeenTorque("heavy, bearings used before", Decimal(10), Decimal(30), "TM 10-3930-660-34, TM 9-2320-302-34"),
    SeenTorque("light, new pinion bearings", Decimal(20), Decimal(25), "public specification pages"),
    SeenTorque("light, bearings used before", Decimal(10), Decimal(15), "public specification pages"),
)


@dataclass(frozen=True, slots=True)
class Torque:
    """A rotating torque in N·m with its inch side."""

    newton_metres: float

    @classmethod
    def from_inch_pounds(cls, value: Number) -> Self:
        """A dial wrench reading in in-lb."""
        return cls(scaled(value, "in-lb", "N·m"))

    @classmethod
    def from_pull(cls, force_n: Number, radius_mm: Number) -> Self:
        """A spring scale pulling a string wrapped at a radius, or the end of a bar square to it."""
        not_below_zero("pull", force_n, "N")
        above_zero("radius", radius_mm, "mm")
        return cls(float(force_n) * float(radius_mm) / 1000)

    @property
    def inch_pounds(self) -> float:
        """The same in in-lb."""
        return scaled(self.newton_metres, "N·m", "in-lb")


def total_at_pinion(pinion: Exact, carrier: Exact, ratio: Exact) -> Fraction:
    """Rotating torque felt at the pinion with the carrier in: pinion + carrier / ratio (one unit, exact)."""
    not_below_zero("pinion torque", pinion)
    return Fraction(pinion) + carrier_share(carrier, ratio)


def carrier_share(carrier: Exact, ratio: Exact) -> Fraction:
    """What the carrier bearings add at the pinion: their own torque over the ratio."""
    not_below_zero("carrier torque", carrier)
    between("ratio", ratio, 1, 15)
    return Fraction(carrier) / Fraction(ratio)


def carrier_torque(pinion: Exact, total: Exact, ratio: Exact) -> Fraction:
    """The carrier bearings' own torque from the rise at the pinion: (total - pinion) * ratio."""
    between("ratio", ratio, 1, 15)
    require(
        Fraction(total) >= Fraction(pinion),
        "The total with the carrier in is below the pinion's own torque: read both again, turning.",
        field="total",
    )
    return (Fraction(total) - Fraction(pinion)) * Fraction(ratio)
