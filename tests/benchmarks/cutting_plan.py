"""The cutting plan: 60 pieces of four lengths and two heats out of 20 bars, beside longest-first on the same rack.

Run: `python3 -m pytest tests/benchmarks/cutting_plan.py -m benchmark -s`. Aim: under one second a plan.
"""

from __future__ import annotations

import random
from decimal import Decimal

import pytest

from builds.reports.planning.nesting import Bar, Method, Saw, Wanted, nest
from tests.benchmarks.rounds import COMMIT_MS, ROUNDS, SEED, Taken, commit_ms, told

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark]
LONGEST_S = 1.0
SAW = Saw(Decimal("0.0625"), Decimal("0.5"))
#: Left and right tube of the two axles of the demo, in inches (invented).
LENGTHS = (Decimal("24.86"), Decimal("29.24"), Decimal("20.11"), Decimal("22.5"))


def rack(chance: random.Random) -> list[Bar]:
    """Sixteen bars of 20 ft and four remnants, of two heats."""
    remnants = [Decimal(chance.randrange(2200, 12000)) / 100 for _ in range(4)]
    return [
        Bar(f"B{number}", length, chance.choice("ab"))
        for number, length in enumerate([*[Decimal(240)] * 16, *remnants])
    ]


def test_sixty_pieces_from_twenty_bars() -> None:
    chance, taken = random.Random(SEED), Taken()
    methods = []
    for _ in range(ROUNDS):
        bars = rack(chance)
        wanted = [Wanted(str(number), chance.choice(LENGTHS), chance.choice("ab")) for number in range(60)]
        found = {}

        def plan(bars: list[Bar] = bars, wanted: list[Wanted] = wanted, found: dict[str, object] = found) -> None:
            found["best"] = nest(bars, wanted, SAW)

        def first(bars: list[Bar] = bars, wanted: list[Wanted] = wanted, found: dict[str, object] = found) -> None:
            found["first"] = nest(bars, wanted, SAW, most_patterns=0)

        taken.round({"best": plan, "first": first})
        best, fit = found["best"], found["first"]
        assert len(best.short) <= len(fit.short)
        assert best.used <= fit.used or len(best.short) < len(fit.short)
        methods.append(best.method)
    slowest, calm = max(taken.wall["best"]), commit_ms() <= COMMIT_MS
    verdict = ("met" if slowest <= LONGEST_S else "MISSED") if calm else "contended"
    ratio = told("times longest first", taken.ratios(taken.wall, "best", "first"))
    print(f"\ncutting plan ({ROUNDS} rounds, seed {SEED}): {ratio}; slowest {slowest:.2f} s, budget {LONGEST_S} s:"
          f" {verdict}; proved best {methods.count(Method.OPTIMAL)} of {len(methods)}")  # fmt: skip
    assert slowest < 10, "the solver's own limit is two seconds"
