"""Pinion depth: both shim seats and both tables of marks, exactly; shim of the worked lengths."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.gears.pinion import (
    MARK_UNIT_IN,
    MarkSign,
    PinionMove,
    ShimSeat,
    depth_error,
    depth_shim,
    move_of_change,
    shim_for_marks,
    shim_for_move,
)
from measurements.engineering.validity import OutsideValidity

CUP, CAGE = ShimSeat.UNDER_HEAD_CUP, ShimSeat.UNDER_CAGE_FLANGE
marks = st.integers(-30, 30)


def test_story_cup_and_its_sister_cage() -> None:
    """Demo story: pinion in .004 is .035 to .039 under the cup, and .004 taken out of the cage pack."""
    cup = shim_for_move(Decimal(".035"), PinionMove.IN, Decimal(".004"), CUP)
    assert (cup.new, cup.change) == (Decimal(".039"), Decimal(".004"))
    assert cup.says.startswith("Add 0.004: the shim sits under the head-bearing cup")
    cage = shim_for_move(Decimal(".035"), PinionMove.IN, Decimal(".004"), CAGE)
    assert (cage.new, cage.change) == (Decimal(".031"), Decimal("-.004"))
    assert cage.says.startswith("Take out 0.004: the shim sits under the cage flange")
    assert "thinner shim moves the pinion in" in cage.says


def test_pinion_out_is_the_other_way_on_both() -> None:
    assert shim_for_move(Decimal(".035"), PinionMove.OUT, Decimal(".004"), CUP).change == Decimal("-.004")
    assert shim_for_move(Decimal(".035"), PinionMove.OUT, Decimal(".004"), CAGE).change == Decimal(".004")


@given(st.decimals("0.02", "0.05", places=4), st.decimals("0", "0.01", places=4), st.sampled_from(PinionMove))
def test_the_two_seats_are_opposite(old: Decimal, amount: Decimal, move: PinionMove) -> None:
    cup, cage = (shim_for_move(old, move, amount, seat) for seat in (CUP, CAGE))
    assert cup.change == -cage.change
    assert abs(cup.change) == Fraction(amount)
    for found, seat in ((cup, CUP), (cage, CAGE)):
        assert move_of_change(found.change, seat) is (move if amount else None)


def test_no_shim_left_is_refused() -> None:
    assert shim_for_move(Decimal(".005"), PinionMove.OUT, Decimal(".004"), CUP).new == Decimal(".001")
    with pytest.raises(OutsideValidity, match="new shim would be 0: there is nothing left"):
        shim_for_move(Decimal(".004"), PinionMove.OUT, Decimal(".004"), CUP)
    with pytest.raises(OutsideValidity, match="move of the pinion"):
        shim_for_move(Decimal(".035"), PinionMove.OUT, Decimal("-.004"), CUP)
    with pytest.raises(OutsideValidity, match="shim now"):
        shim_for_move(Decimal("-.035"), PinionMove.IN, Decimal(".004"), CUP)
    with pytest.raises(OutsideValidity, match="change of shim"):
        move_of_change(Decimal("NaN"), CUP)


# TM 9-2320-266-34 ch. 19: plus 3 in place of no mark needs .003 less.
@pytest.mark.parametrize(
    ("old", "new", "change"),
    [(0, 3, "-.003"), (3, 0, ".003"), (2, -3, ".005"), (-3, 2, "-.005"), (1, 1, "0")],
)
def test_marks_where_plus_needs_less(old: int, new: int, change: str) -> None:
    found = shim_for_marks(Decimal(".035"), old, new, MarkSign.PLUS_NEEDS_LESS, MARK_UNIT_IN)
    assert found.change == Decimal(change)
    assert f"Mark {old:+d} to {new:+d}: on this product plus needs less shim" in found.says


# TM 5-3895-369-14 table 5-4: old +2, new -1 is .003 less.
@pytest.mark.parametrize(("old", "new", "change"), [(2, -1, "-.003"), (-1, 2, ".003"), (0, 4, ".004")])
def test_marks_where_plus_needs_more(old: int, new: int, change: str) -> None:
    found = shim_for_marks(Decimal(".035"), old, new, MarkSign.PLUS_NEEDS_MORE, MARK_UNIT_IN)
    assert found.change == Decimal(change)


@given(marks, marks, marks)
def test_the_two_tables_are_opposite_and_marks_add_up(one: int, two: int, three: int) -> None:
    shim = Fraction(1)
    for sign in MarkSign:
        direct = shim_for_marks(shim, one, three, sign, MARK_UNIT_IN)
        by_way = shim_for_marks(shim_for_marks(shim, one, two, sign, MARK_UNIT_IN).new, two, three, sign, MARK_UNIT_IN)
        assert direct.new == by_way.new
    less, more = (shim_for_marks(shim, one, two, sign, MARK_UNIT_IN).change for sign in MarkSign)
    assert less == -more


def test_metric_marks_are_hundredths() -> None:
    found = shim_for_marks(Decimal("1.48"), 0, 5, MarkSign.PLUS_NEEDS_LESS, Decimal(".01"))
    assert found.new == Decimal("1.43")


@pytest.mark.parametrize(
    ("shim", "old", "new", "unit", "words"),
    [
        (".035", 31, 0, ".001", "pinion mark must be from -30 to 30"),
        (".035", 0, -31, ".001", "pinion mark must be from -30 to 30"),
        (".035", 0, 3, "0", "unit of the mark"),
        ("-.001", 0, 3, ".001", "shim now"),
        (".003", 0, 3, ".001", "nothing left to take out"),
    ],
)
def test_marks_outside_validity(shim: str, old: int, new: int, unit: str, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        shim_for_marks(Decimal(shim), old, new, MarkSign.PLUS_NEEDS_LESS, Decimal(unit))


def test_depth_shim_of_the_worked_lengths() -> None:
    """Calculated: 112.65 - (76.20 + 0.05) - 34.92 = 1.48 mm."""
    assert depth_shim(Decimal("112.65"), Decimal("76.20"), Decimal("34.92"), 5) == Decimal("1.48")
    assert depth_shim(Decimal("112.65"), Decimal("76.20"), Decimal("34.92"), -5) == Decimal("1.58")


def test_a_pinion_without_a_mark_stands_at_the_drawing() -> None:
    """Calculated: 112.65 - 76.20 - 34.92 = 1.53 mm; a checking distance .003 over it is too far out."""
    assert depth_shim(Decimal("112.65"), Decimal("76.20"), Decimal("34.92")) == Decimal("1.53")
    assert depth_shim(Decimal("112.65"), Decimal("76.20"), Decimal("36.44")) == Decimal("0.01")
    assert depth_error(Decimal("3.503"), Decimal("3.500")).error == Decimal(".003")


def test_marks_to_thirty_are_read_either_way() -> None:
    lengths = (Decimal("112.65"), Decimal("76.20"), Decimal("34.92"))
    assert [depth_shim(*lengths, mark) for mark in (30, -30)] == [Decimal("1.23"), Decimal("1.83")]
    assert [depth_error(Decimal("3.5"), Decimal("3.5"), mark).error for mark in (30, -30)] == [
        Decimal("-.030"), Decimal(".030"),
    ]  # fmt: skip
    for old, new in ((30, -30), (-30, 30)):
        found = shim_for_marks(Decimal(".100"), old, new, MarkSign.PLUS_NEEDS_LESS, MARK_UNIT_IN)
        assert found.change == Decimal(old - new) / 1000


@given(marks)
def test_depth_shim_agrees_with_the_table_for_the_cup(mark: int) -> None:
    lengths = (Decimal("112.65"), Decimal("76.20"), Decimal("34.92"))
    by_lengths = depth_shim(*lengths, mark)
    by_marks = shim_for_marks(depth_shim(*lengths), 0, mark, MarkSign.PLUS_NEEDS_LESS, Decimal(".01"))
    assert by_lengths == by_marks.new


@pytest.mark.parametrize(
    ("lengths", "mark", "words"),
    [
        (("0", "76.2", "34.92"), 0, "length from the axis"),
        (("112.65", "-1", "34.92"), 0, "mounting distance"),
        (("112.65", "76.2", "0"), 0, "bearing height"),
        (("112.65", "76.2", "34.92"), 31, "pinion mark"),
        (("112.65", "76.2", "34.92"), -31, "pinion mark"),
        (("112.65", "76.2", "36.45"), 0, "leave 0 for the shim"),
    ],
)
def test_depth_shim_outside_validity(lengths: tuple[str, str, str], mark: int, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        depth_shim(*map(Decimal, lengths), mark)
    with pytest.raises(OutsideValidity, match="unit of the mark"):
        depth_shim(Decimal("112.65"), Decimal("76.2"), Decimal("34.92"), 0, Decimal(0))


@pytest.mark.parametrize(
    ("read", "error", "move"),
    [("3.502", ".000", None), ("3.505", ".003", PinionMove.IN), ("3.500", "-.002", PinionMove.OUT)],
)
def test_depth_error_and_the_way_back(read: str, error: str, move: PinionMove | None) -> None:
    found = depth_error(Decimal(read), Decimal("3.500"), mark=2)
    assert (found.error, found.move) == (Decimal(error), move)


@pytest.mark.parametrize(
    ("read", "nominal", "mark", "words"),
    [
        ("0", "3.5", 0, "checking distance read"),
        ("3.5", "0", 0, "checking distance of the drawing"),
        ("3.5", "3.5", 31, "pinion mark"),
        ("3.5", "3.5", -31, "pinion mark"),
    ],
)
def test_depth_error_outside_validity(read: str, nominal: str, mark: int, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        depth_error(Decimal(read), Decimal(nominal), mark)
