"""The planted causes, and which axles each of them touches. Axles are counted backwards: number 0 is the newest.

All lie among the newest ten thousand (or fewer, where fewer were made at first), so that what is older only adds to the
tables. Causes of a range of days are used on other days too: a question without its days finds more.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain, islice

from tests.benchmarks.scale.shape import BEARINGS, MEASURED, PASSES

AXLES_A_DAY = 60
#: On the floor, in growing progress; then bought off; everything older is shipped.
ON_THE_FLOOR, IN_THE_HOUSE = 240, 300
MOST = 10_000
FEW, MANY = 40, 4000
#: Days before the newest, both included, of the ranges that are asked about.
FEW_DAYS, MANY_DAYS = (20, 59), (30, 109)
STEEL = "30/left"


@dataclass(frozen=True)
class Planted:
    """Which of the first `most` axles each cause touches. `base`: how many were made at first."""

    base: int

    def __post_init__(self) -> None:
        keep = object.__setattr__
        keep(self, "heat_few", self._some(STEEL, FEW, lambda i: i % 250 == 7, lambda i: i % 250 == 9))
        many = self._some(STEEL, MANY + FEW, lambda i: i % 5 in (1, 3), lambda i: i % 5 == 4)
        keep(self, "heat_many", frozenset(sorted(many - self.heat_few)[:MANY]))
        keep(self, "lot_few", self._some(BEARINGS, FEW, lambda i: i % 250 == 13, lambda i: i % 250 == 14))
        keep(self, "lot_many", self._some(BEARINGS, MANY, lambda i: i % 5 in (0, 2), lambda i: i % 5 == 4))
        keep(self, "unknown", self._free(112))
        keep(self, "formerly", self._free(117))

    heat_few: frozenset[int] = frozenset()
    heat_many: frozenset[int] = frozenset()
    lot_few: frozenset[int] = frozenset()
    lot_many: frozenset[int] = frozenset()
    #: A piece without a readable mark; a piece of the great heat that was taken out again.
    unknown: frozenset[int] = frozenset()
    formerly: frozenset[int] = frozenset()

    def gauge_few(self, axle: int) -> bool:
        return axle < self.base and axle % AXLES_A_DAY == 11

    def gauge_many(self, axle: int) -> bool:
        return axle < self.base and axle % AXLES_A_DAY < 50

    def person_few(self, axle: int) -> bool:
        return axle < self.base and axle % AXLES_A_DAY == 23

    def person_many(self, axle: int) -> bool:
        return axle < self.base and axle % AXLES_A_DAY < 51 and not self.person_few(axle)

    def in_days(self, days: tuple[int, int], at: str) -> frozenset[int]:
        """The axles that were worked on in this range of days and have that pass done."""
        first, last = AXLES_A_DAY * days[0], AXLES_A_DAY * (days[1] + 1)
        return frozenset(axle for axle in range(first, min(last, self.base)) if reached(axle, at))

    def answers(self) -> dict[str, frozenset[int]]:
        """Every question that is asked, with the axles that are in or were measured; the doubtful and the formerly
        fitted are `unknown` and `formerly`, for the heats."""
        few, many = self.in_days(FEW_DAYS, BEARINGS), self.in_days(MANY_DAYS, BEARINGS)
        few_read, many_read = self.in_days(FEW_DAYS, MEASURED), self.in_days(MANY_DAYS, MEASURED)
        person = frozenset(filter(self.person_many, many))
        gauge = frozenset(filter(self.gauge_many, many_read))
        return {
            "heat of 40": self.heat_few,
            "heat of 4,000": self.heat_many,
            "lot of 40": self.lot_few,
            "lot of 4,000": self.lot_many,
            "gauge of 40 in a range": frozenset(filter(self.gauge_few, few_read)),
            "gauge of 4,000 in a range": gauge,
            "person of 40 in a range": frozenset(filter(self.person_few, few)),
            "person of 4,000 in a range": person,
            "lot and person at the same work": self.lot_many & person,
            "lot and gauge, both": self.lot_many & gauge,
        }

    def _some(self, at: str, want: int, first: object, then: object) -> frozenset[int]:
        """So many that have that pass done, of the first rule and then of the other."""
        done = [axle for axle in range(self.base) if reached(axle, at)]
        rules: Iterable[int] = chain(filter(first, done), filter(then, done))  # type: ignore[arg-type]
        return frozenset(islice(rules, want))

    def _free(self, rest: int) -> frozenset[int]:
        return frozenset(
            axle for axle in range(IN_THE_HOUSE, self.base)
            if axle % 1000 == rest and axle not in self.heat_few and axle not in self.heat_many
        )  # fmt: skip


def passes_done(axle: int) -> int:
    """All, but for what is on the floor."""
    return len(PASSES) if axle >= ON_THE_FLOOR else axle * len(PASSES) // ON_THE_FLOOR


def reached(axle: int, key: str) -> bool:
    return passes_done(axle) > PASSES.index(key)


def planted(base: int) -> Planted:
    return Planted(min(base, MOST))
