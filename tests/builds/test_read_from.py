"""Which readings a computed value says that it comes from: those that its arithmetic took, and no other.

Two welds of one operation: the travel speed of each is its own length over its own arc time (12 in in 60 s is
12 in/min, 10 in in 60 s is 10 in/min, by hand); the largest of both takes both.
"""

from __future__ import annotations

import pytest

from builds.models import Visit
from measurements.models import Reading, ReadingInput
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import card_with, one

pytestmark = pytest.mark.django_db

TWO = 'recorded_only = true\npositions = ["left 1", "left 2"]'
CARD = card_with(
    18,
    one("18.a", "measured", f'unit = "in"\n{TWO}'),
    one("18.b", "measured", f'unit = "s"\n{TWO}'),
    one("18.3", "computed", f'unit = "in/min"\ndecimals = 1\n{TWO}\n'
        'computation = { name = "travel_speed", inputs = { length = "18.a", arc_time = "18.b" } }'),
    one("18.4", "computed", 'unit = "in/min"\ndecimals = 1\nrecorded_only = true\npositions = ["left"]\n'
        'computation = { name = "largest_of", inputs = { readings = "18.3" } }'),
)  # fmt: skip


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.fixture(scope="module")
def visit(bench: Bench) -> Visit:
    """Both welds are read: the lengths first, then the times."""
    found = bench.begin(bench.axle(), 18)
    for position, length in (("left 1", "12"), ("left 2", "10")):
        bench.enter(found, "18.a", length, position=position)
    for position in ("left 1", "left 2"):
        bench.enter(found, "18.b", "60", position=position)
    return found


def comes_from(code: str, position: str = "") -> set[tuple[str, str]]:
    last = Reading.objects.filter(characteristic__code=code, position=position).latest("pk")
    rows = ReadingInput.objects.filter(computed=last)
    return set(rows.values_list("source__characteristic__code", "source__position"))


@pytest.mark.parametrize("position", ["left 1", "left 2"])
def test_a_weld_comes_from_its_own_readings_only(visit: Visit, position: str) -> None:
    assert comes_from("18.3", position) == {("18.a", position), ("18.b", position)}


def test_control_the_largest_comes_from_both(visit: Visit) -> None:
    assert comes_from("18.4", "left") == {("18.3", "left 1"), ("18.3", "left 2")}
