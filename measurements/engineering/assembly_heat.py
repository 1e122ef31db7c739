"""Fitting by heat, roughness lost in pressing, and the handbook's press tonnage.

Assembly temperature: ΔT = (δ + clearance)/(α d), T = T_room + ΔT. Any one unit of length, kelvins.
Source: public engineering references; DIN 7190-1. Clearance about d/1000 where none is given.
"""

from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from measurements.engineering.validity import above_zero, between, not_below_zero, require, scaled, shown

USUAL_CLEARANCE_SHARE = 0.001


class Heated(Enum):
    """What is heated, with its ceiling in °C. The axle definition may set another one."""

    ROLLING_BEARING = 120.0  # public bearing guides
    CARBURIZED_UNKNOWN_TEMPER = 150.0  # house default until the supplier's tempering temperature is recorded
    CASE_HARDENED = 200.0  # DIN 7190, from memory
    INDUCTION_HARDENED = 250.0  # DIN 7190, from memory
    QUENCHED_AND_TEMPERED = 300.0  # DIN 7190, from memory
    PLAIN_STEEL = 350.0  # DIN 7190, from memory


@dataclass(frozen=True, slots=True)
class AssemblyHeat:
    """Temperature rise in K, temperature and ceiling in °C, and the refusal when the ceiling is passed."""

    rise: float
    temperature: float
    ceiling: float
    refusal: str

    @property
    def temperature_f(self) -> float:
        """The assembly temperature in °F."""
        return scaled(self.temperature, "C", "F")


def assembly_heat(
    *,
    diameter: float,
    interference: float,
    expansion_per_k: float,
    ceiling_c: float,
    clearance: float | None = None,
    room_c: float = 20.0,
) -> AssemblyHeat:
    """How hot the outer part must be to slide on. Above the ceiling the answer carries a refusal."""
    above_zero("fit diameter", diameter)
    not_below_zero("interference", interference)
    between("expansion coefficient", expansion_per_k, 1e-6, 5e-5, "per K")
    between("room temperature", room_c, -20, 50, "°C")
    free = USUAL_CLEARANCE_SHARE * diameter if clearance is None else clearance
    not_below_zero("assembly clearance", free)
    rise = (interference + free) / (expansion_per_k * diameter)
    temperature = room_c + rise
    refusal = ""
    if temperature > ceiling_c:
        refusal = (
            f"{shown(round(temperature))} °C is above the ceiling of {shown(ceiling_c)} °C for this part:"
            " the heat would soften it. Take less clearance, cool the inner part, or ask the engineer."
        )
    return AssemblyHeat(rise, temperature, ceiling_c, refusal)


def effective_interference(interference: float, bore_rz: float, shaft_rz: float, *, smoothing: float = 0.4) -> float:
    """δ_eff = δ - k (Rz_bore + Rz_shaft), one unit of length; press fits only, a shrink fit keeps its peaks.

    k 0.4 (DIN 7190-1:2017, quoted) or 0.8 (2001 edition, from memory): a setting.
    """
    not_below_zero("interference", interference)
    not_below_zero("roughness of the bore", bore_rz)
    not_below_zero("roughness of the shaft", shaft_rz)
    between("smoothing factor", smoothing, 0, 1)
    left = interference - smoothing * (bore_rz + shaft_rz)
    require(left >= 0, "The roughness is larger than the interference: nothing would be left to hold.")
    return left


# Pressure factors of the handbook's forced-fit table (diameter in inches: factor).
_FACTORS = ((3.00, 155.0), (3.25, 145.0), (3.50, 131.0), (4.00, 115.0))


def handbook_tonnage(diameter_in: float, contact_area_in2: float, allowance_in: float) -> float:
    """Press force in US tons, P = A a F/2; a second opinion of the same order, never a limit.

    Factor from Machinery's Handbook, straight line between its sizes; the half is from memory.
    """
    above_zero("contact area", contact_area_in2, "in²")
    not_below_zero("allowance", allowance_in, "in")
    between("diameter", diameter_in, _FACTORS[0][0], _FACTORS[-1][0], "in")
    (small, upper), (large, lower) = next(pair for pair in pairwise(_FACTORS) if diameter_in <= pair[1][0])
    factor = upper + (lower - upper) * (diameter_in - small) / (large - small)
    return contact_area_in2 * allowance_in * factor / 2
