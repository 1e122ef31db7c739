"""The error of a reading in per cent taken out again; figures worked by hand beside each."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.errors import without_error


@pytest.mark.parametrize(
    ("shown", "percent", "true"),
    [
        # By hand: 105 / 1.05. Taking 5 per cent off what was shown would give 99.75, which is another verdict at 100.
        ("105", "5", Fraction(100)),
        # By hand: 104 / 1.05 = 10400 / 105 = 2080 / 21, about 99.0476.
        ("104", "5", Fraction(2080, 21)),
        # By hand: 105.6 / 0.96 = 10560 / 96 = 110.
        ("105.6", "-4", Fraction(110)),
        # By hand: 250 / 1.025 = 250000 / 1025 = 10000 / 41, about 243.9024.
        ("250", "2.5", Fraction(10000, 41)),
        ("80", "0", Fraction(80)),
    ],
)
def test_the_true_value_behind_what_was_shown(shown: str, percent: str, true: Fraction) -> None:
    assert without_error(Decimal(shown), Decimal(percent)) == true


@given(st.fractions(1, 1000, max_denominator=1000), st.fractions(-99, 400, max_denominator=100))
def test_showing_it_with_that_error_gives_the_figure_back(true: Fraction, percent: Fraction) -> None:
    """By the definition: error = (shown - true) / true x 100."""
    shown = true + true * percent / 100
    assert (shown - true) / true * 100 == percent
    assert without_error(shown, percent) == true


@pytest.mark.parametrize("percent", [-100, -101])
def test_a_gauge_that_shows_nothing_cannot_be_corrected(percent: int) -> None:
    assert without_error(Decimal(1), Decimal(-99)) == 100
    with pytest.raises(ValueError, match="no reading to correct"):
        without_error(Decimal(1), Decimal(percent))
