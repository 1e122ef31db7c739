"""Does a measured value prove conformity? Guard bands for a value that has an uncertainty.

A limit says what the part may be; a reading says what it probably is. Between the two lies a guard band of
width w on each side of a limit (ISO 14253-1, JCGM 106):
    conforms  low + w <= value <= high - w
    fails     value < low - w  or  value > high + w
    undecided anything between: re-measure, take a better gauge, or ask the supervisor; never a silent pass.
The rule in force is a setting and is kept with each verdict.
Uncertainties are standard (u) or expanded (U = k u).
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from fractions import Fraction

from measurements.engineering.limits import Limits
from measurements.engineering.units import Exact
from measurements.engineering.validity import above_zero, not_below_zero, require


class GuardRule(Enum):
    """How wide the guard band is, as a multiple of the standard uncertainty u.

    NONE         w = 0 (simple acceptance, shared risk)
    PROBABILITY  w = 1.645 u: 95 % for one limit, the default of ISO 14253-1:2017
    EXPANDED     w = 2 u: the older form w = U with coverage factor 2
    """

    NONE = Decimal(0)
    PROBABILITY = Decimal("1.645")
    EXPANDED = Decimal(2)


class Proof(Enum):
    """What a value with its uncertainty proves."""

    CONFORMS = "conforms"
    FAILS = "fails"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class Decision:
    """The proof, and the guard band it was given with (to be stored beside it)."""

    proof: Proof
    guard_band: Fraction
    rule: GuardRule | None = None


def standard_uncertainty(expanded: Exact, coverage_factor: Exact = Decimal(2)) -> Fraction:
    """u = U / k."""
    not_below_zero("expanded uncertainty", expanded)
    above_zero("coverage factor", coverage_factor)
    return Fraction(expanded) / Fraction(coverage_factor)


def decide(value: Exact, limits: Limits, u: Exact, rule: GuardRule = GuardRule.PROBABILITY) -> Decision:
    """The decision by a named rule from the standard uncertainty u."""
    not_below_zero("standard uncertainty", u)
    band = Fraction(rule.value) * Fraction(u)
    return Decision(_prove(Fraction(value), limits, band), band, rule)


def decide_with_band(value: Exact, limits: Limits, guard_band: Exact) -> Decision:
    """The decision with a guard band given outright; a value on the edge of the band is on the near side."""
    not_below_zero("guard band", guard_band)
    band = Fraction(guard_band)
    return Decision(_prove(Fraction(value), limits, band), band)


def conformance_probability(value: Exact, limits: Limits, u: Exact) -> float:
    """p = Φ((high - value)/u) - Φ((low - value)/u), JCGM 106; normal distribution, no prior knowledge."""
    above_zero("standard uncertainty", u)
    require(limits.low is not None or limits.high is not None, "Without a limit there is nothing to conform to.")
    tails = (_upper_tail(float(distance / Fraction(u))) for distance in _distances_inside(value, limits))
    return 1.0 - sum(tails)


def _upper_tail(z: float) -> float:
    return math.erfc(z / math.sqrt(2)) / 2


def _prove(value: Fraction, limits: Limits, band: Fraction) -> Proof:
    distances = _distances_inside(value, limits)
    if any(distance < -band for distance in distances):
        return Proof.FAILS
    return Proof.CONFORMS if all(distance >= band for distance in distances) else Proof.UNDECIDED


def _distances_inside(value: Exact, limits: Limits) -> list[Fraction]:
    """How far inside each limit the value lies; negative outside."""
    distances = []
    if limits.low is not None:
        distances.append(Fraction(value) - Fraction(limits.low))
    if limits.high is not None:
        distances.append(Fraction(limits.high) - Fraction(value))
    return distances
