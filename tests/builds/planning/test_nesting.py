"""The cutting-stock core: optima that others proved, a brute-force search, and what must hold of every plan."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builds.reports.planning.nesting import Bar, LengthTooFine, Method, Plan, Saw, Wanted, nest

D = Decimal


def bars(length: str, count: int, heat: str = "h") -> list[Bar]:
    return [Bar(f"{heat}{number}", D(length), heat) for number in range(count)]


def pieces(*sorts: tuple[str, int], heat: str = "") -> list[Wanted]:
    return [Wanted(f"{length}/{number}", D(length), heat) for length, count in sorts for number in range(count)]


#: The paper-roll instance found in public texts on the cutting-stock problem: rolls of 5600 mm.
ROLLS = pieces(
    ("1380", 22), ("1520", 25), ("1560", 12), ("1710", 14), ("1820", 18), ("1880", 18), ("1930", 20), ("2000", 10),
    ("2050", 12), ("2100", 14), ("2140", 16), ("2150", 18), ("2200", 20),
)  # fmt: skip


@pytest.mark.parametrize(
    ("wanted", "length", "have", "best"),
    [
        pytest.param(ROLLS, "5600", 100, 73, id="paper rolls of 5600 mm, 308 patterns: public texts, 73"),
        pytest.param(
            pieces(("45", 97), ("36", 610), ("31", 395), ("14", 211)), "100", 500, 453,
            id="Chvatal's textbook instance (from memory): LP bound 452.25, so 453",
        ),
        pytest.param(pieces(("40", 2), ("30", 4)), "100", 5, 2, id="calculated: 40+30+30 twice"),
        pytest.param(pieces(("1000", 6)), "3000", 5, 2, id="calculated: three of 1000 in 3000 without kerf"),
    ],
)  # fmt: skip
def test_known_optima(wanted: list[Wanted], length: str, have: int, best: int) -> None:
    plan = nest(bars(length, have), wanted, Saw())
    assert (len(plan.cuts), plan.used, plan.bound, plan.short) == (best, best * D(length), best * D(length), ())
    assert plan.method is Method.OPTIMAL


def test_a_kerf_of_three_makes_a_third_bar() -> None:
    """Three of 1000 need 3006 with the last cut on the end: 3000 holds two (calculated)."""
    assert len(nest(bars("3000", 5), pieces(("1000", 6)), Saw(kerf=D(3))).cuts) == 3


@pytest.mark.parametrize(("length", "cut"), [("203", 2), ("202.9999", 1)])
def test_the_last_cut_may_fall_on_the_end(length: str, cut: int) -> None:
    """Two of 100 with a kerf of 3: 100 + 3 + 100 = 203, for the second kerf runs into the air."""
    plan = nest(bars(length, 1), pieces(("100", 2)), Saw(kerf=D(3)))
    assert len(plan.cuts[0].pieces) == cut
    assert len(plan.short) == 2 - cut


def test_the_trimmed_end_is_no_piece() -> None:
    assert len(nest(bars("200", 1), pieces(("100", 2)), Saw()).short) == 0
    assert len(nest(bars("200", 1), pieces(("100", 2)), Saw(trim=D("0.5"))).short) == 1


def test_longest_first_is_worse_where_it_is_named() -> None:
    """40, 40 | 30, 30, 30 | 30 by first fit; 40+30+30 twice at best."""
    wanted = pieces(("40", 2), ("30", 4))
    plan = nest(bars("100", 5), wanted, Saw(), most_patterns=0)
    assert (plan.method, len(plan.cuts), plan.bound) == (Method.FIRST_FIT, 3, D(200))
    assert sum(len(cuts.pieces) for cuts in plan.cuts) == 6


def test_a_remnant_goes_before_a_whole_bar() -> None:
    plan = nest([*bars("240", 3), Bar("R1", D(31), "h")], pieces(("29.24", 1)), Saw(D("0.0625"), D("0.5")))
    assert [(cuts.bar.mark, cuts.left) for cuts in plan.cuts] == [("R1", D("1.1975"))]


def test_a_piece_bound_to_a_heat_comes_from_no_other() -> None:
    rack = [*bars("100", 1, "a"), *bars("100", 1, "b")]
    wanted = [Wanted("mine", D(90), "b"), Wanted("any", D(90))]
    plan = nest(rack, wanted, Saw())
    assert {(cuts.bar.heat, piece.name) for cuts in plan.cuts for piece in cuts.pieces} == {("b", "mine"), ("a", "any")}
    assert [piece.name for piece in nest(bars("100", 2, "a"), wanted, Saw()).short] == ["mine"]


def test_pieces_of_two_heats_are_two_plans() -> None:
    """The worse of two says how sure the whole is; a search over both finds nothing better (by hand: one bar each)."""
    rack = [*bars("100", 2, "a"), *bars("80", 2, "b")]
    wanted = [*pieces(("40", 2), heat="a"), *pieces(("40", 2), heat="b")]
    plan = nest(rack, wanted, Saw())
    assert (plan.used, plan.bound, plan.method) == (D(180), D(180), Method.OPTIMAL)
    assert nest(rack, wanted, Saw(), most_patterns=0).method is Method.FIRST_FIT


def test_nothing_asked_and_nothing_there() -> None:
    assert nest([], [], Saw()) == Plan((), (), D(0), D(0), Method.OPTIMAL)
    plan = nest([], pieces(("10", 2)), Saw())
    assert (len(plan.short), plan.cuts) == (2, ())
    assert nest(bars("5", 1), pieces(("10", 1)), Saw()).short


@pytest.mark.parametrize("length", ["0", "-1", "0.00001"])
def test_a_senseless_length_is_refused(length: str) -> None:
    with pytest.raises(LengthTooFine, match=length.replace("-", "[-]")):
        nest(bars("100", 1), [Wanted("x", D(length))], Saw())


LENGTHS = st.integers(1, 60).map(D)
RACK = st.lists(st.tuples(st.integers(20, 100), st.sampled_from("ab")), max_size=6)
ASKED = st.lists(st.tuples(LENGTHS, st.sampled_from(["", "a", "b"])), max_size=7)
SAWS = st.builds(Saw, st.integers(0, 3).map(D), st.integers(0, 4).map(D))


def made(rack: list[tuple[int, str]], asked: list[tuple[Decimal, str]]) -> tuple[list[Bar], list[Wanted]]:
    return (
        [Bar(f"bar {number}", D(length), heat) for number, (length, heat) in enumerate(rack)],
        [Wanted(f"piece {number}", length, heat) for number, (length, heat) in enumerate(asked)],
    )


@settings(max_examples=150, deadline=None)
@given(rack=RACK, asked=ASKED, saw=SAWS, most=st.sampled_from([0, 20_000]))
def test_what_holds_of_every_plan(
    rack: list[tuple[int, str]], asked: list[tuple[Decimal, str]], saw: Saw, most: int
) -> None:
    have, wanted = made(rack, asked)
    plan = nest(have, wanted, saw, most_patterns=most)
    cut = [piece for cuts in plan.cuts for piece in cuts.pieces]
    assert Counter(cut) + Counter(plan.short) == Counter(wanted), "each piece is cut once or named short"
    assert len({cuts.bar.mark for cuts in plan.cuts}) == len(plan.cuts), "a bar is used once"
    for cuts in plan.cuts:
        assert all(piece.heat in ("", cuts.bar.heat) for piece in cuts.pieces)
        room = cuts.bar.length - saw.trim + saw.kerf
        taken = sum(piece.length + saw.kerf for piece in cuts.pieces)
        assert taken <= room
        assert cuts.left == max(0, room - saw.kerf - taken)
    assert plan.used == sum(cuts.bar.length for cuts in plan.cuts) >= plan.bound


def best_by_search(have: list[Bar], wanted: list[Wanted], saw: Saw) -> tuple[int, Decimal]:
    """Every way to put each piece on a bar or on none: fewest left, then least steel taken into use."""
    found = []
    for where in product(range(-1, len(have)), repeat=len(wanted)):
        put = [[piece for piece, at in zip(wanted, where, strict=True) if at == number] for number in range(len(have))]
        if all(
            sum(piece.length + saw.kerf for piece in mine) <= bar.length - saw.trim + saw.kerf
            and all(piece.heat in ("", bar.heat) for piece in mine)
            for bar, mine in zip(have, put, strict=True)
            if mine
        ):
            used = sum((bar.length for bar, mine in zip(have, put, strict=True) if mine), D(0))
            found.append((where.count(-1), used))
    return min(found)


@settings(max_examples=60, deadline=None)
@given(
    rack=st.lists(st.tuples(st.integers(20, 100), st.sampled_from("ab")), max_size=3),
    asked=st.lists(st.tuples(LENGTHS, st.sampled_from(["", "a", "b"])), max_size=5),
    saw=SAWS,
)
def test_no_search_finds_a_better_plan(rack: list[tuple[int, str]], asked: list[tuple[Decimal, str]], saw: Saw) -> None:
    have, wanted = made(rack, asked)
    plan = nest(have, wanted, saw)
    assert (len(plan.short), plan.used) == best_by_search(have, wanted, saw)
    assert plan.bound == plan.used
