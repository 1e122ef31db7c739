"""A suspect compared within strata, against published tables, a reference library and what must hold for any counts."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.statistics.stratified import common_risk, within
from measurements.statistics.suspects import Counts, chance, least_chance
from tests.statistics.test_suspects import table

#: Penicillin in rabbits by dose (Mantel 1963; Agresti, Categorical Data Analysis, 1990, pages 231-237; the counts from
#: memory): cured and not with no delay, cured and not after a delay of one and a half hours.
RABBITS = [table(0, 6, 0, 5), table(3, 3, 0, 6), table(6, 0, 2, 4), table(5, 1, 6, 0), table(2, 0, 5, 0)]
#: Admissions of one university by department (Bickel, Hammel and O'Connell 1975; open data): men in and out, women in
#: and out.
DEPARTMENTS = [
    table(512, 313, 89, 19), table(353, 207, 17, 8), table(120, 205, 202, 391), table(138, 279, 131, 244),
    table(53, 138, 94, 299), table(22, 351, 24, 317),
]  # fmt: skip


@st.composite
def small(draw: st.DrawFn) -> Counts:
    built = draw(st.integers(1, 7))
    exposed, failed = draw(st.integers(0, built)), draw(st.integers(0, built))
    return Counts(draw(st.integers(max(0, exposed + failed - built), min(exposed, failed))), exposed, failed, built)


def test_the_rabbits_of_the_handbook() -> None:
    """S = 16; exact two-sided p .03994 (from memory of the book's software, the distribution is symmetrical here, so
    one-sided half of it)."""
    found = within(RABBITS)
    assert found.p == pytest.approx(0.03994 / 2, abs=5e-6)
    assert found.telling == 3


def test_the_common_risk_of_the_departments() -> None:
    """Pooled relative risk .944905022595929: statsmodels 0.14, StratifiedTable.riskratio_pooled, run once."""
    risk = common_risk(DEPARTMENTS)
    assert risk is not None
    assert risk.ratio == pytest.approx(0.944905022595929, rel=1e-12)
    # Interval: calculated with the formula of Greenland and Robins, standard error .0442240 of the logarithm.
    assert (risk.low, risk.high) == (pytest.approx(0.866452, abs=1e-6), pytest.approx(1.030461, abs=1e-6))


def test_a_heat_that_one_welder_alone_used_is_no_suspect_beside_him() -> None:
    """Twelve of twenty of the welder's came back, two of eighty of the others; the heat is in fifteen of his, nine of
    which came back, and in no other. Alone it looks bad, within it does not."""
    assert chance(Counts(9, 15, 14, 100)) < 0.0001
    beside = within([Counts(9, 15, 12, 20), Counts(0, 0, 2, 80)])
    assert beside.p == pytest.approx(chance(Counts(9, 15, 12, 20)), rel=1e-12)
    assert beside.p > 0.6
    # The control: a heat whose returns do not follow the welder keeps standing out.
    assert within([Counts(6, 6, 7, 20), Counts(2, 2, 2, 80)]).p < 0.0001


def test_strata_that_say_nothing_leave_nothing_to_tell() -> None:
    found = within([Counts(2, 5, 2, 5), Counts(0, 0, 1, 9), Counts(0, 3, 0, 8)])
    assert (found.telling, found.p, found.least_p, found.risk) == (0, 1.0, 1.0, None)
    assert within([]).p == 1.0


@given(small())
def test_one_stratum_is_the_plain_test(some: Counts) -> None:
    found = within([some])
    assert found.p == pytest.approx(chance(some), rel=1e-12)
    assert found.least_p == pytest.approx(least_chance(some), rel=1e-12)


@given(st.lists(small(), min_size=1, max_size=3))
def test_it_is_the_share_of_all_ways_to_deal_the_returns(strata: list[Counts]) -> None:
    """By brute force: every choice of which axles came back, stratum by stratum."""
    dealt = [_dealt(one) for one in strata]
    totals = [sum(each) for each in itertools.product(*dealt)]
    both = sum(one.both for one in strata)
    share = sum(total >= both for total in totals) / len(totals)
    assert within(strata).p == pytest.approx(share, rel=1e-12)


def _dealt(one: Counts) -> list[int]:
    """How many exposed are among the returned, for each way in which they can be chosen."""
    axles = [place < one.exposed for place in range(one.built)]
    return [sum(chosen) for chosen in _choices(axles, one.failed)]


def _choices(axles: list[bool], count: int) -> Iterator[tuple[bool, ...]]:
    return itertools.combinations(axles, count)


@given(st.lists(small(), min_size=2, max_size=4))
def test_the_order_of_the_strata_does_not_matter(strata: list[Counts]) -> None:
    assert within(strata).p == pytest.approx(within(strata[::-1]).p, rel=1e-12)
