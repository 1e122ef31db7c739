"""Angle readings: pinion angle by reversing the gauge, and clocking between two ends.

Formula: the gauge read, turned end for end and read again, a and b: true = (a - b)/2, zero error = (a + b)/2.
Clocking difference of two ends = ((a - b + 180) mod 360) - 180, from -180 up to, not including, +180.
Units: degrees, exact in and out (a reading of .1 degree is judged as it stands). Validity: inclinometer
readings from -90 to +90; clock readings any. Errors: half of the gauge's error each; the zero error falls out.
Source: reversal is textbook metrology; the rest is arithmetic.
"""

from dataclasses import dataclass
from fractions import Fraction

from measurements.engineering.units import Exact
from measurements.engineering.validity import between, finite


@dataclass(frozen=True, slots=True)
class Reversal:
    """The true angle and the gauge's own zero error, in degrees."""

    true_deg: Fraction
    zero_error_deg: Fraction


def reverse(first_deg: Exact, reversed_deg: Exact) -> Reversal:
    """The true angle from a reading and the reading with the gauge turned end for end."""
    for reading in (first_deg, reversed_deg):
        between("angle reading", reading, -90, 90, "degrees")
    first, second = Fraction(first_deg), Fraction(reversed_deg)
    return Reversal((first - second) / 2, (first + second) / 2)


def clock_difference(one_deg: Exact, other_deg: Exact) -> Fraction:
    """How far one end is clocked from the other, the short way round."""
    for reading in (one_deg, other_deg):
        finite("clock reading", reading)
    return (Fraction(one_deg) - Fraction(other_deg) + 180) % 360 - 180
