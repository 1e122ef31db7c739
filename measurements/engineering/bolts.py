"""Bolted joints: proof load, preload, torque in both forms, and the assembly values of VDI 2230.

SI inside (m, Pa, N, N·m). T = K d F with K a property of the actual lot and lubricant: thread adhesive sits
between dry and oiled, so its data sheet decides. Errors: a torque gives the preload to ±25 % at best, see
`tightening.Scatter`. Sources: ISO 898-1, SAE J429, Shigley's Mechanical Engineering Design eqs 8-26 and 8-27,
VDI 2230.
"""

import math
from dataclasses import dataclass

from measurements.engineering.threads import Thread
from measurements.engineering.validity import above_zero, between, require, scaled

REUSABLE_SHARE = 0.75
PERMANENT_SHARE = 0.90

# Nut factors of Shigley table 8-15. Other handbooks print other figures: a starting point only.
NUT_FACTORS = {
    "plain, black": 0.30,
    "zinc": 0.20,
    "lubricated": 0.18,
    "cadmium": 0.16,
    "anti-seize": 0.12,
    "low-friction lock nut": 0.09,
}


@dataclass(frozen=True, slots=True)
class Strength:
    """Proof, yield and tensile strength in Pa of one property class or grade at one size."""

    name: str
    proof: float
    yield_: float
    tensile: float


# ISO 898-1: proof, 0.2 % proof strength, tensile in MPa; 8.8 changes above M16.
_METRIC = {
    "8.8": (580, 640, 800),
    "8.8 large": (600, 660, 830),
    "10.9": (830, 940, 1040),
    "12.9": (970, 1100, 1220),
}
# SAE J429 in ksi: largest diameter in inches, proof, yield, tensile.
_SAE = {"5": ((1.0, 85, 92, 120), (1.5, 74, 81, 105)), "8": ((1.5, 120, 130, 150),)}
_KSI = 6894757.293168


def strength(bolt: Thread, grade: str) -> Strength:
    """The strength of an ISO 898-1 class (8.8, 10.9, 12.9) or a SAE J429 grade (5, 8) at this size."""
    if bolt.metric:
        require(grade in ("8.8", "10.9", "12.9"), f"“{grade}” is not a class kept here: 8.8, 10.9, 12.9.")
        between("bolt diameter", bolt.diameter * 1000, 5, 39, "mm")
        row = "8.8 large" if grade == "8.8" and bolt.diameter > 0.016 else grade
        proof, yield_, tensile = (figure * 1e6 for figure in _METRIC[row])
        return Strength(grade, proof, yield_, tensile)
    require(grade in _SAE, f"“{grade}” is not a grade kept here: 5 and 8 for inch bolts.")
    between("bolt diameter", bolt.inches, 0.25, 1.5, "in")
    figures = next(row for row in _SAE[grade] if bolt.inches <= row[0])
    return Strength(grade, *(figure * _KSI for figure in figures[1:]))


def proof_load(bolt: Thread, grade: str) -> float:
    """Proof load in N: stress area x proof strength (the printed tables round the area first, to 0.4 %)."""
    return bolt.stress_area * strength(bolt, grade).proof


def preload(bolt: Thread, grade: str, share: float = REUSABLE_SHARE) -> float:
    """Preload in N: 0.75 of proof for a joint taken apart again, 0.90 for a permanent one (from memory)."""
    between("share of the proof load", share, 0.1, 1.0)
    return share * proof_load(bolt, grade)


def torque(bolt: Thread, force: float, nut_factor: float) -> float:
    """T = K d F in N·m."""
    above_zero("preload", force, "N")
    between("nut factor", nut_factor, 0.05, 0.5)
    return nut_factor * bolt.diameter * force


def preload_from_torque(bolt: Thread, torque_nm: float, nut_factor: float) -> float:
    """F = T/(K d) in N."""
    above_zero("torque", torque_nm, "N·m")
    between("nut factor", nut_factor, 0.05, 0.5)
    return torque_nm / (nut_factor * bolt.diameter)


def torque_ft_lb(bolt: Thread, force_lbf: float, nut_factor: float) -> float:
    """T = K d F in ft-lb from a preload in lbf."""
    return scaled(torque(bolt, scaled(force_lbf, "lbf", "N"), nut_factor), "N·m", "ft-lb")


def nut_factor(bolt: Thread, thread_friction: float, collar_friction: float) -> float:
    """K = (dm/2d) (tanλ + f secα)/(1 - f tanλ secα) + 0.625 fc, α = 30° (Shigley eq 8-26).

    dm is the pitch diameter; 0.625 d is the mean radius under a usual hexagon head, doubled.
    """
    between("thread friction", thread_friction, 0.02, 0.4)
    between("friction under the head", collar_friction, 0.02, 0.4)
    mean = bolt.pitch_diameter
    lead = bolt.pitch / (math.pi * mean)
    flank = thread_friction / math.cos(math.radians(30))
    return mean / (2 * bolt.diameter) * (lead + flank) / (1 - flank * lead) + 0.625 * collar_friction


@dataclass(frozen=True, slots=True)
class Assembly:
    """VDI 2230 assembly values: a maximum at 90 % of yield in combined stress, not a target."""

    preload: float
    torque: float


# Bearing face and hole in m of usual hexagon heads, by M size (from the published table's basis).
HEADS = {"10": (0.0146, 0.011), "12": (0.0166, 0.0135), "14": (0.0196, 0.0155), "16": (0.0225, 0.0175)}


def assembly_values(
    bolt: Thread, grade: str, *, friction: float, face: float, hole: float, use_of_yield: float = 0.9
) -> Assembly:
    """F = A0 ν Rp0.2/√(1 + 3 [1.5 (d2/d0)(P/(π d2) + 1.155 μ)]²); T = F (0.16 P + 0.58 d2 μ + D_Km μ/2).

    d0 = (d2 + d3)/2, D_Km = (face + hole)/2; face and hole: diameters in m. Agrees with the published table
    within 0.6 %. Metric bolts.
    """
    require(bolt.metric, "VDI 2230 assembly values are for metric bolts; use the nut factor for inch bolts.")
    between("friction", friction, 0.04, 0.4)
    between("use of the yield strength", use_of_yield, 0.1, 1.0)
    require(bolt.diameter < hole < face, "The bearing face must be larger than the hole, the hole than the bolt.")
    pitch, d2 = bolt.pitch, bolt.pitch_diameter
    d0 = (d2 + bolt.root_diameter) / 2
    twist = 1.5 * d2 / d0 * (pitch / (math.pi * d2) + 1.155 * friction)
    yield_ = strength(bolt, grade).yield_
    force = math.pi / 4 * d0**2 * use_of_yield * yield_ / math.sqrt(1 + 3 * twist**2)
    return Assembly(force, force * (0.16 * pitch + 0.58 * d2 * friction + (face + hole) / 4 * friction))
