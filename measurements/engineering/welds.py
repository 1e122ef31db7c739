"""Arc energy, heat input and carbon equivalents.

Arc energy E = U I/v (AWS form 60 U I/v, no factor); heat input Q = k U I/v with the thermal factor k of the
process, which is stored with the weld because standards differ: EN 1011-1 has 0.8 for stick, gas-metal-arc
and flux-cored (an annex of EN 1011-2 uses 0.85), 0.6 for TIG and plasma, 1.0 for submerged arc (as quoted).
Inside: V, A, mm/s, kJ/mm. Errors: the meters of the machine; arc length and stick-out move the volts.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from measurements.engineering.units import Exact, convert
from measurements.engineering.validity import above_zero, between, require


class Process(Enum):
    """Welding process with its thermal factor k (EN 1011-1 as quoted) and ISO 4063 number."""

    SUBMERGED_ARC = (1.0, "12")
    STICK = (0.8, "111")
    GAS_METAL_ARC = (0.8, "135")
    FLUX_CORED = (0.8, "136")
    TIG = (0.6, "141")
    PLASMA = (0.6, "15")

    @property
    def factor(self) -> float:
        """Thermal factor k."""
        return self.value[0]

    @property
    def iso_number(self) -> str:
        """Number in ISO 4063."""
        return self.value[1]


def arc_energy_kj_in(volts: Exact, amps: Exact, inches_per_minute: Exact) -> Fraction:
    """60 U I/(1000 v) in kJ/in, exact."""
    _check_arc(volts, amps)
    above_zero("travel speed", inches_per_minute, "in/min")
    return 60 * Fraction(volts) * Fraction(amps) / (1000 * Fraction(inches_per_minute))


def heat_input(volts: float, amps: float, mm_per_minute: float, factor: float) -> float:
    """Q = k U I/v in kJ/mm."""
    _check_arc(volts, amps)
    above_zero("travel speed", mm_per_minute, "mm/min")
    between("thermal factor", factor, 0.3, 1.0)
    return factor * volts * amps * 60 / (1000 * mm_per_minute)


def pulsed_heat_input(joules: float, length_mm: float, factor: float) -> float:
    """Q = k E/L in kJ/mm from the machine's summed instantaneous energy, for pulsed arcs (ISO/TR 18491)."""
    above_zero("arc energy of the run", joules, "J")
    above_zero("length of the run", length_mm, "mm")
    between("thermal factor", factor, 0.3, 1.0)
    return factor * joules / (1000 * length_mm)


def kj_mm_to_kj_in(kj_mm: Exact) -> Fraction:
    """kJ/mm in kJ/in, exact."""
    return convert(kj_mm, "kJ/mm", "kJ/in")


@dataclass(frozen=True, slots=True)
class EnergyWindow:
    """Lowest and highest arc energy in kJ/in that the windows of volts, amps and speed allow."""

    low: Fraction
    high: Fraction


def arc_energy_window(
    volts: tuple[Exact, Exact], amps: tuple[Exact, Exact], inches_per_minute: tuple[Exact, Exact]
) -> EnergyWindow:
    """Low volts and amps at the highest speed; high volts and amps at the lowest."""
    for name, (low, high) in (("volts", volts), ("amps", amps), ("travel speed", inches_per_minute)):
        require(low <= high, f"The low {name} must not be more than the high.")
    return EnergyWindow(
        arc_energy_kj_in(volts[0], amps[0], inches_per_minute[1]),
        arc_energy_kj_in(volts[1], amps[1], inches_per_minute[0]),
    )


class Equivalent(Enum):
    """Carbon equivalents: name and the divisor of each element in % (5B is written as 1/0.2).

    CE (IIW) = C + Mn/6 + (Cr+Mo+V)/5 + (Ni+Cu)/15
    CET      = C + (Mn+Mo)/10 + (Cr+Cu)/20 + Ni/40
    PCM      = C + Si/30 + (Mn+Cu+Cr)/20 + Ni/60 + Mo/15 + V/10 + 5B
    """

    CE = ("CE", {"C": 1, "Mn": 6, "Cr": 5, "Mo": 5, "V": 5, "Ni": 15, "Cu": 15})
    CET = ("CET", {"C": 1, "Mn": 10, "Mo": 10, "Cr": 20, "Cu": 20, "Ni": 40})
    PCM = (
        "Pcm",
        {"C": 1, "Si": 30, "Mn": 20, "Cu": 20, "Cr": 20, "Ni": 60, "Mo": 15, "V": 10, "B": Fraction(1, 5)},
    )


@dataclass(frozen=True, slots=True)
class CarbonEquivalent:
    """A carbon equivalent in %, exact, and the elements that were not given and so counted as 0."""

    value: Fraction
    assumed_zero: tuple[str, ...]

    @property
    def remark(self) -> str:
        """A sentence naming the elements assumed to be 0, or an empty text."""
        if not self.assumed_zero:
            return ""
        return f"Assumed 0: {', '.join(self.assumed_zero)}. Ask for the certificate if it matters."


# Elements without which the figure means nothing.
_NEEDED = ("C", "Mn")
_ELEMENTS = ("C", "Mn", "P", "S", "Si", "Cr", "Mo", "V", "Ni", "Cu", "B")


def carbon_equivalent(analysis: Mapping[str, Exact], kind: Equivalent) -> CarbonEquivalent:
    """The equivalent from an analysis in %. C and Mn must be there; other missing elements are flagged."""
    for element, content in analysis.items():
        require(element in _ELEMENTS, f"“{element}” is not an element of these formulas.", field=element)
        between(f"content of {element}", content, 0, 20, "%")
    for element in _NEEDED:
        require(element in analysis, f"The analysis has no {element}: it is needed.", field=element)
    divisors = kind.value[1]
    total = sum((Fraction(analysis[name]) / by for name, by in divisors.items() if name in analysis), Fraction(0))
    return CarbonEquivalent(total, tuple(name for name in divisors if name not in analysis))


def _check_arc(volts: Exact | float, amps: Exact | float) -> None:
    between("arc voltage", volts, 5, 60, "V")
    between("arc current", amps, 5, 1500, "A")
