"""Searching the pinion depth: big steps, then halves (common practice; TM 9-2320-266-34 steps .004 in)."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.gears.depth_search import DepthTry, DepthVerdict, next_depth
from measurements.engineering.gears.pinion import PinionMove
from measurements.engineering.validity import OutsideValidity

OUT, DEEP, RIGHT = DepthVerdict.TOO_FAR_OUT, DepthVerdict.TOO_DEEP, DepthVerdict.RIGHT
STEP, SHIM = Decimal(".004"), Decimal(".001")


def tries(*pairs: tuple[str, DepthVerdict]) -> list[DepthTry]:
    return [DepthTry(Decimal(inward), verdict) for inward, verdict in pairs]


def test_first_step_is_a_full_one_in_or_out() -> None:
    further_in = next_depth(tries(("0", OUT)), STEP, SHIM)
    assert (further_in.move, further_in.amount, further_in.inward) == (PinionMove.IN, STEP, STEP)
    further_out = next_depth(tries(("0", DEEP)), STEP, SHIM)
    assert (further_out.move, further_out.amount, further_out.inward) == (PinionMove.OUT, STEP, -STEP)


def test_one_sided_search_goes_on_from_the_furthest_try() -> None:
    assert next_depth(tries(("0", OUT), (".008", OUT), (".004", OUT)), STEP, SHIM).inward == Decimal(".012")
    assert next_depth(tries(("0", DEEP), ("-.008", DEEP), ("-.004", DEEP)), STEP, SHIM).inward == Decimal("-.012")


def test_both_sides_known_halves() -> None:
    found = next_depth(tries(("0", OUT), (".004", OUT), (".008", DEEP)), STEP, SHIM)
    assert (found.inward, found.move, found.amount) == (Decimal(".006"), PinionMove.OUT, Decimal(".002"))
    found = next_depth(tries(("0", DEEP), ("-.005", OUT)), STEP, SHIM)
    assert (found.inward, found.move) == (Decimal("-.003"), PinionMove.IN)


def test_right_stays() -> None:
    found = next_depth(tries(("0", OUT), (".004", RIGHT)), STEP, SHIM)
    assert (found.move, found.amount, found.inward) == (None, 0, Decimal(".004"))
    assert "right" in found.says


def test_no_shim_between_asks_the_lead_builder() -> None:
    found = next_depth(tries((".004", OUT), (".005", DEEP)), STEP, SHIM)
    assert (found.move, found.inward, found.amount) == (None, Decimal(".005"), 0)
    assert "lead builder" in found.says


def test_contradiction_is_refused() -> None:
    for deep in (".004", ".003"):
        with pytest.raises(OutsideValidity, match="contradict"):
            next_depth(tries((".004", OUT), (deep, DEEP)), STEP, SHIM)


def test_needs_a_try_and_steps() -> None:
    with pytest.raises(OutsideValidity, match="no try yet"):
        next_depth([], STEP, SHIM)
    with pytest.raises(OutsideValidity, match="The step must"):
        next_depth(tries(("0", OUT)), Decimal(0), SHIM)
    with pytest.raises(OutsideValidity, match="The shim step must"):
        next_depth(tries(("0", OUT)), STEP, Decimal(0))


@given(st.integers(-30, 30), st.integers(1, 10))
def test_always_finds_a_depth_that_is_there(answer: int, step: int) -> None:
    """Played: the pattern answers truthfully for a right depth on a whole shim; the search ends there."""
    made: list[DepthTry] = []
    position, moves = Fraction(0), 0
    while True:
        thousandths = position * 1000
        verdict = RIGHT if thousandths == answer else OUT if thousandths < answer else DEEP
        made.append(DepthTry(position, verdict))
        found = next_depth(made, Decimal(step) / 1000, SHIM)
        if found.move is None:
            break
        assert (found.move is PinionMove.IN) is (found.inward > position)
        assert abs(found.inward - position) == found.amount
        position, moves = found.inward, moves + 1
    assert position * 1000 == answer
    assert moves <= abs(answer) // step + 6
