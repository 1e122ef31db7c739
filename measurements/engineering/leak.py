"""Leak test by pressure drop: the drop corrected for temperature, leak rate, stored energy.

Ideal gas law with absolute pressure and kelvin, constant volume. Pressures in Pa, volume in m³, time in s;
`corrected_drop` takes any one unit of pressure because a card judges it in the unit of its drawing.
Errors: 0.3 K in a small housing is about 124 Pa, so cooling looks like a leak and warming hides one: let the
gas settle, measure its temperature at both ends, and use the barometer's reading.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from measurements.engineering.validity import above_zero, between, not_below_zero, require, scaled, shown

STANDARD_ATMOSPHERE_PSI = Decimal("14.70")
REFERENCE_KELVIN = 293.15
REFERENCE_PA = 101325.0
GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA
_AMBIENT_PA = 101000.0  # the ambient pressure the stored-energy formula is written with
_JOULES_PER_KG_TNT = 4266920.0


def corrected_drop(
    *, start: Fraction, end: Fraction, start_kelvin: Fraction, end_kelvin: Fraction, atmosphere: Fraction
) -> Fraction:
    """Gauge pressure lost had the gas kept its start temperature, in the unit of the pressures; exact.

    start - end' with (end' + atmosphere) = (end + atmosphere) T_start/T_end. Source: gas law.
    start, end: gauge pressure; atmosphere: barometer or the standard value, same unit. Negative: a gain.
    """
    above_zero("start temperature of the gas", start_kelvin, "K")
    above_zero("end temperature of the gas", end_kelvin, "K")
    above_zero("barometer reading", atmosphere)
    for name, gauge in (("start", start), ("end", end)):
        require(
            gauge + atmosphere > 0,
            f"The {name} pressure is below a perfect vacuum: read the gauge again.",
            field=f"{name} pressure",
        )
    return start + atmosphere - (end + atmosphere) * start_kelvin / end_kelvin


@dataclass(frozen=True, slots=True)
class Gas:
    """A state of the gas in the item: absolute pressure in Pa and temperature in K."""

    pressure: float
    kelvin: float

    def __post_init__(self) -> None:
        above_zero("absolute pressure", self.pressure, "Pa")
        between("gas temperature", self.kelvin, 223.15, 373.15, "K")

    @classmethod
    def gauge_psi(cls, gauge: float, fahrenheit: float, atmosphere_psi: float) -> "Gas":
        """From a gauge pressure and barometer in psi and a temperature in °F."""
        return cls(scaled(gauge + atmosphere_psi, "psi", "Pa"), scaled(fahrenheit, "F", "K"))


@dataclass(frozen=True, slots=True)
class LeakRate:
    """Gas lost per time: standard m³/s at 20 °C and 101.325 kPa (negative: gained)."""

    m3_per_s: float

    @property
    def cm3_per_min(self) -> float:
        """Standard cubic centimetres per minute."""
        return self.m3_per_s * 6e7

    @property
    def mol_per_s(self) -> float:
        """Amount of gas per second."""
        return self.m3_per_s * REFERENCE_PA / (GAS_CONSTANT * REFERENCE_KELVIN)


def leak_rate(start: Gas, end: Gas, *, volume: float, seconds: float) -> LeakRate:
    """Q = V (p1/T1 - p2/T2) T_ref/(p_ref Δt); at one temperature V Δp/(p_ref Δt) T_ref/T."""
    above_zero("volume", volume, "m³")
    above_zero("test time", seconds, "s")
    lost = start.pressure / start.kelvin - end.pressure / end.kelvin
    return LeakRate(volume * lost * REFERENCE_KELVIN / (REFERENCE_PA * seconds))


def apparent_drop(start: Gas, kelvin_change: float) -> float:
    """Pressure in Pa that a cooling (positive change) of this many kelvins takes without any leak."""
    return start.pressure * kelvin_change / start.kelvin


@dataclass(frozen=True, slots=True)
class StoredEnergy:
    """What a vessel gives back when it bursts, and whether the ceiling of pressure is passed."""

    joules: float
    refusal: str

    @property
    def kg_tnt(self) -> float:
        """The same as kg of TNT."""
        return self.joules / _JOULES_PER_KG_TNT


def stored_energy(pressure: float, volume: float, *, ceiling: float = math.inf) -> StoredEnergy:
    """E = 2.5 p V [1 - (101 000/p)^0.286] J, absolute p in Pa, V in m³; air or nitrogen.

    Source: ASME PCC-2 article 501. Valid above ambient pressure. The ceiling (absolute, Pa) is the item's
    own: a regulator and a relief valve set at or below it, never shop air direct.
    """
    above_zero("volume", volume, "m³")
    above_zero("ceiling", 1.0 if math.isinf(ceiling) else ceiling, "Pa")
    between("absolute pressure", pressure, _AMBIENT_PA, 20e6, "Pa")
    refusal = ""
    if pressure > ceiling:
        refusal = (
            f"{shown(round(pressure - REFERENCE_PA))} Pa over the atmosphere is above the ceiling"
            " for this item: vent at once and check the seals."
        )
    return StoredEnergy(2.5 * pressure * volume * (1 - (_AMBIENT_PA / pressure) ** 0.286), refusal)


def bubble_advice(rate: LeakRate) -> str:
    """Where to look after a fail, by the size of the leak (common practice, no source)."""
    not_below_zero("leak rate", rate.cm3_per_min, "cm³/min")
    if rate.cm3_per_min > 100:
        return "A large leak: it can be heard or felt. Look at plugs, ports and the cover first."
    return "A small leak: soap every joint, seal and weld, and wait for a bubble to grow."
