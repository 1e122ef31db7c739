"""How a limit came about that the card had worked out: its figures and the rule, in words. Nothing is computed here."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from builds.definitions.card import Card
from builds.definitions.characteristic import Characteristic, Window
from builds.reports.wording import unit_words
from measurements.engineering.limits import plain
from measurements.engineering.windows import FORMS, Form

_LOW, _HIGH = "_low", "_high"
_WORDS = {
    "poisson": "Poisson's ratio",
    "modulus_psi": "modulus of elasticity",
    "modulus_mpa": "modulus of elasticity",
}
#: From this on a figure is read in groups of three digits.
_LONG = 100_000


def how_worked_out(found: Characteristic, card: Card) -> str:
    """ "Worked out from length 3.75 in ...; interference 0.001 to 0.0029 in, the limits of 50.7. F = ..."; empty
    without a window."""
    asked = found.window
    if asked is None:
        return ""
    spans = []
    for role, code in asked.limits_of:
        other = card.characteristic(code)
        assert other.low is not None
        assert other.high is not None
        spans.append(f"{_words(role)} {_span(other.low, other.high, other.unit)}, the limits of {code}")
    form = FORMS.get((asked.name, found.unit))
    said = f"Worked out from {'; '.join((*_inputs(asked, form), *spans))}."
    return f"{said} {form.says}" if form is not None else said


def _inputs(asked: Window, form: Form | None) -> Iterator[str]:
    """The figures that the card itself gives; a smallest and a largest one as one span. A kept card may be older than
    what there is to work out today: then its figures stand without their units."""
    figures = dict(asked.inputs)
    for name, value in figures.items():
        unit = form.unit_of(name) if form is not None else ""
        role = name.removesuffix(_LOW)
        if role != name and role + _HIGH in figures:
            yield f"{_words(role)} {_span(value, figures[role + _HIGH], unit)}"
        elif name.removesuffix(_HIGH) + _LOW not in figures:
            yield f"{_words(name)} {_figure(value)} {unit_words(unit)}".strip()


def _words(name: str) -> str:
    return _WORDS.get(name, name.replace("_", " "))


def _figure(value: Decimal) -> str:
    return plain(value) if abs(value) < _LONG else f"{value:,f}".replace(",", "\N{NO-BREAK SPACE}")


def _span(low: Decimal, high: Decimal, unit: str) -> str:
    return f"{_figure(low)} to {_figure(high)} {unit_words(unit)}".strip()
