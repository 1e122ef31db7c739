"""Plug welds: hole, fill, spacing, strength; fillet ring.

Rules of AWS D1.1 as quoted publicly; clause numbers move with the edition. Inches, because the rules are
written in sixteenths; strengths in lbf and lbf·in. Exact where a hole or a spacing is judged.
Friction of a press fit and welds are not added: the stiffer path loads first and heat relaxes the fit, so the
larger alone counts unless an engineer approves otherwise.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from measurements.engineering.units import Exact
from measurements.engineering.validity import above_zero, between, require

_SIXTEENTH = Fraction(1, 16)
_DEEP = Fraction(5, 8)


@dataclass(frozen=True, slots=True)
class PlugRule:
    """Limits of a plug hole through a part of a given thickness, in inches."""

    least_hole: Fraction
    most_hole: Fraction
    fill: Fraction


def plug_rule(thickness_in: Exact) -> PlugRule:
    """Hole from t + 5/16 (up to the next 1/16) to the larger of that + 1/8 and 2.25 t; fill t to 5/8 in,
    above it the larger of t/2 and 5/8."""
    thickness = Fraction(thickness_in)
    between("thickness", thickness, Fraction(1, 8), 2, "in")
    least = math.ceil((thickness + Fraction(5, 16)) / _SIXTEENTH) * _SIXTEENTH
    return PlugRule(
        least_hole=least,
        most_hole=max(least + Fraction(1, 8), Fraction(9, 4) * thickness),
        fill=thickness if thickness <= _DEEP else max(thickness / 2, _DEEP),
    )


def least_spacing(hole_in: Exact) -> Fraction:
    """Least distance of centres, 4 hole diameters."""
    above_zero("hole diameter", hole_in, "in")
    return 4 * Fraction(hole_in)


def arc_between(diameter_in: float, count: int) -> float:
    """Arc between equally spaced centres on a circle of this diameter."""
    above_zero("diameter", diameter_in, "in")
    require(count >= 1, "At least one plug is needed.", field="count")
    return math.pi * diameter_in / count


def carried_outside(arc_on_fit: float, fit_diameter: float, outside_diameter: float) -> float:
    """An arc on the fit circle as the tape shows it on the outside, in proportion of the diameters."""
    above_zero("arc", arc_on_fit, "in")
    above_zero("fit diameter", fit_diameter, "in")
    require(outside_diameter >= fit_diameter, "The outside must not be smaller than the fit diameter.")
    return arc_on_fit * outside_diameter / fit_diameter


# Minimum tensile strength of the weld metal in ksi by classification.
FILLERS = {"E70": 70, "ER70": 70, "ER80": 80, "E80": 80, "ER90": 90, "E90": 90}


def plug_shear_lbf(diameter_in: float, weld_metal_ksi: float, share: float = 0.30) -> float:
    """Allowable shear of one plug, 0.30 F_EXX A (share from memory)."""
    above_zero("plug diameter", diameter_in, "in")
    between("strength of the weld metal", weld_metal_ksi, 40, 120, "ksi")
    between("allowable share", share, 0.1, 0.6)
    return share * weld_metal_ksi * 1000 * math.pi / 4 * diameter_in**2


def plug_torque_lbf_in(count: int, shear_lbf: float, fit_diameter_in: float) -> float:
    """Torque carried by plugs on the fit circle, n F d/2."""
    require(count >= 1, "At least one plug is needed.", field="count")
    above_zero("shear of one plug", shear_lbf, "lbf")
    above_zero("fit diameter", fit_diameter_in, "in")
    return count * shear_lbf * fit_diameter_in / 2


def plug_metal_g(count: int, diameter_mm: float, depth_mm: float, density_kg_m3: float = 7850.0) -> float:
    """Weld metal in g to fill the plugs."""
    require(count >= 1, "At least one plug is needed.", field="count")
    above_zero("plug diameter", diameter_mm, "mm")
    above_zero("depth", depth_mm, "mm")
    above_zero("density", density_kg_m3, "kg/m³")
    return count * math.pi / 4 * diameter_mm**2 * depth_mm * density_kg_m3 * 1e-6


def fillet_ring_stress(torque_nm: float, leg_mm: float, diameter_mm: float) -> float:
    """Shear in MPa in the throat of a fillet around a tube in torsion, τ = T/(2π 0.707 h r²)."""
    above_zero("torque", torque_nm, "N·m")
    above_zero("leg of the fillet", leg_mm, "mm")
    require(diameter_mm > leg_mm, "The tube must be larger than the fillet's leg.")
    return torque_nm * 1000 / (2 * math.pi * 0.707 * leg_mm * (diameter_mm / 2) ** 2)


@dataclass(frozen=True, slots=True)
class JointTorque:
    """What counts of a pressed and welded joint, in any one unit."""

    counted: float
    by: str


def counted_torque(friction: float, weld: float) -> JointTorque:
    """The larger of friction and weld alone; they are not added."""
    above_zero("larger of the two capacities", max(friction, weld))
    return JointTorque(max(friction, weld), "weld" if weld >= friction else "friction of the fit")


def casting_refusal(weldable_grade: bool) -> str:
    """Why a plug must not be filled into this housing, or an empty text."""
    if weldable_grade:
        return ""
    return "The housing is not stated to be a weldable cast steel: no plug welding into any other casting."


def hole_in_rule(hole_in: Decimal, thickness_in: Exact) -> bool:
    """Whether a hole is inside the rule, exactly and inclusive."""
    rule = plug_rule(thickness_in)
    return rule.least_hole <= Fraction(hole_in) <= rule.most_hole
