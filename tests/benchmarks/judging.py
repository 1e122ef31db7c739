"""One operation's readings, from the typed text to every verdict, beside the bare comparison of the same figures.

8 readings: the backlash round of the Sorrel 960 with its variation. 16 readings: volts, amps, length and arc time of
four of its plug welds, with travel speed and arc energy of each. Both from the card; no database is asked.

Run: `python3 -m pytest tests/benchmarks/judging.py -m benchmark -s`. Aim: under one millisecond an operation.
"""

from __future__ import annotations

import random
import statistics
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

import pytest

from builds.actions.judging import judged_exactly
from builds.definitions.characteristic import Characteristic
from builds.definitions.words import Kind
from measurements.engineering.computations import compute
from measurements.engineering.limits import Limits, Verdict, far_off, judge, parse_figure, to_drawing_unit
from measurements.models import VerdictWord
from tests.benchmarks.rounds import ROUNDS, SEED, Taken, commit_ms, told
from tests.builds.definitions.cards import SORREL

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark]
LONGEST_MS = 1.0
TIMES = 200
Texts = dict[str, dict[str, str]]


@dataclass(frozen=True)
class Operation:
    """What is typed, by code and position, and what is computed of it."""

    typed: tuple[Characteristic, ...]
    computed: tuple[Characteristic, ...]
    positions: tuple[str, ...]

    @property
    def count(self) -> int:
        return len(self.typed) * len(self.positions)

    def texts(self, chance: random.Random) -> Texts:
        """Figures in their limits, other ones in every round."""
        return {one.code: {place: _inside(one, chance) for place in self.positions} for one in self.typed}


BACKLASH = Operation(
    (SORREL.characteristic("300.1"),), (SORREL.characteristic("300.2"),), tuple(str(point) for point in range(1, 9))
)
PLUGS = Operation(
    tuple(SORREL.characteristic(code) for code in ("130.5", "130.6", "130.a", "130.b")),
    tuple(SORREL.characteristic(code) for code in ("130.7", "130.8")),
    ("left 1", "left 2", "right 1", "right 2"),
)
#: A plug weld 5.5 in long takes 30 s at 11 in/min: both are recorded without limits.
RECORDED = {"130.a": (Decimal("5.4"), Decimal("5.6")), "130.b": (Decimal(29), Decimal(31))}


def _inside(asked: Characteristic, chance: random.Random) -> str:
    low, high = RECORDED.get(asked.code) or (asked.low or Decimal(0), asked.high or Decimal(0))
    step = Decimal(1).scaleb(-asked.decimals)
    middle = low + (high - low) * Decimal(chance.randint(45, 55)) / 100
    return format(round(middle / step) * step, "f")


def verdicts(operation: Operation, texts: Texts) -> list[object]:
    """As at the station: parse, bring into the drawing's unit, ask about slips, judge; then compute and judge that."""
    found: list[object] = []
    values: dict[str, Mapping[str, Decimal | Fraction | None]] = {}
    for asked in operation.typed:
        step, limits = Decimal(1).scaleb(-asked.decimals), Limits(asked.low, asked.high, asked.never_above)
        own: dict[str, Decimal | Fraction | None] = {}
        for position, text in texts[asked.code].items():
            value = to_drawing_unit(parse_figure(text, step=step), asked.unit, asked.unit, step)
            assert asked.recorded_only or far_off(value, limits, step) is None
            found.append(Verdict.IN if asked.recorded_only else judge(value, limits))
            own[position] = value
        values[asked.code] = own
    for asked in operation.computed:
        assert asked.computation is not None
        codes = dict(asked.computation.inputs)
        results = compute(asked.computation.name, {role: values[code] for role, code in codes.items()}, None, codes)
        values[asked.code] = {position: result.value for position, result in results.items()}
        found += [judged_exactly(asked, result.value) for result in results.values()]
    return found


def compared(operation: Operation, texts: Texts) -> list[bool]:
    """The least that could be done: each figure between its limits, and nothing computed."""
    return [
        (asked.low is None or asked.low <= Decimal(text)) and (asked.high is None or Decimal(text) <= asked.high)
        for asked in operation.typed
        for text in texts[asked.code].values()
    ]


@pytest.mark.parametrize(
    ("operation", "readings", "computed"), [(BACKLASH, 8, 1), (PLUGS, 16, 8)], ids=["backlash", "plugs"]
)
def test_judging_one_operation(operation: Operation, readings: int, computed: int) -> None:
    chance, taken = random.Random(SEED), Taken()
    assert operation.count == readings
    assert all(asked.kind is Kind.COMPUTED for asked in operation.computed)
    for number in range(ROUNDS + 1):
        texts = operation.texts(chance)

        def judged(texts: Texts = texts) -> None:
            for _ in range(TIMES):
                verdicts(operation, texts)

        def bare(texts: Texts = texts) -> None:
            for _ in range(TIMES):
                compared(operation, texts)

        said = verdicts(operation, texts)
        assert len(said) == readings + computed
        assert set(said) <= {Verdict.IN, VerdictWord.IN}, said
        assert all(compared(operation, texts))
        if number:  # the first round warms up
            taken.round({"judged": judged, "bare": bare})
        else:
            judged(), bare()
    each = [seconds / TIMES * 1000 for seconds in taken.wall["judged"]]
    cpu = statistics.median(taken.cpu["judged"]) / TIMES * 1000
    middle, calm = statistics.median(each), taken.is_calm("bare", commit_ms())
    verdict = ("met" if middle <= LONGEST_MS else "MISSED") if calm else "contended"
    assert cpu < 10 * LONGEST_MS, "ten times the aim in processor time is no noise"
    print(f"\njudging {readings} readings, {computed} computed ({ROUNDS} rounds of {TIMES}, seed {SEED}):"
          f" {told('times the bare comparison', taken.ratios(taken.wall, 'judged', 'bare'))},"
          f" {told('of CPU', taken.ratios(taken.cpu, 'judged', 'bare'))}; {told('ms each', each)},"
          f" {cpu:.3f} ms of CPU; budget {LONGEST_MS:g} ms: {verdict}")  # fmt: skip
