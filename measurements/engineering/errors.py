"""The error of a reading in per cent, taken out of it again.

The relative error of a hand torque tool is (shown - true) / true x 100, the true value being the reference's (ISO
6789-2:2017, 5.1, from memory; the same ratio as the relative error of VIM 2.16, JCGM 200). So what was shown is the
true value times 1 + p/100, and the true value is what was shown divided by that: not what was shown less p per cent
of it.
"""

from __future__ import annotations

from fractions import Fraction

from measurements.engineering.units import Exact


def true_share(percent: Exact) -> Fraction:
    """What part of the figure shown is true, where `percent` per cent too much (below zero: too little) is shown."""
    if percent <= -100:
        raise ValueError("An error of -100 per cent or less leaves no reading to correct.")
    return 100 / (100 + Fraction(percent))


def without_error(shown: Exact, percent: Exact) -> Fraction:
    """The true value behind a figure that was shown `percent` per cent too high (below zero: too low), exactly.

    Both in the same unit, on a scale that begins at nothing. An error of -100 per cent shows nothing at all.
    """
    return Fraction(shown) * true_share(percent)
