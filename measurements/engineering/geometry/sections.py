"""Round tube and bar sections: area, second moments, section modulus, mass.

Formula: A = pi/4 (D^2 - d^2), I = pi/64 (D^4 - d^4), J = 2 I, Z = 2 I/D, m = A*rho (for steel of 7850 kg/m3
m = .0246615 (D - t) t kg/m with mm, 10.69 (D - t) t lb/ft with inches).
Symbols: D outside, d inside diameter, t wall. Units: mm; inch entry and exit beside it.
Validity: wall from just above zero to half the outside diameter (then it is a solid bar); nominal, round,
equal wall.
Errors: I goes with the fourth power: 1 % of diameter is 4 % of I. Measure, don't trust the nominal.
Source: textbook mechanics; EN 10219 tables agree for hollow sections (from memory).
"""

import math
from dataclasses import dataclass
from typing import Self

from measurements.engineering.validity import Number, above_zero, require, scaled

STEEL_KG_M3 = 7850.0


@dataclass(frozen=True, slots=True)
class Tube:
    """A round tube in mm; a wall of half the outside diameter is a solid bar."""

    outside_mm: float
    wall_mm: float

    def __post_init__(self) -> None:
        above_zero("outside diameter", self.outside_mm, "mm")
        above_zero("wall", self.wall_mm, "mm")
        require(
            2 * self.wall_mm <= self.outside_mm,
            f"A wall of {self.wall_mm:g} mm does not fit into an outside diameter of {self.outside_mm:g} mm.",
            field="wall",
        )

    @classmethod
    def from_inches(cls, outside_in: Number, wall_in: Number) -> Self:
        """The same from inch sizes."""
        return cls(scaled(outside_in, "in", "mm"), scaled(wall_in, "in", "mm"))

    @classmethod
    def solid(cls, outside_mm: float) -> Self:
        """A solid bar."""
        return cls(outside_mm, outside_mm / 2)

    @property
    def inside_mm(self) -> float:
        """Inside diameter."""
        return self.outside_mm - 2 * self.wall_mm


@dataclass(frozen=True, slots=True)
class Section:
    """What a section carries with, in mm; the inch side as properties."""

    area_mm2: float
    bending_mm4: float
    torsion_mm4: float
    modulus_mm3: float
    mass_kg_m: float

    @property
    def area_in2(self) -> float:
        """Area in square inches."""
        return self.area_mm2 / _INCH_MM**2

    @property
    def bending_in4(self) -> float:
        """Second moment of area in in^4."""
        return self.bending_mm4 / _INCH_MM**4

    @property
    def modulus_in3(self) -> float:
        """Section modulus in in^3."""
        return self.modulus_mm3 / _INCH_MM**3

    @property
    def mass_lb_ft(self) -> float:
        """Mass per length in lb/ft."""
        return scaled(self.mass_kg_m, "kg", "lb") * scaled(1, "ft", "m")


_INCH_MM = scaled(1, "in", "mm")


def section(tube: Tube, density_kg_m3: float = STEEL_KG_M3) -> Section:
    """The section's properties."""
    above_zero("density", density_kg_m3, "kg/m3")
    area = math.pi / 4 * (tube.outside_mm**2 - tube.inside_mm**2)
    bending = math.pi / 64 * (tube.outside_mm**4 - tube.inside_mm**4)
    return Section(
        area_mm2=area,
        bending_mm4=bending,
        torsion_mm4=2 * bending,
        modulus_mm3=2 * bending / tube.outside_mm,
        mass_kg_m=area * density_kg_m3 / 1e6,
    )
