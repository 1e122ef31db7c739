"""At a bolt: what another lubricant than the card's does to the torque for the same clamp, as a range.

Arithmetic: measurements.engineering.tightening.relubricated_torque.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from measurements.engineering.tightening import relubricated_torque

SOURCE = (
    "nut factors: Shigley table 8-15 (0.30 plain, 0.18 lubricated, 0.12 anti-seize) and another handbook (0.20 bare);"
    " 0.15 from memory"
)
#: The lowest and the highest nut factor seen for a lubricant; a lot's own data sheet comes first.
NUT_FACTORS: Mapping[str, tuple[Decimal, Decimal]] = {
    "dry": (Decimal("0.20"), Decimal("0.30")),
    "oil": (Decimal("0.15"), Decimal("0.18")),
    "anti-seize": (Decimal("0.12"), Decimal("0.15")),
}
#: The word for what the torque of the card is for.
OF_CARD = "as the card says"


@dataclass(frozen=True, slots=True)
class Relubricated:
    """The torque for the same clamp: the card's, and what another lubricant makes of it."""

    name: str
    low: Fraction
    high: Fraction
    worked: str


def relubricated(word: str, target: Fraction, factor: Decimal) -> Relubricated | None:
    """The range with this lubricant, from the nut factor that the card's torque is for; None when it is not known."""
    if word not in NUT_FACTORS:
        return None
    factors = NUT_FACTORS[word]
    low, high = (Fraction(relubricated_torque(float(target), float(factor), float(other))) for other in factors)
    return Relubricated(word, low, high, f"T = {float(target):g} · ({factors[0]} to {factors[1]}) / {factor} ft-lb")
