"""Figures as the formulas take them, and as they are shown."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from measurements.bench.given import Given, figure
from measurements.engineering.limits import plain
from measurements.engineering.validity import require, scaled

CALCULATED = "calculated by hand with the formula"
ENGINEER = ("An engineer signs a strength. A weld, a notch, a hole or wear makes it less than this.",)
TURNING = ("Hands clear of the mesh when turning. Support the carrier.",)


def number(given: Given, name: str, otherwise: str = "0") -> float:
    """The figure of a field as a float; `otherwise` where it was left out."""
    return float(given.figures.get(name, Decimal(otherwise)))


def whole(given: Given, name: str, label: str, otherwise: str = "0") -> int:
    """A whole figure of a field; a broken or a huge one is refused with a sentence."""
    value = given.figures.get(name, Decimal(otherwise))
    require(value == value.to_integral_value(), f"{label}: a whole figure is needed; {plain(value)} is none.")
    require(abs(value) < 10_000, f"{label}: {plain(value)} is too large.")
    return int(value)


def fixed(value: float | Fraction | Decimal, places: int, unit: str = "") -> str:
    """A figure rounded for show; one that is no number is an arithmetic error, said by the book."""
    return figure(Fraction(value), places, unit)


def turned(value: float | Fraction | Decimal, frm: str, to: str, places: int) -> str:
    """The same in another unit."""
    return fixed(scaled(value, frm, to), places, to)


def joined(values: list[Decimal]) -> str:
    return " ".join(plain(value) for value in values)
