"""The press windows of the cards come out again of the inputs kept beside them.

Thick-wall cylinders of one material (Lamé; Machinery's Handbook and any text on press fits, from memory):
p = (d_int / d) E / [(D² + d²)/(D² - d²) + (d² + b²)/(d² - b²)], F = µ p π d L. Three significant figures.
"""

from decimal import Decimal
from math import pi

import pytest

from builds.definitions.card import Card
from tests.builds.definitions.cards import SORREL, TEASEL


def figures(card: Card, code: str) -> dict[str, float]:
    window = card.characteristic(code).window
    assert window is not None
    assert window.name == "press_force"
    return {name: float(value) for name, value in window.inputs}


def force(d: float, outside: float, bore: float, inputs: dict[str, float], end: str) -> float:
    outer = (outside**2 + d**2) / (outside**2 - d**2)
    inner = (d**2 + bore**2) / (d**2 - bore**2)
    pressure = inputs[f"interference_{end}"] / d * inputs["modulus_psi"] / (outer + inner)
    return inputs[f"friction_{end}"] * pressure * pi * d * inputs["length"]


def three_figures(value: float) -> Decimal:
    return Decimal(f"{value:.2e}")


@pytest.mark.parametrize(("card", "low", "high"), [(SORREL, "3520", "19100"), (TEASEL, "2290", "14500")])
def test_spindle_into_tube(card: Card, low: str, high: str) -> None:
    inputs = figures(card, "70.1")
    args = (inputs["bore"], inputs["tube_outside"], inputs["spindle_bore"], inputs)
    limits = (Decimal(low), Decimal(high))
    assert (three_figures(force(*args, "low")), three_figures(force(*args, "high"))) == limits
    held = card.characteristic("70.1")
    assert (held.low, held.high) == limits


@pytest.mark.parametrize(("card", "low", "high"), [(SORREL, "2890", "14300"), (TEASEL, "1610", "8770")])
def test_tube_into_housing(card: Card, low: str, high: str) -> None:
    inputs = figures(card, "110.1")
    args = (inputs["fit_diameter"], inputs["neck_outside"], inputs["tube_bore"], inputs)
    limits = (Decimal(low), Decimal(high))
    assert (three_figures(force(*args, "low")), three_figures(force(*args, "high"))) == limits
    held = card.characteristic("110.1")
    assert (held.low, held.high) == limits


@pytest.mark.parametrize("card", [SORREL, TEASEL])
@pytest.mark.parametrize(("press", "fit"), [("70.1", "50.7"), ("110.1", "40.3")])
def test_the_window_uses_the_fit_of_the_card(card: Card, press: str, fit: str) -> None:
    inputs = dict(card.characteristic(press).window.inputs)  # type: ignore[union-attr]
    found = card.characteristic(fit)
    assert (inputs["interference_low"], inputs["interference_high"]) == (found.low, found.high)
