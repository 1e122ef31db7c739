"""What an advice is worked out from: the axle's own readings by role, their limits, and the card's fixed figures."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from measurements.engineering.limits import Limits, plain
from measurements.engineering.units import convert, rounded

Value = Decimal | str


@dataclass(frozen=True, slots=True)
class Given:
    """Readings in the drawing's unit, a figure or a word (yes, no, a choice).

    readings  by role, then position ("" for the only one): the try that counts now
    limits    by role, where the card has any
    figures   the fixed inputs of the card
    facts     what is known and is no reading, in words: a day as 2026-03-02, a mark, "yes"
    tries     this axle's own at this operation, oldest first, the one in hand last; each as `readings`, with what was
              then known from the operations before
    """

    readings: Mapping[str, Mapping[str, Value]] = field(default_factory=dict)
    limits: Mapping[str, Limits] = field(default_factory=dict)
    figures: Mapping[str, Decimal] = field(default_factory=dict)
    facts: Mapping[str, str] = field(default_factory=dict)
    tries: Sequence[Mapping[str, Mapping[str, Value]]] = ()

    def fact(self, name: str) -> str:
        """What is known under this name; empty when nothing is."""
        return self.facts.get(name, "")

    def at(self, role: str, position: str) -> Decimal | None:
        """The figure of a role at one position; None when it is not read yet."""
        value = self.readings.get(role, {}).get(position)
        return value if isinstance(value, Decimal) else None

    def values(self, role: str) -> list[Decimal]:
        """The figures of a role in the order of their positions."""
        return [value for value in self.readings.get(role, {}).values() if isinstance(value, Decimal)]

    def one(self, role: str) -> Decimal | None:
        """The figure of a role that has a single one; None when it is not read yet."""
        found = self.values(role)
        return found[0] if found else None

    def word(self, role: str) -> str:
        """The word of a role that has a single one; empty when none is read yet."""
        value = self.readings.get(role, {}).get("", "")
        return value if isinstance(value, str) else ""


def mean(values: Sequence[Decimal]) -> Fraction:
    """The exact mean of one or more readings."""
    return sum(map(Fraction, values), Fraction(0)) / len(values)


def figure(value: Fraction | Decimal, places: int, unit: str = "") -> str:
    """A figure rounded for show: "0.0021 in"."""
    text = format(rounded(value, Decimal(1).scaleb(-places)), "f")
    return f"{text} {unit}".strip()


def three(value: float) -> str:
    """Three significant figures without an exponent."""
    return plain(Decimal(f"{value:.3g}"))


def whole_fahrenheit(celsius: float) -> Fraction:
    """The next whole °F at or above: what is said is what is asked for."""
    return Fraction(math.ceil(convert(Fraction(celsius), "C", "F")))


def in_celsius(fahrenheit: Fraction | Decimal, places: int = 0) -> str:
    return figure(convert(fahrenheit, "F", "C"), places, "°C")


def degrees(fahrenheit: Fraction | Decimal) -> str:
    """ "300 °F (149 °C)"."""
    return f"{figure(fahrenheit, 0, '°F')} ({in_celsius(fahrenheit)})"


def in_mm(inches: Fraction | Decimal, places: int = 3) -> str:
    return figure(convert(inches, "in", "mm"), places, "mm")
