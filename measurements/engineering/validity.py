"""Refusal outside a formula's range: one error, and the checks that raise it.

A computation that is asked for something its formula does not cover says so in one plain sentence and
gives no figure. The sentence is fit for the worker: what was given, what is allowed.
"""

import math
from fractions import Fraction

from measurements.engineering.units import Exact, convert

Number = Exact | float | int


class OutsideValidity(ValueError):
    """An input for which the formula does not hold; the text is the sentence to show."""

    def __init__(self, text: str, *, field: str = "") -> None:
        super().__init__(text)
        self.text, self.field = text, field


def shown(value: Number) -> str:
    """A figure as text for a sentence: nine significant digits at most, no trailing zeros."""
    return f"{float(value):.9g}"


def require(condition: bool, text: str, *, field: str = "") -> None:
    """Refuse with `text` unless the condition holds."""
    if not condition:
        raise OutsideValidity(text, field=field)


def finite(name: str, value: Number) -> None:
    """Refuse what is not a finite figure."""
    require(math.isfinite(value), f"The {name} must be a plain figure.", field=name)


def above_zero(name: str, value: Number, unit: str = "") -> None:
    """Refuse zero and below."""
    finite(name, value)
    require(value > 0, f"The {name} must be more than zero; {_with(value, unit)} is not.", field=name)


def not_below_zero(name: str, value: Number, unit: str = "") -> None:
    """Refuse what is below zero."""
    finite(name, value)
    require(value >= 0, f"The {name} must not be below zero; {_with(value, unit)} is.", field=name)


def between(name: str, value: Number, low: Number, high: Number, unit: str = "") -> None:
    """Refuse what lies outside low to high; both ends are allowed."""
    finite(name, value)
    require(
        low <= value <= high,
        f"The {name} must be from {shown(low)} to {_with(high, unit)}; {_with(value, unit)} is outside.",
        field=name,
    )


def scaled(value: Number, frm: str, to: str) -> float:
    """A figure in another unit as a float, for formulas with roots and angles (exact ones use `convert`)."""
    finite(f"figure in {frm}", value)
    return float(convert(Fraction(value), frm, to))


def _with(value: Number, unit: str) -> str:
    return f"{shown(value)} {unit}".strip()
