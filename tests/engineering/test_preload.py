"""Preload shims: the demo story's 34 in-lb back into 20 to 30, both senses, and the rate learnt."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.bearings.preload import (
    PreloadTry,
    SpacerSense,
    next_preload,
    shim_for_preload,
    spacer_change_for_head_shim,
)
from measurements.engineering.gears.pinion import ShimSeat
from measurements.engineering.validity import OutsideValidity

LESS, MORE = SpacerSense.THICKER_IS_LESS, SpacerSense.THICKER_IS_MORE
WANTED = (Decimal(20), Decimal(30))
STEP = Decimal(".001")


def tries(*pairs: tuple[str, str]) -> list[PreloadTry]:
    return [PreloadTry(Decimal(shim), Decimal(torque)) for shim, torque in pairs]


def test_story_too_much_preload_takes_a_thicker_shim() -> None:
    """34 in-lb with 20 to 30 wanted and 4.5 in-lb a step: two steps thicker aim at 25."""
    found = next_preload(tries((".050", "34")), WANTED, STEP, per_step=Decimal("4.5"))
    assert (found.shim, found.change) == (Decimal(".052"), Decimal(".002"))
    assert found.says.startswith("Less preload is needed: a thicker shim")
    assert "Never back a crush sleeve off" in found.says


def test_story_26_stays() -> None:
    found = next_preload(tries((".050", "34"), (".052", "26")), WANTED, STEP)
    assert (found.change, found.shim) == (0, Decimal(".052"))
    assert "leave the shim" in found.says


@pytest.mark.parametrize("torque", ["20", "30"])
def test_limits_are_inside(torque: str) -> None:
    assert next_preload(tries((".050", torque)), WANTED, STEP).change == 0


@pytest.mark.parametrize(
    ("torque", "sense", "change", "words"),
    [
        ("34", LESS, ".001", "Less preload is needed: a thicker"),
        ("14", LESS, "-.001", "More preload is needed: a thinner"),
        ("34", MORE, "-.001", "Less preload is needed: a thinner"),
        ("14", MORE, ".001", "More preload is needed: a thicker"),
    ],
)
def test_one_step_when_no_rate_is_known(torque: str, sense: SpacerSense, change: str, words: str) -> None:
    found = next_preload(tries((".050", torque)), WANTED, STEP, sense=sense)
    assert found.change == Decimal(change)
    assert words in found.says
    assert sense.value in found.says
    assert found.per_step is None


@pytest.mark.parametrize(("sense", "second"), [(LESS, ".047"), (MORE, ".053")])
def test_own_rate_of_two_tries_beats_the_products(sense: SpacerSense, second: str) -> None:
    """Three steps took 40 to 55: 5 a step; from 55 to 25 it is six steps back, whatever the product says."""
    found = next_preload(tries((".050", "40"), (second, "55")), WANTED, STEP, Decimal(2), sense)
    assert found.per_step == 5
    assert abs(found.change) == Decimal(".006")
    assert (found.change > 0) is (sense is LESS)


def test_last_two_different_shims_teach_the_rate() -> None:
    found = next_preload(tries((".050", "80"), (".052", "60"), (".053", "54"), (".053", "52")), WANTED, STEP)
    assert found.per_step == Fraction(8, 1)


def test_tries_that_contradict_the_sense_teach_nothing() -> None:
    contrary = tries((".050", "34"), (".051", "36"))
    assert next_preload(contrary, WANTED, STEP).change == Decimal(".001")
    assert next_preload(contrary, WANTED, STEP, per_step=Decimal(4)).change == Decimal(".003")
    same = tries((".050", "34"), (".051", "34"))
    assert next_preload(same, WANTED, STEP).per_step is None


def test_a_small_rate_is_learnt_too() -> None:
    assert next_preload(tries((".050", "34"), (".052", "33")), WANTED, STEP).per_step == Fraction(1, 2)


@pytest.mark.parametrize(
    ("second", "read_to", "change"),
    [
        ("33.9", "0.5", ".001"),  # less than the wrench shows: one step
        ("33.1", "0.5", ".001"),  # .9, still under two steps of the wrench
        ("33", "0.5", ".008"),  # 1.0 a step is learnt: from 33 to the middle, 25, is eight steps
        ("33.9", "0", ".089"),  # control: unguarded, .1 a step would ask for 89 steps at once
    ],
)
def test_a_change_smaller_than_the_wrench_shows_teaches_nothing(second: str, read_to: str, change: str) -> None:
    """Worked by hand."""
    found = next_preload(tries((".030", "34"), (".031", second)), WANTED, STEP, read_to=Decimal(read_to))
    assert found.change == Decimal(change)


def test_wanted_range_may_start_at_zero_and_be_a_single_figure() -> None:
    assert next_preload(tries((".050", "0")), (Decimal(0), Decimal(20)), STEP).change == 0
    assert next_preload(tries((".050", "20")), (Decimal(20), Decimal(20)), STEP).change == 0


def test_always_at_least_one_step() -> None:
    assert next_preload(tries((".050", "31")), WANTED, STEP, per_step=Decimal(40)).change == STEP


@given(
    st.decimals("0", "80", places=1),
    st.decimals("0.5", "10", places=1),
    st.sampled_from(SpacerSense),
)
def test_follows_a_straight_line_into_the_range(torque: Decimal, rate: Decimal, sense: SpacerSense) -> None:
    """Played: a pack whose torque is a straight line; the right rate lands nearest the middle."""
    found = next_preload([PreloadTry(Decimal("1"), torque)], WANTED, STEP, rate, sense)
    steps = found.change / Fraction(STEP) * (-1 if sense is LESS else 1)
    after = Fraction(torque) + steps * Fraction(rate)
    if found.change:
        assert abs(after - 25) <= max(Fraction(rate) / 2, abs(Fraction(torque) - 25) if abs(steps) > 1 else 99)
        assert (steps > 0) is (torque < 20)
    else:
        assert 20 <= torque <= 30


@pytest.mark.parametrize(
    ("made", "wanted", "step", "rate", "words"),
    [
        ([], WANTED, ".001", None, "no rotating torque yet"),
        ([(".05", "34")], WANTED, "0", None, "shim step"),
        ([(".05", "34")], (Decimal(30), Decimal(20)), ".001", None, "upside down"),
        ([(".05", "34")], (Decimal(-1), Decimal(20)), ".001", None, "upside down"),
        ([(".05", "-1")], WANTED, ".001", None, "rotating torque"),
        ([("-.05", "34")], WANTED, ".001", None, "preload shim"),
        ([(".05", "34")], WANTED, ".001", "0", "change of torque per step"),
        ([(".0005", "10")], WANTED, ".001", None, "not so much shim left"),
    ],
)
def test_outside_validity(
    made: list[tuple[str, str]], wanted: tuple[Decimal, Decimal], step: str, rate: str | None, words: str
) -> None:
    per_step = None if rate is None else Decimal(rate)
    with pytest.raises(OutsideValidity, match=words):
        next_preload(tries(*made), wanted, Decimal(step), per_step)


def test_the_last_of_the_shim_may_be_taken_out() -> None:
    assert next_preload(tries((".001", "10")), WANTED, STEP).shim == 0


def test_head_shim_under_the_cup_takes_the_spacer_with_it() -> None:
    """Calculated from the layout: the cup moves, so the cones must follow; a cage moves as a whole."""
    for change in (Decimal(".004"), Decimal("-.003"), Decimal(0)):
        assert spacer_change_for_head_shim(change, ShimSeat.UNDER_HEAD_CUP) == change
        assert spacer_change_for_head_shim(change, ShimSeat.UNDER_CAGE_FLANGE) == 0
    with pytest.raises(OutsideValidity, match="change of the head shim"):
        spacer_change_for_head_shim(Decimal("NaN"), ShimSeat.UNDER_HEAD_CUP)


def test_shim_that_takes_up_the_play_and_preloads() -> None:
    """Public truck service pages: about .004 in more than no clearance."""
    assert shim_for_preload(Decimal(".250"), Decimal(".006"), Decimal(".004")) == Decimal(".260")
    for bad in ((-1, 0, 0), (0, -1, 0), (0, 0, -1)):
        with pytest.raises(OutsideValidity, match="must not be below zero"):
            shim_for_preload(*map(Decimal, bad))
