"""Units and exact conversion. Values of the legal definitions; control values of a unit library (pint)."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.units import UNITS, convert, rounded, same_dimension, unit_named

figures = st.decimals(min_value=-(10**6), max_value=10**6, places=6, allow_nan=False)


@pytest.mark.parametrize(
    ("frm", "to", "factor"),
    [
        # pint, to 1e-9
        ("in", "mm", 25.4),
        ("lbf", "N", 4.4482216152605),
        ("ft-lb", "N·m", 1.3558179483314),
        ("in-lb", "N·m", 0.1129848290276),
        ("psi", "Pa", 6894.757293168),
        ("ksi", "MPa", 6.894757293),
        ("kgf·m", "N·m", 9.80665),
        ("bar", "psi", 14.50377377),
        # calculated from the definitions
        ("kJ/mm", "kJ/in", 25.4),
        ("mil", "µm", 25.4),
        ("in/min", "mm/s", 25.4 / 60),
        ("oz", "g", 28.349523125),
        ("h", "s", 3600),
        ("gal", "L", 3.785411784),
    ],
)
def test_factors(frm: str, to: str, factor: float) -> None:
    assert float(convert(Decimal(1), frm, to)) == pytest.approx(factor, rel=1e-9)


def test_temperature_points_and_differences() -> None:
    assert convert(Decimal(212), "F", "C") == 100
    assert convert(Decimal("-40"), "F", "C") == -40
    assert convert(Decimal(20), "C", "K") == Fraction("293.15")
    assert convert(Decimal(18), "F", "C", difference=True) == 10
    assert convert(Decimal(18), "F", "C") != 10  # the control: a point is shifted, a difference is not


def test_conversion_is_exact() -> None:
    assert convert(Decimal(1), "mm", "in") == Fraction(5, 127)


@given(figures, st.sampled_from(sorted(UNITS)), st.sampled_from(sorted(UNITS)))
def test_every_conversion_returns_exactly(value: Decimal, frm: str, to: str) -> None:
    if not same_dimension(frm, to):
        with pytest.raises(ValueError, match=r"cannot be turned into"):
            convert(value, frm, to)
        return
    assert convert(convert(value, frm, to), to, frm) == Fraction(value)
    there = convert(value, frm, to, difference=True)
    assert convert(there, to, frm, difference=True) == Fraction(value)


def test_units_of_different_kinds_do_not_mix() -> None:
    with pytest.raises(ValueError, match=r"in psi \(pressure\) cannot be turned into ft-lb \(torque\)"):
        convert(Decimal(1), "psi", "ft-lb")
    assert not same_dimension("kJ/in", "J")


def test_an_unknown_unit_is_named() -> None:
    with pytest.raises(ValueError, match=r"“furlong” is not known here. Known units: %, A"):
        unit_named("furlong")


def test_aliases_are_the_same_unit() -> None:
    assert unit_named("lbf·in") is unit_named("in-lb")
    assert unit_named("μm") is unit_named("µm")  # the Greek letter and the micro sign
    assert unit_named("°F") is unit_named("F")


@pytest.mark.parametrize(
    ("value", "step", "expected"),
    [
        ("0.00015", "0.0001", "0.0002"),  # a tie goes to the even multiple (ASTM E29, from memory)
        ("0.00025", "0.0001", "0.0002"),
        ("0.000251", "0.0001", "0.0003"),
        ("-0.00025", "0.0001", "-0.0002"),
        ("3.06424", "0.0005", "3.0640"),
        ("7", "5", "5"),
    ],
)
def test_rounding_to_a_step(value: str, step: str, expected: str) -> None:
    assert str(rounded(Decimal(value), Decimal(step))) == expected


@given(figures, st.sampled_from([Decimal("0.0001"), Decimal("0.0005"), Decimal("0.1"), Decimal(2)]))
def test_rounding_moves_by_half_a_step_at_most_and_is_stable(value: Decimal, step: Decimal) -> None:
    near = rounded(value, step)
    assert abs(Fraction(near) - Fraction(value)) <= Fraction(step) / 2
    assert rounded(near, step) == near


@pytest.mark.parametrize("step", ["0", "-0.1"])
def test_a_step_must_be_positive(step: str) -> None:
    with pytest.raises(ValueError, match=r"more than zero"):
        rounded(Decimal(1), Decimal(step))
