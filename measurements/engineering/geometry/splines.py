"""Involute splines of shafts: torsion at the root, shear of the teeth, bearing on the flanks.

Formula: root shear = 16 T Ka/(pi Dre^3); tooth shear = 4 T Ka Km/(D N L t Kf), half of the teeth carrying;
flank pressure = 2 T/(D N L h) bare, times Km Ka/(9 Kf) for a fixed spline to compare with the allowed value.
Symbols: T torque, D pitch diameter, Dre minor diameter of the shaft, N teeth, L length in contact, t tooth
thickness at the pitch circle (pi D/(2 N)), h radial depth of contact; Ka application, Km misalignment,
Kf life factor. Units: N·m, mm, MPa; inch entry and exit. With t = pi D/(2 N) the tooth shear is 8 T/(pi D^2
L).
Validity: side-fit splines of 6 to 100 teeth of equal length; factors above zero. Errors: how many teeth carry.
Source: ANSI B92.1 geometry; Machinery's Handbook 27th ed. p. 2173. No published worked result was found.
"""

import math
from dataclasses import dataclass
from typing import Self

from measurements.engineering.validity import Number, above_zero, between, not_below_zero, require, scaled


@dataclass(frozen=True, slots=True)
class Spline:
    """The spline in mm."""

    teeth: int
    pitch_diameter_mm: float
    minor_diameter_mm: float
    length_mm: float
    contact_depth_mm: float

    def __post_init__(self) -> None:
        between("number of teeth", self.teeth, 6, 100)
        above_zero("pitch diameter", self.pitch_diameter_mm, "mm")
        above_zero("minor diameter", self.minor_diameter_mm, "mm")
        above_zero("length in contact", self.length_mm, "mm")
        above_zero("depth of contact", self.contact_depth_mm, "mm")
        require(
            self.minor_diameter_mm <= self.pitch_diameter_mm,
            "The minor diameter of a shaft spline lies inside its pitch circle.",
            field="minor diameter",
        )

    @classmethod
    def from_inches(
        cls, teeth: int, pitch_diameter: Number, minor_diameter: Number, length: Number, contact_depth: Number
    ) -> Self:
        """The same from inches."""
        return cls(teeth, *(scaled(x, "in", "mm") for x in (pitch_diameter, minor_diameter, length, contact_depth)))

    @property
    def tooth_thickness_mm(self) -> float:
        """Tooth thickness at the pitch circle, half of the circular pitch."""
        return math.pi * self.pitch_diameter_mm / (2 * self.teeth)


@dataclass(frozen=True, slots=True)
class SplineFactors:
    """Application, misalignment and life."""

    application: float = 1.0
    misalignment: float = 1.0
    life: float = 1.0

    def __post_init__(self) -> None:
        above_zero("application factor", self.application)
        above_zero("misalignment factor", self.misalignment)
        above_zero("life factor", self.life)


@dataclass(frozen=True, slots=True)
class SplineStress:
    """Stresses in MPa; `in_psi` gives root, tooth, bare flank and rated flank on the inch side."""

    root_mpa: float
    tooth_mpa: float
    flank_mpa: float
    rated_flank_mpa: float

    def in_psi(self) -> tuple[float, float, float, float]:
        """Root, tooth, bare flank and rated flank in psi."""
        return (
            scaled(self.root_mpa, "MPa", "psi"),
            scaled(self.tooth_mpa, "MPa", "psi"),
            scaled(self.flank_mpa, "MPa", "psi"),
            scaled(self.rated_flank_mpa, "MPa", "psi"),
        )


_PLAIN = SplineFactors()


def spline_stress(spline: Spline, torque_nm: float, factors: SplineFactors = _PLAIN) -> SplineStress:
    """The three stresses of a side-fit spline."""
    not_below_zero("torque", torque_nm, "N·m")
    torque = torque_nm * 1000
    contact = spline.pitch_diameter_mm * spline.teeth * spline.length_mm
    shared = factors.application * factors.misalignment / factors.life
    flank = 2 * torque / (contact * spline.contact_depth_mm)
    return SplineStress(
        root_mpa=16 * torque * factors.application / (math.pi * spline.minor_diameter_mm**3),
        tooth_mpa=4 * torque * shared / (contact * spline.tooth_thickness_mm),
        flank_mpa=flank,
        rated_flank_mpa=flank * shared / 9,
    )
