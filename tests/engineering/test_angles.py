"""Angles: reversal and clocking, exact; rows calculated."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.geometry.angles import clock_difference, reverse
from measurements.engineering.validity import OutsideValidity

readings = st.decimals("-90", "90", places=1)
clocks = st.decimals("-720", "720", places=1)


def test_reversal_row() -> None:
    found = reverse(Decimal("3.4"), Decimal("-2.8"))
    assert (found.true_deg, found.zero_error_deg) == (Decimal("3.10"), Decimal("0.30"))


@given(st.decimals("-44", "44", places=1), st.decimals("-45", "45", places=1))
def test_reversal_finds_angle_and_zero_error(true: Decimal, zero: Decimal) -> None:
    found = reverse(true + zero, -true + zero)
    assert (found.true_deg, found.zero_error_deg) == (Fraction(true), Fraction(zero))


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [(358, 3, -5), (10, 350, 20), (-179, 179, 2), (0, 180, -180), (180, 0, -180), (179, 0, 179), (0, 0, 0)],
)
def test_clocking_rows(one: int, other: int, expected: int) -> None:
    assert clock_difference(Decimal(one), Decimal(other)) == expected


@given(clocks, clocks, st.integers(-3, 3))
def test_clocking_is_the_short_way_whatever_the_turn(one: Decimal, other: Decimal, turns: int) -> None:
    found = clock_difference(one, other)
    assert -180 <= found < 180
    assert (Fraction(one) - Fraction(other) - found) % 360 == 0
    assert clock_difference(one + 360 * turns, other) == found
    if found != -180:
        assert clock_difference(other, one) == -found


def test_half_a_degree_is_exactly_half_a_degree() -> None:
    """Limits of clocking are inclusive: 256.1 - 255.6 is .5 exactly, which binary floats miss."""
    assert clock_difference(Decimal("256.1"), Decimal("255.6")) == Decimal("0.5")
    assert (256.1 - 255.6 + 180) % 360 - 180 > 0.5


def test_outside_validity() -> None:
    with pytest.raises(OutsideValidity, match="angle reading must be from -90 to 90"):
        reverse(Decimal("90.1"), Decimal(0))
    with pytest.raises(OutsideValidity, match="angle reading"):
        reverse(Decimal(0), Decimal("-90.1"))
    for bad in ((Decimal("NaN"), Decimal(0)), (Decimal(0), Decimal("Infinity"))):
        with pytest.raises(OutsideValidity, match="clock reading"):
            clock_difference(*bad)
