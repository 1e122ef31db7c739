"""End play: arithmetic; .001 to .005 in by dial, TMC RP 618A as reproduced."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.bearings.end_play import (
    SEEN_END_PLAY_IN,
    back_off_of_end_play,
    end_play,
    end_play_of_back_off,
    pitch_of_threads_per_inch,
)
from measurements.engineering.validity import OutsideValidity


def test_dial_pushed_in_and_pulled_out() -> None:
    assert end_play([Decimal(".0012"), Decimal("-.0018"), Decimal(".0009")]) == Decimal(".0030")
    assert end_play([Decimal(".001"), Decimal(".001")]) == 0
    assert (Decimal(".001"), Decimal(".005")) == SEEN_END_PLAY_IN


@given(st.lists(st.decimals("-0.01", "0.01", places=4), min_size=2, max_size=6), st.decimals("-1", "1", places=4))
def test_where_the_dial_was_set_does_not_matter(readings: list[Decimal], shift: Decimal) -> None:
    assert end_play([r + shift for r in readings]) == end_play(readings) >= 0


def test_a_nut_of_12_threads_turned_back_an_eighth() -> None:
    """Calculated: 25.4/12 mm pitch; 45 degrees of a 1/12 in pitch is .0104 in."""
    assert pitch_of_threads_per_inch(Decimal(12)) == Fraction("25.4") / 12
    assert float(end_play_of_back_off(Fraction(1, 12), Decimal(45))) == pytest.approx(0.0104, abs=5e-5)


@given(st.decimals("0.5", "4", places=2), st.decimals("0", "0.5", places=4))
def test_angle_and_play_go_there_and_back(pitch: Decimal, play: Decimal) -> None:
    angle = back_off_of_end_play(pitch, play)
    assert end_play_of_back_off(pitch, angle) == Fraction(play)


def test_outside_validity() -> None:
    with pytest.raises(OutsideValidity, match="two readings"):
        end_play([Decimal(".001")])
    with pytest.raises(OutsideValidity, match="dial reading"):
        end_play([Decimal(".001"), Decimal("NaN")])
    with pytest.raises(OutsideValidity, match="thread pitch"):
        end_play_of_back_off(Decimal(0), Decimal(45))
    with pytest.raises(OutsideValidity, match="angle turned back"):
        end_play_of_back_off(Decimal(1), Decimal(721))
    with pytest.raises(OutsideValidity, match="thread pitch"):
        back_off_of_end_play(Decimal(0), Decimal(".001"))
    with pytest.raises(OutsideValidity, match="end play wanted"):
        back_off_of_end_play(Decimal(1), Decimal("-.001"))
    with pytest.raises(OutsideValidity, match="threads per inch"):
        pitch_of_threads_per_inch(Decimal(0))
