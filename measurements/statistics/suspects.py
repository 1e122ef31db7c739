"""Which shared thing do the returned axles have more often than chance would give them?

Of N axles out there K came back. A value (a heat, a lot, a gauge, a person ...) was in or at n of them, k of which
came back. For each value:

- p: the chance of k or more of the returned among the exposed if the value had nothing to do with it, one-sided,
  exact (Fisher): sum over j >= k of C(n, j) C(N - n, K - j) / C(N, K);
- relative risk (k / n) / ((K - k) / (N - n)) with its interval from the logarithm's standard error
  sqrt(1/k - 1/n + 1/(K - k) - 1/(N - n)); where a cell of the table is empty one half is added to each;
- the p that even the worst case (all that could have come back, did) would reach: where that is not small, few returns
  can say nothing about the value;
- p adjusted over every value that was looked at, also those that no returned axle has (Benjamini and Hochberg 1995).

It ranks suspects. It decides nothing, and it knows nothing of values that always come together.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

#: The two-sided 95 % point of the normal distribution.
Z_95 = 1.959963984540054
#: So many tables are remembered with their p.
TABLES = 20_000


class ImpossibleCounts(ValueError):
    """The counts cannot come from one set of axles; the message says which."""


@dataclass(frozen=True, slots=True)
class Counts:
    """Of `built` axles `failed` came back; `exposed` had the value, `both` of which came back."""

    both: int
    exposed: int
    failed: int
    built: int

    def __post_init__(self) -> None:
        """Raises ImpossibleCounts."""
        if min(self.both, self.exposed, self.failed) < 0:
            raise ImpossibleCounts("A count below zero.")
        if max(self.exposed, self.failed) > self.built:
            raise ImpossibleCounts(f"More axles than the {self.built} there are.")
        if not self.exposed + self.failed - self.built <= self.both <= min(self.exposed, self.failed):
            raise ImpossibleCounts(f"{self.both} of {self.exposed} exposed and {self.failed} returned cannot be.")


@lru_cache(maxsize=TABLES)
def chance(counts: Counts) -> float:
    """The one-sided exact p of at least so many of the returned among the exposed. Exact in whole numbers; rounded
    once at the end. Many values have the same table, and each is reckoned once."""
    others = counts.built - counts.exposed
    here = math.comb(counts.exposed, counts.both) * math.comb(others, counts.failed - counts.both)
    ways = 0
    for both in range(counts.both, min(counts.exposed, counts.failed) + 1):
        ways += here
        # From one count to the next the binomials differ by these factors; the division leaves no rest.
        more = (counts.exposed - both) * (counts.failed - both)
        here = here * more // ((both + 1) * (others - counts.failed + both + 1)) if more else 0
    return _ratio(ways, _dealt(counts.built, counts.failed))


@lru_cache(maxsize=8)
def _dealt(built: int, failed: int) -> int:
    """In how many ways so many of the axles can be the returned ones: the same for every value."""
    return math.comb(built, failed)


def least_chance(counts: Counts) -> float:
    """The smallest p that so many exposed and so many returned could give at all."""
    most = min(counts.exposed, counts.failed)
    return chance(Counts(most, counts.exposed, counts.failed, counts.built))


def _ratio(part: int, whole: int) -> float:
    """Two whole numbers of any length as one float."""
    return part / whole if whole else 1.0


@dataclass(frozen=True, slots=True)
class Risk:
    """How many times as often the exposed came back, with its 95 % interval."""

    ratio: float
    low: float
    high: float


def relative_risk(counts: Counts) -> Risk | None:
    """None where every axle, or none, was exposed: there is nobody to compare with."""
    exposed, others = counts.exposed, counts.built - counts.exposed
    if not exposed or not others:
        return None
    cells = [counts.both, exposed - counts.both, counts.failed - counts.both, others - counts.failed + counts.both]
    half = 0.5 if 0 in cells else 0.0
    back, stayed, back_others, stayed_others = (cell + half for cell in cells)
    ratio = (back / (back + stayed)) / (back_others / (back_others + stayed_others))
    spread = math.sqrt(1 / back - 1 / (back + stayed) + 1 / back_others - 1 / (back_others + stayed_others))
    return Risk(ratio, ratio * math.exp(-Z_95 * spread), ratio * math.exp(Z_95 * spread))


def adjusted(chances: Sequence[float], looked_at: int | None = None) -> list[float]:
    """Each p adjusted for having looked at so many values, in the order given (Benjamini and Hochberg 1995, step-up).

    `looked_at`: how many there were in all, when those with p = 1 are left out of `chances`; at least as many.
    """
    every = len(chances) if looked_at is None else looked_at
    if every < len(chances):
        raise ImpossibleCounts(f"{len(chances)} values are more than the {every} looked at.")
    order = sorted(range(len(chances)), key=chances.__getitem__)
    found, least = [1.0] * len(chances), 1.0
    for rank in range(len(order), 0, -1):
        least = min(least, chances[order[rank - 1]] * every / rank)
        found[order[rank - 1]] = least
    return found


@dataclass(frozen=True, slots=True)
class Suspect:
    """One value with what can be said of it. `place` is where it stood in what was given."""

    place: int
    counts: Counts
    p: float
    adjusted: float
    least_p: float
    risk: Risk | None


def rank(every: Sequence[Counts], looked_at: int | None = None) -> list[Suspect]:
    """The values, the most suspicious first: by adjusted p, then p, then the larger relative risk, then as given."""
    chances = [chance(one) for one in every]
    found = [
        Suspect(place, one, p, q, least_chance(one), relative_risk(one))
        for place, (one, p, q) in enumerate(zip(every, chances, adjusted(chances, looked_at), strict=True))
    ]
    return sorted(found, key=lambda one: (one.adjusted, one.p, -(one.risk.ratio if one.risk else 0), one.place))
