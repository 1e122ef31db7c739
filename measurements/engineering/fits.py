"""Press and shrink fits: readings reduced, contact pressure, stress, capacity, press force, heating.

Lengths in m, pressures in Pa, forces in N, torques in N·m inside; `Joint.inches` and the `_lbf`, `_psi`
properties are the inch side. Interference is always diametral.

Contact pressure (Lamé, plane stress, equal lengths, elastic):
    p = δ / { d [ ((Do²+d²)/(Do²-d²)+ν_o)/E_o + ((d²+Di²)/(d²-Di²)-ν_i)/E_i ] }
    d common diameter, Do hub outside, Di shaft bore (0 solid). Source: Shigley's Mechanical Engineering
    Design §3-16; DIN 7190-1. Valid while both parts stay elastic: look at `Stress.margin`.
    Errors: friction is poorly known (.08 to .15 lubricated, .20 dry), so a force is a band, never a number.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Self

from measurements.engineering.limits import Verdict
from measurements.engineering.validity import above_zero, between, not_below_zero, require, scaled, shown

# An elastic steel joint yields long before this share of its diameter.
LARGEST_INTERFERENCE_SHARE = 0.01


@dataclass(frozen=True, slots=True)
class Section:
    """The diameters of one depth: mean, and ovality = largest - smallest (roundness is about half)."""

    mean: Fraction
    ovality: Fraction


@dataclass(frozen=True, slots=True)
class Reduced:
    """Diameter readings of one part by depth. `taper` is last section's mean - first section's mean."""

    mean: Fraction
    smallest: Fraction
    largest: Fraction
    sections: tuple[Section, ...]
    taper: Fraction
    remark: str


def reduce_readings(sections: Sequence[Sequence[Decimal]]) -> Reduced:
    """Mean, smallest, largest, ovality and taper of the diameters read at each depth.

    Two-point gauging cannot see a three-lobed form: fewer than 3 clock positions x 2 depths is remarked.
    """
    require(bool(sections) and all(sections), "Every depth needs at least one reading.")
    depths = [[Fraction(reading) for reading in section] for section in sections]
    every = [reading for depth in depths for reading in depth]
    reduced = tuple(Section(sum(depth, Fraction(0)) / len(depth), max(depth) - min(depth)) for depth in depths)
    enough = len(depths) >= 2 and all(len(depth) >= 3 for depth in depths)
    return Reduced(
        mean=sum(every, Fraction(0)) / len(every),
        smallest=min(every),
        largest=max(every),
        sections=reduced,
        taper=reduced[-1].mean - reduced[0].mean,
        remark="" if enough else "A three-lobed form cannot be seen: read three clock positions at two depths.",
    )


@dataclass(frozen=True, slots=True)
class Interference:
    """Diametral interference of a pair; negative is clearance."""

    mean: Fraction
    smallest: Fraction
    largest: Fraction


def interference(shaft: Reduced, hole: Reduced) -> Interference:
    """δ_mean = mean(shaft) - mean(hole); δ_min = min(shaft) - max(hole); δ_max = max(shaft) - min(hole)."""
    return Interference(shaft.mean - hole.mean, shaft.smallest - hole.largest, shaft.largest - hole.smallest)


@dataclass(frozen=True, slots=True)
class Elastic:
    """An elastic material: modulus in Pa and Poisson's ratio."""

    modulus_pa: float
    poisson: float

    def __post_init__(self) -> None:
        above_zero("modulus of elasticity", self.modulus_pa, "Pa")
        between("Poisson's ratio", self.poisson, 0, 0.5)

    @classmethod
    def psi(cls, modulus_psi: float, poisson: float) -> Self:
        """From a modulus in psi."""
        return cls(scaled(modulus_psi, "psi", "Pa"), poisson)


@dataclass(frozen=True, slots=True)
class Joint:
    """A cylindrical press joint; lengths in m."""

    diameter: float
    hub_outside: float
    shaft_bore: float
    length: float
    hub: Elastic
    shaft: Elastic

    def __post_init__(self) -> None:
        above_zero("fit diameter", self.diameter, "m")
        not_below_zero("shaft bore", self.shaft_bore, "m")
        above_zero("fit length", self.length, "m")
        require(self.hub_outside > self.diameter, "The hub's outside must be larger than the fit diameter.")
        require(self.shaft_bore < self.diameter, "The shaft's bore must be smaller than the fit diameter.")

    @classmethod
    def inches(
        cls,
        *,
        diameter: float,
        hub_outside: float,
        shaft_bore: float,
        length: float,
        hub: Elastic,
        shaft: Elastic,
    ) -> Self:
        """From lengths in inches."""
        return cls(
            diameter=scaled(diameter, "in", "m"),
            hub_outside=scaled(hub_outside, "in", "m"),
            shaft_bore=scaled(shaft_bore, "in", "m"),
            length=scaled(length, "in", "m"),
            hub=hub,
            shaft=shaft,
        )

    @property
    def contact_area(self) -> float:
        """π d L in m²."""
        return math.pi * self.diameter * self.length


def contact_pressure(joint: Joint, interference_m: float) -> float:
    """Contact pressure in Pa from the diametral interference in m."""
    not_below_zero("interference", interference_m, "m")
    most = LARGEST_INTERFERENCE_SHARE * joint.diameter
    require(
        interference_m <= most,
        f"An interference above {shown(most * 1000)} mm (1 % of the diameter) is no elastic press fit."
        " Measure both parts again.",
    )
    d, outside, bore = joint.diameter, joint.hub_outside, joint.shaft_bore
    hub = ((outside**2 + d**2) / (outside**2 - d**2) + joint.hub.poisson) / joint.hub.modulus_pa
    shaft = ((d**2 + bore**2) / (d**2 - bore**2) - joint.shaft.poisson) / joint.shaft.modulus_pa
    return interference_m / (d * (hub + shaft))


def contact_pressure_psi(joint: Joint, interference_in: float) -> float:
    """Contact pressure in psi from the interference in inches."""
    return scaled(contact_pressure(joint, scaled(interference_in, "in", "m")), "Pa", "psi")


@dataclass(frozen=True, slots=True)
class Stress:
    """Stresses in Pa: hub at its bore (hoop, radial, von Mises) and the shaft where it is highest (hoop)."""

    hub_hoop: float
    hub_radial: float
    hub_von_mises: float
    shaft_hoop: float

    def margin(self, hub_yield_pa: float, shaft_yield_pa: float) -> float:
        """Smaller of yield/stress for hub and shaft bore; below 1 the fit is refused or measured again."""
        above_zero("yield strength", min(hub_yield_pa, shaft_yield_pa), "Pa")
        require(self.hub_von_mises > 0, "Without pressure there is no stress and no margin.")
        return min(hub_yield_pa / self.hub_von_mises, shaft_yield_pa / abs(self.shaft_hoop))


def stress(joint: Joint, pressure: float) -> Stress:
    """Hub bore σt = p(Do²+d²)/(Do²-d²), σr = -p, σ_vM = p√(3+Q⁴)/(1-Q²), Q = d/Do; hollow shaft bore
    σt = -2pd²/(d²-Di²), solid shaft -p everywhere (Shigley §3-16)."""
    not_below_zero("contact pressure", pressure, "Pa")
    d, outside, bore = joint.diameter, joint.hub_outside, joint.shaft_bore
    q = d / outside
    return Stress(
        hub_hoop=pressure * (outside**2 + d**2) / (outside**2 - d**2),
        hub_radial=-pressure,
        hub_von_mises=pressure * math.sqrt(3 + q**4) / (1 - q**2),
        shaft_hoop=-2 * pressure * d**2 / (d**2 - bore**2) if bore else -pressure,
    )


def elastic_limit_pressure(joint: Joint, hub_yield_pa: float, *, modified_tresca: bool = False) -> float:
    """Pressure in Pa at which the hub's bore yields: Re(1-Q²)/√(3+Q⁴), or Re(1-Q²)/√3 after DIN 7190."""
    above_zero("yield strength", hub_yield_pa, "Pa")
    q = joint.diameter / joint.hub_outside
    return hub_yield_pa * (1 - q**2) / math.sqrt(3 if modified_tresca else 3 + q**4)


def axial_capacity(joint: Joint, pressure: float, friction: float) -> float:
    """Axial force in N that slides the joint, F = π d L p μ; also the press force at full depth."""
    not_below_zero("contact pressure", pressure, "Pa")
    between("friction coefficient", friction, 0, 1)
    return joint.contact_area * pressure * friction


def torque_capacity(joint: Joint, pressure: float, friction: float) -> float:
    """Torque in N·m that turns the joint, T = F d/2."""
    return axial_capacity(joint, pressure, friction) * joint.diameter / 2


def holds(joint: Joint, pressure: float, friction: float, *, axial: float, torque: float) -> bool:
    """Whether the joint carries both together: √(F_ax² + (2T/d)²) <= μ p π d L."""
    return math.hypot(axial, 2 * torque / joint.diameter) <= axial_capacity(joint, pressure, friction)


@dataclass(frozen=True, slots=True)
class PressBand:
    """Peak press force to expect, in N; the low end has low friction and the smallest interference."""

    low: float
    high: float

    @property
    def low_lbf(self) -> float:
        """The lower end in lbf."""
        return scaled(self.low, "N", "lbf")

    @property
    def high_lbf(self) -> float:
        """The upper end in lbf."""
        return scaled(self.high, "N", "lbf")

    def verdict(self, peak: float) -> Verdict:
        """Where a logged peak in N lies; the ends are in."""
        if peak < self.low:
            return Verdict.BELOW
        return Verdict.ABOVE if peak > self.high else Verdict.IN

    def advice(self, peak: float) -> str:
        """What the peak points at."""
        return {
            Verdict.BELOW: "Below the band: stop and measure; the joint may be loose or tapered.",
            Verdict.IN: "Inside the band.",
            Verdict.ABOVE: "Above the band: stop and look for galling or a part that is not square.",
        }[self.verdict(peak)]


def press_band(joint: Joint, interferences_m: tuple[float, float], frictions: tuple[float, float]) -> PressBand:
    """The band of peak press force at full depth from (smallest, largest) interference and friction."""
    for name, (low, high) in (("interference", interferences_m), ("friction", frictions)):
        require(low <= high, f"The smallest {name} must not be more than the largest.")
    low, high = (contact_pressure(joint, figure) for figure in interferences_m)
    return PressBand(axial_capacity(joint, low, frictions[0]), axial_capacity(joint, high, frictions[1]))
