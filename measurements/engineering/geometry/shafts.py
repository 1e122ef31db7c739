"""Axle shafts in torsion: stress, twist, and the torque at yield.

Formula: t = T r/J (solid: 16 T/(pi d^3)), twist = T L/(G J), T_yield = t_y J/r, fully plastic torque of a
solid shaft = 4/3 of it (hollow: 4/3 (1 - k^3)/(1 - k^4), k = d/D).
Symbols: T torque, r outside radius, J polar second moment, L length, G shear modulus, t_y shear yield
(.577 of tensile yield by von Mises). Units: N·m, mm, MPa, degrees; inch entry and exit.
Validity: round, straight, elastic for stress and twist; no keyway, spline or shoulder (use `splines` there).
Errors: stress goes with the third power of the diameter. Source: textbook mechanics; an engineer signs.
"""

import math
from dataclasses import dataclass

from measurements.engineering.geometry.sections import Tube, section
from measurements.engineering.validity import Number, above_zero, between, not_below_zero, scaled

STEEL_G_MPA = 79_300.0
VON_MISES = 0.577


@dataclass(frozen=True, slots=True)
class Torsion:
    """Shear stress at the outside and twist over the length."""

    shear_mpa: float
    twist_deg: float

    @property
    def shear_psi(self) -> float:
        """Shear stress in psi."""
        return scaled(self.shear_mpa, "MPa", "psi")


def twist(shaft: Tube, torque_nm: float, length_mm: float, shear_modulus_mpa: float = STEEL_G_MPA) -> Torsion:
    """Stress and twist of a plain shaft."""
    not_below_zero("torque", torque_nm, "N·m")
    not_below_zero("length", length_mm, "mm")
    above_zero("shear modulus", shear_modulus_mpa, "MPa")
    polar = section(shaft).torsion_mm4
    torque_nmm = torque_nm * 1000
    return Torsion(
        shear_mpa=torque_nmm * shaft.outside_mm / 2 / polar,
        twist_deg=math.degrees(torque_nmm * length_mm / (shear_modulus_mpa * polar)),
    )


def twist_inches(shaft: Tube, torque_in_lb: Number, length_in: Number, shear_modulus_psi: Number = 11.5e6) -> Torsion:
    """The same from in-lb, inches and psi."""
    return twist(
        shaft,
        scaled(torque_in_lb, "in-lb", "N·m"),
        scaled(length_in, "in", "mm"),
        scaled(shear_modulus_psi, "psi", "MPa"),
    )


@dataclass(frozen=True, slots=True)
class YieldTorque:
    """Torque at first yield of the outside and when all of the section yields."""

    first_nm: float
    plastic_nm: float

    @property
    def first_ft_lb(self) -> float:
        """First yield in ft-lb."""
        return scaled(self.first_nm, "N·m", "ft-lb")


def yield_torque(shaft: Tube, tensile_yield_mpa: float, shear_share: float = VON_MISES) -> YieldTorque:
    """Torque at yield from the tensile yield strength and the share of it in shear (.5 to .6)."""
    above_zero("yield strength", tensile_yield_mpa, "MPa")
    between("share of yield in shear", shear_share, 0.5, 0.6)
    first = shear_share * tensile_yield_mpa * section(shaft).torsion_mm4 / (shaft.outside_mm / 2) / 1000
    hollow = shaft.inside_mm / shaft.outside_mm
    return YieldTorque(first, first * 4 / 3 * (1 - hollow**3) / (1 - hollow**4))
