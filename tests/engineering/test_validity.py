"""Refusals outside validity: each check lets the edge through and refuses beyond it, with a sentence."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.validity import (
    OutsideValidity,
    above_zero,
    between,
    finite,
    not_below_zero,
    require,
    scaled,
    shown,
)


def test_require_carries_sentence_and_field() -> None:
    require(True, "never shown")
    with pytest.raises(OutsideValidity) as refused:
        require(False, "The pull is missing.", field="pull")
    assert (str(refused.value), refused.value.text, refused.value.field) == (
        "The pull is missing.",
        "The pull is missing.",
        "pull",
    )


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, Decimal("NaN"), Decimal("Infinity")])
def test_not_a_figure_is_refused_by_every_check(value: float | Decimal) -> None:
    for check in (finite, above_zero, not_below_zero):
        with pytest.raises(OutsideValidity, match="The load must be a plain figure"):
            check("load", value)
    with pytest.raises(OutsideValidity, match="plain figure"):
        between("load", value, 0, 1)


def test_zero_is_refused_only_where_it_must_be_above() -> None:
    not_below_zero("load", 0)
    with pytest.raises(OutsideValidity, match="The load must be more than zero; 0 N is"):
        above_zero("load", 0, "N")
    above_zero("load", Decimal("0.0001"), "N")
    with pytest.raises(OutsideValidity, match=r"The load must not be below zero; -0\.5 is"):
        not_below_zero("load", Decimal("-0.5"))


def test_both_ends_of_a_range_are_inside() -> None:
    between("angle", 0, 0, 45, "degrees")
    between("angle", Fraction(45), 0, 45, "degrees")
    with pytest.raises(OutsideValidity, match=r"The angle must be from 0 to 45 degrees; 45.1 degrees is outside"):
        between("angle", Decimal("45.1"), 0, 45, "degrees")
    with pytest.raises(OutsideValidity, match=r"-0\.1 is outside"):
        between("angle", -0.1, 0, 45)


def test_figures_are_shown_without_trailing_zeros() -> None:
    assert [shown(v) for v in (Decimal("0.0040"), Fraction(1, 3), 45.0)] == ["0.004", "0.333333333", "45"]


# Legal definitions (exact); the same figures from an independent unit library.
@pytest.mark.parametrize(
    ("frm", "to", "expected"),
    [
        ("in", "mm", 25.4),
        ("lbf", "N", 4.4482216152605),
        ("ft-lb", "N·m", 1.3558179483314),
        ("in-lb", "N·m", 0.1129848290276),
        ("psi", "Pa", 6894.757293168),
    ],
)
def test_scaled_agrees_with_the_definitions(frm: str, to: str, expected: float) -> None:
    assert scaled(1, frm, to) == pytest.approx(expected, rel=1e-9)


@given(st.floats(-1e6, 1e6))
def test_scaled_there_and_back_is_the_same(value: float) -> None:
    assert scaled(scaled(value, "in", "mm"), "mm", "in") == pytest.approx(value, rel=1e-12, abs=1e-300)


def test_scaled_refuses_what_is_no_figure() -> None:
    with pytest.raises(OutsideValidity, match="figure in in"):
        scaled(math.nan, "in", "mm")
