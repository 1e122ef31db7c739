"""Shim packs: fewest pieces with the exact sum, against counting out every pack there is."""

from decimal import Decimal
from fractions import Fraction
from itertools import combinations_with_replacement

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.gears.drawer import choose_pack
from measurements.engineering.validity import OutsideValidity

METRIC = [Decimal(".08"), Decimal(".13"), Decimal(".25"), Decimal(".50")]
SOLD = [Decimal(".003"), Decimal(".005"), Decimal(".010"), Decimal(".030")]


def test_worked_pack() -> None:
    """Calculated: 0.88 from .08 .13 .25 .50 is .13 + .25 + .50."""
    pack = choose_pack(Decimal(".88"), METRIC)
    assert pack.pieces == (Decimal(".50"), Decimal(".25"), Decimal(".13"))
    assert (pack.total, pack.error) == (Decimal(".88"), 0)


def test_story_pack_from_sold_sizes() -> None:
    """.039 from .003 .005 .010 .030: .030 + .003 + .003 + .003."""
    assert choose_pack(Decimal(".039"), SOLD).pieces == tuple(map(Decimal, (".030", ".003", ".003", ".003")))


def test_thicker_pieces_win_between_equal_counts_whatever_the_order() -> None:
    sizes = [Decimal(".2"), Decimal(".5"), Decimal(".4"), Decimal(".1")]
    for drawer in (sizes, sizes[::-1], sorted(sizes)):
        assert choose_pack(Decimal(".6"), drawer).pieces == (Decimal(".5"), Decimal(".1"))


def test_what_is_not_there_is_not_used() -> None:
    counted = {Decimal(".50"): 1, Decimal(".25"): 0, Decimal(".13"): None, Decimal(".08"): 6}
    pack = choose_pack(Decimal(".84"), counted)
    assert pack.total == Decimal(".84")
    assert pack.pieces.count(Fraction("0.50")) <= 1
    assert Fraction("0.25") not in pack.pieces


def test_no_exact_pack_names_the_nearest() -> None:
    with pytest.raises(OutsideValidity, match=r"No pack from the drawer makes 0\.007; the nearest: 0\.006 and 0\.008"):
        choose_pack(Decimal(".007"), SOLD)
    with pytest.raises(OutsideValidity, match=r"the nearest: 0\.003\."):
        choose_pack(Decimal(".002"), [Decimal(".003")])
    with pytest.raises(OutsideValidity, match=r"the nearest: 0\.003\."):
        choose_pack(Decimal(".004"), {Decimal(".003"): 1})


def test_a_tolerance_takes_the_nearest_and_then_the_fewest() -> None:
    pack = choose_pack(Decimal(".007"), SOLD, Decimal(".001"))
    assert abs(pack.error) == Decimal(".001")
    assert len(pack.pieces) == 2
    assert choose_pack(Decimal(".008"), SOLD, Decimal(".002")).error == 0
    with pytest.raises(OutsideValidity, match="No pack"):
        choose_pack(Decimal(".007"), SOLD, Decimal(".0009"))


def test_at_most_twelve_pieces() -> None:
    assert len(choose_pack(Decimal("1.2"), [Decimal(".1")]).pieces) == 12
    with pytest.raises(OutsideValidity, match="No pack"):
        choose_pack(Decimal("1.3"), [Decimal(".1")])
    with pytest.raises(OutsideValidity, match="No pack"):
        choose_pack(Decimal("1.3"), {Decimal(".1"): 40})


def test_at_most_twelve_pieces_of_several_sizes_together() -> None:
    """2.4 is twelve of .2; 2.5 would take a thirteenth piece."""
    sizes = [Decimal(".2"), Decimal(".1")]
    assert choose_pack(Decimal("2.4"), sizes).pieces == (Decimal(".2"),) * 12
    assert len(choose_pack(Decimal("2.3"), sizes).pieces) == 12
    with pytest.raises(OutsideValidity, match=r"No pack from the drawer makes 2\.5; the nearest: 2\.4\."):
        choose_pack(Decimal("2.5"), sizes)


def test_the_last_of_a_size_is_used_and_none_more() -> None:
    counted = {Decimal(".05"): 2, Decimal(".01"): 3}
    assert choose_pack(Decimal(".13"), counted).pieces == tuple(map(Decimal, (".05", ".05", ".01", ".01", ".01")))
    with pytest.raises(OutsideValidity, match=r"the nearest: 0\.13\."):
        choose_pack(Decimal(".14"), counted)


def test_as_many_steps_as_are_searched() -> None:
    """The sum may be one largest shim over: 5 + 5 of .0001 are 100 000 steps, 5.0001 + 5 one more."""
    sizes = [Decimal("5"), Decimal(".0001")]
    assert choose_pack(Decimal("5"), sizes).pieces == (Decimal("5"),)
    with pytest.raises(OutsideValidity, match="too fine a common step"):
        choose_pack(Decimal("5.0001"), sizes)


@given(
    st.lists(st.integers(1, 12), min_size=1, max_size=4, unique=True),
    st.integers(1, 40),
)
def test_agrees_with_counting_out_every_pack(sizes: list[int], target: int) -> None:
    fewest = next(
        (
            number
            for number in range(1, 8)
            if any(sum(pack) == target for pack in combinations_with_replacement(sizes, number))
        ),
        None,
    )
    drawer = [Decimal(size) / 1000 for size in sizes]
    if fewest is not None:
        pack = choose_pack(Decimal(target) / 1000, drawer)
        assert len(pack.pieces) == fewest
        assert sum(pack.pieces) == pack.total == Fraction(target, 1000)
        assert set(pack.pieces) <= set(map(Fraction, drawer))
        assert list(pack.pieces) == sorted(pack.pieces, reverse=True)


@given(st.dictionaries(st.integers(1, 12), st.integers(0, 3), min_size=1, max_size=5), st.integers(1, 40))
def test_counts_are_never_exceeded(counts: dict[int, int], target: int) -> None:
    drawer = {Decimal(size) / 1000: count for size, count in counts.items()}
    try:
        pack = choose_pack(Decimal(target) / 1000, drawer)
    except OutsideValidity:
        return
    for size, count in counts.items():
        assert pack.pieces.count(Fraction(size, 1000)) <= count


@pytest.mark.parametrize(
    ("target", "drawer", "tolerance", "words"),
    [
        ("0", {Decimal(".003"): 1}, "0", "thickness wanted"),
        (".01", {Decimal(".003"): 1}, "-.001", "tolerance"),
        (".01", {}, "0", "no shim in the drawer"),
        (".01", {Decimal(".003"): 0}, "0", "no shim in the drawer"),
        (".01", {Decimal(0): 1}, "0", "shim thickness"),
        (".01", {Decimal(".003"): -1}, "0", "number of shims"),
        ("9", {Decimal(".0001"): None, Decimal("1.0003"): None}, "0", "too fine a common step"),
    ],
)
def test_outside_validity(target: str, drawer: dict[Decimal, int | None], tolerance: str, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        choose_pack(Decimal(target), drawer, Decimal(tolerance))
