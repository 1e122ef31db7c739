"""An axle housing as a beam: bending stress and deflection between two spring pads.

Formula: two equal loads F at a from each support, supports L apart: M = F*a between the pads, s = M/Z,
deflection at the middle d = F*a*(3 L^2 - 4 a^2)/(24 E I).
Symbols: F load at one pad (half of the axle load), a wheel to pad, L track between supports, Z and I of the section.
Units: N, mm, MPa; inch entry by `from_inches`. Validity: 0 < a <= L/2, elastic, one section all along; a neck,
a weld or a hole raises the stress there. Errors: those of the load first.
Source: textbook beam table; an engineer signs the result.
"""

from dataclasses import dataclass
from typing import Self

from measurements.engineering.geometry.sections import Section
from measurements.engineering.validity import Number, above_zero, not_below_zero, require, scaled

STEEL_E_MPA = 207_000.0


@dataclass(frozen=True, slots=True)
class TwoPads:
    """The load case: load at each pad, wheel to pad, and track."""

    pad_load_n: float
    wheel_to_pad_mm: float
    track_mm: float

    def __post_init__(self) -> None:
        not_below_zero("load at a pad", self.pad_load_n, "N")
        above_zero("length from wheel to pad", self.wheel_to_pad_mm, "mm")
        above_zero("track", self.track_mm, "mm")
        require(
            2 * self.wheel_to_pad_mm <= self.track_mm,
            "The pads must lie between the wheels: wheel to pad is at most half the track.",
            field="wheel to pad",
        )

    @classmethod
    def from_inches(cls, pad_load_lbf: Number, wheel_to_pad_in: Number, track_in: Number) -> Self:
        """The same from pounds-force and inches."""
        return cls(
            scaled(pad_load_lbf, "lbf", "N"),
            scaled(wheel_to_pad_in, "in", "mm"),
            scaled(track_in, "in", "mm"),
        )


@dataclass(frozen=True, slots=True)
class Bending:
    """Moment, stress and deflection at the middle."""

    moment_nm: float
    stress_mpa: float
    deflection_mm: float

    @property
    def stress_psi(self) -> float:
        """Stress in psi."""
        return scaled(self.stress_mpa, "MPa", "psi")

    @property
    def deflection_in(self) -> float:
        """Deflection in inches."""
        return scaled(self.deflection_mm, "mm", "in")


def bend(case: TwoPads, section: Section, modulus_mpa: float = STEEL_E_MPA) -> Bending:
    """Bending of one section under two pads."""
    above_zero("modulus of elasticity", modulus_mpa, "MPa")
    moment = case.pad_load_n * case.wheel_to_pad_mm
    shape = 3 * case.track_mm**2 - 4 * case.wheel_to_pad_mm**2
    return Bending(
        moment_nm=moment / 1000,
        stress_mpa=moment / section.modulus_mm3,
        deflection_mm=moment * shape / (24 * modulus_mpa * section.bending_mm4),
    )
