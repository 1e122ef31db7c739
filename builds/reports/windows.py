"""How a limit came about that the card had worked out: its figures and the rule, in words. Nothing is computed here."""

from __future__ import annotations

from builds.definitions.card import Card
from builds.definitions.characteristic import Characteristic
from builds.reports.wording import unit_words
from measurements.engineering.limits import plain
from measurements.engineering.windows import FORMS


def how_worked_out(found: Characteristic, card: Card) -> str:
    """ "Worked out from length 3.75 ...; interference 0.001 to 0.0029 in, as 50.7. F = ..."; empty without a window."""
    asked = found.window
    if asked is None:
        return ""
    single = [f"{name.replace('_', ' ')} {plain(value)}" for name, value in asked.inputs]
    spans = []
    for role, code in asked.limits_of:
        other = card.characteristic(code)
        assert other.low is not None
        assert other.high is not None
        span = f"{plain(other.low)} to {plain(other.high)} {unit_words(other.unit)}".strip()
        spans.append(f"{role.replace('_', ' ')} {span}, the limits of {code}")
    form = FORMS.get((asked.name, found.unit))
    return f"Worked out from {'; '.join((*single, *spans))}." + (f" {form.says}" if form else "")
