"""Does a suspect still stand out when it is compared only among axles that are alike in another thing?

A heat that one welder alone worked on looks as bad as the welder. So the axles are parted into strata (those that he
worked on, those that he did not), and within each the returned are counted against the exposed. For strata i with
N_i axles, K_i returned, n_i exposed and k_i both:

- p: the chance of so many or more exposed among the returned, all strata together, given every n_i and K_i: the exact
  conditional test of common association, one-sided. Its distribution is that of a sum of hypergeometric counts
  (Birch 1964), added up here in whole numbers;
- the common relative risk of Mantel and Haenszel,
  R/S with R = sum k_i (N_i - n_i) / N_i and S = sum (K_i - k_i) n_i / N_i, and its interval from the variance of its
  logarithm after Greenland and Robins (1985): sum (K_i n_i (N_i - n_i) - k_i (K_i - k_i) N_i) / N_i^2 over R S.

A stratum where all or none are exposed, or where all or none came back, says nothing and changes nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from measurements.statistics.suspects import Z_95, Counts, Risk


@dataclass(frozen=True, slots=True)
class Within:
    """What the strata say together. `telling`: how many of them can say anything; `p` is 1 where none can."""

    telling: int
    p: float
    least_p: float
    risk: Risk | None


def within(strata: Sequence[Counts]) -> Within:
    """The suspect compared within each stratum."""
    telling = [one for one in strata if 0 < one.exposed < one.built and 0 < one.failed < one.built]
    ways = _ways(telling)
    both = sum(one.both for one in telling)
    every = sum(ways.values())
    at_least = sum(count for total, count in ways.items() if total >= both)
    return Within(len(telling), at_least / every, ways[max(ways)] / every, common_risk(strata))


def _ways(strata: Sequence[Counts]) -> dict[int, int]:
    """In how many ways each total of exposed returns comes about, stratum after stratum."""
    ways = {0: 1}
    for one in strata:
        others = one.built - one.exposed
        more: dict[int, int] = {}
        for both in range(max(0, one.failed - others), min(one.exposed, one.failed) + 1):
            here = math.comb(one.exposed, both) * math.comb(others, one.failed - both)
            for total, count in ways.items():
                more[total + both] = more.get(total + both, 0) + count * here
        ways = more
    return ways


def common_risk(strata: Sequence[Counts]) -> Risk | None:
    """The common relative risk with its 95 % interval; None where one side of it is nil."""
    with_it = without = spread = 0.0
    for one in strata:
        if not one.built:
            continue
        others, failed_others = one.built - one.exposed, one.failed - one.both
        with_it += one.both * others / one.built
        without += failed_others * one.exposed / one.built
        spread += (one.failed * one.exposed * others - one.both * failed_others * one.built) / one.built**2
    if not with_it or not without:
        return None
    ratio, deviation = with_it / without, math.sqrt(spread / (with_it * without))
    return Risk(ratio, ratio * math.exp(-Z_95 * deviation), ratio * math.exp(Z_95 * deviation))
