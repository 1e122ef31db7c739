"""The ranking of suspects against published tables, scipy, and what must hold for any counts.

Sources beside each figure. scipy is the reference library: hypergeom, false_discovery_control.
"""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from measurements.statistics.suspects import (
    Counts,
    ImpossibleCounts,
    adjusted,
    chance,
    least_chance,
    rank,
    relative_risk,
)

#: Benjamini and Hochberg 1995, section 4.2: fifteen p values; at .05 four are rejected.
FIFTEEN = [
    .0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1.0,
]  # fmt: skip


def table(back: int, stayed: int, back_others: int, stayed_others: int) -> Counts:
    """A two by two table: exposed that came back, that stayed; the others likewise."""
    every = back + stayed + back_others + stayed_others
    return Counts(back, back + stayed, back + back_others, every)


@st.composite
def counts(draw: st.DrawFn) -> Counts:
    built = draw(st.integers(1, 400))
    exposed, failed = draw(st.integers(0, built)), draw(st.integers(0, built))
    both = draw(st.integers(max(0, exposed + failed - built), min(exposed, failed)))
    return Counts(both, exposed, failed, built)


def test_the_lady_tasting_tea() -> None:
    """Fisher 1935 (from memory): 3 of 4 cups right, one-sided p 17/70."""
    assert chance(table(3, 1, 1, 3)) == pytest.approx(17 / 70, rel=1e-15)


def test_the_chance_of_a_small_table() -> None:
    """The table [[8, 2], [1, 5]] of scipy.stats.fisher_exact's documentation; its one-sided p is calculated:
    C(10, 8) C(6, 1) + C(10, 9) C(6, 0) over C(16, 9) is (270 + 10)/11440."""
    assert chance(table(8, 2, 1, 5)) == pytest.approx(280 / 11440, rel=1e-15)


@given(counts())
def test_the_chance_is_that_of_the_reference_library(some: Counts) -> None:
    other = stats.hypergeom.sf(some.both - 1, some.built, some.failed, some.exposed)
    assert chance(some) == pytest.approx(float(other), rel=1e-7, abs=1e-12)


def test_relative_risk_of_published_tables() -> None:
    """Physicians' trial of aspirin, 189 of 11,034 against 104 of 11,037 (textbook data, from memory; the interval
    calculated): 1.8178 (1.4330 to 2.3059). And scipy.stats.contingency.relative_risk's kind of table [[7, 15],
    [58, 472]]: 2.907524 (1.505551 to 5.615017), calculated."""
    found = relative_risk(Counts(189, 11034, 293, 22071))
    assert found is not None
    assert (found.ratio, found.low, found.high) == pytest.approx((1.8178, 1.4330, 2.3059), abs=1e-4)
    other = relative_risk(table(7, 15, 58, 472))
    assert other is not None
    assert (other.ratio, other.low, other.high) == pytest.approx((2.907524, 1.505551, 5.615017), abs=1e-6)


@given(counts())
def test_the_relative_risk_is_that_of_the_reference_library(some: Counts) -> None:
    others = some.built - some.exposed
    assume(0 < some.both < some.exposed and 0 < some.failed - some.both < others)
    other = stats.contingency.relative_risk(some.both, some.exposed, some.failed - some.both, others)
    interval = other.confidence_interval(0.95)
    found = relative_risk(some)
    assert found is not None
    assert found.ratio == pytest.approx(other.relative_risk, rel=1e-12)
    assert (found.low, found.high) == pytest.approx((interval.low, interval.high), rel=1e-9)


def test_an_empty_cell_gets_one_half_everywhere() -> None:
    """(3.5/4) / (0.5/8) = 14, and the logarithm's spread sqrt(1/3.5 - 1/4 + 1/0.5 - 1/8) = 1.382286 (calculated)."""
    found = relative_risk(table(3, 0, 0, 7))
    assert found is not None
    assert (found.ratio, found.low, found.high) == pytest.approx((14, 0.932232, 210.248), rel=1e-5)


def test_nobody_to_compare_with_gives_no_risk() -> None:
    assert relative_risk(Counts(2, 5, 2, 5)) is None
    assert relative_risk(Counts(0, 0, 2, 5)) is None
    assert relative_risk(Counts(1, 4, 2, 5)) is not None  # control


def test_the_fifteen_of_the_original_paper() -> None:
    found = adjusted(FIFTEEN)
    assert found[:4] == pytest.approx([.0015, .0030, .0095, .035625], abs=1e-12)  # fmt: skip
    assert sum(one <= 0.05 for one in found) == 4
    assert sum(one <= 0.05 for one in FIFTEEN) == 9  # control: unadjusted nine would be called


@given(st.lists(st.floats(0, 1), min_size=1, max_size=60))
def test_adjusting_agrees_with_the_reference_library(chances: list[float]) -> None:
    assert adjusted(chances) == pytest.approx(list(stats.false_discovery_control(chances)), rel=1e-12, abs=1e-300)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=40), st.integers(0, 300))
def test_those_left_out_count_as_looked_at(chances: list[float], more: int) -> None:
    assert adjusted(chances, len(chances) + more) == pytest.approx(adjusted(chances + [1.0] * more)[: len(chances)])


def test_the_worked_search_for_a_heat() -> None:
    """Seven of 200 came back: 4 of 12 of heat H1, 1 of 40, 0 of 55, 2 of 60 and none of 33 in others; by welder 5 of
    60 and 2 of 140; by gauge 6 of 90 and 1 of 110. Adjusted: H1 .001939, W1 and G1 .088689, the rest 1.0 (calculated
    with scipy's hypergeom and false_discovery_control)."""
    named = {"H1": (4, 12), "H2": (1, 40), "H3": (0, 55), "H4": (2, 60), "W1": (5, 60), "W2": (2, 140), "G1": (6, 90),
             "G2": (1, 110)}  # fmt: skip
    ranked = rank([Counts(both, exposed, 7, 200) for both, exposed in named.values()])
    found = {list(named)[one.place]: one.adjusted for one in ranked}
    assert list(found)[:3] == ["H1", "W1", "G1"]
    assert list(found.values()) == pytest.approx([0.001939, 0.088689, 0.088689, 1, 1, 1, 1, 1], abs=1e-6)


def test_few_returns_cannot_speak_of_a_large_group() -> None:
    """2 of 200 came back, both among 5: p .0005; both among 50: .0616 (calculated); that is the least each could
    reach."""
    small, large = Counts(2, 5, 2, 200), Counts(2, 50, 2, 200)
    assert (chance(small), chance(large)) == pytest.approx((0.0005, 0.0616), abs=5e-5)
    assert (least_chance(Counts(0, 5, 2, 200)), least_chance(Counts(1, 50, 2, 200))) == (chance(small), chance(large))


@given(counts())
def test_more_of_the_returned_among_the_exposed_is_never_more_likely(some: Counts) -> None:
    assume(some.both < min(some.exposed, some.failed))
    more = Counts(some.both + 1, some.exposed, some.failed, some.built)
    assert chance(more) <= chance(some)
    assert 0 < least_chance(some) <= chance(more)


@pytest.mark.parametrize(
    ("given_counts", "said"),
    [((-1, 2, 2, 5), "below zero"), ((1, 6, 2, 5), "than the 5"), ((3, 4, 2, 9), "cannot be"),
     ((0, 4, 4, 5), "cannot be")],
)  # fmt: skip
def test_counts_that_cannot_be_are_refused(given_counts: tuple[int, int, int, int], said: str) -> None:
    with pytest.raises(ImpossibleCounts, match=said):
        Counts(*given_counts)


def test_more_values_than_were_looked_at_are_refused() -> None:
    with pytest.raises(ImpossibleCounts, match="more than the 1"):
        adjusted([0.1, 0.2], 1)
