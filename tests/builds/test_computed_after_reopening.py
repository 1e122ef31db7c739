"""A computed value takes what another operation read, also where one other code of that operation was asked again."""

from __future__ import annotations

import pytest

from builds.actions.reopening import reopen_for_cause
from builds.models import Axle, Visit
from measurements.models import Reading
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import card_with, one

pytestmark = pytest.mark.django_db
FIGURE = 'unit = "in"\ndecimals = 4\nrecorded_only = true\n'
APART = 'computation = { name = "difference", inputs = { first = "18.1", second = "12.1" } }'
FIRST = """
[[operation]]
number = 12
name = "First"
station = "B1"
signs = ["assembler"]
minutes = [1, 2, 3]
"""
CAUSE = '\n[[invalidates]]\ncause = "{}"\nname = "{}"\n{}\n'
CARD = (
    card_with(18, one("18.1", "measured", FIGURE), one("18.2", "computed", FIGURE + APART)).replace(
        "\n[[operation]]\nnumber = 18\n",
        FIRST
        + one("12.1", "measured", FIGURE)
        + one("12.2", "measured", FIGURE)
        + "\n[[operation]]\nnumber = 18\nstarts_after = [12]\n",
    )
    + CAUSE.format("one", "one code", 'characteristics = ["12.2"]')
    + CAUSE.format("all", "all of it", "operations = [12]")
)


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.fixture(scope="module")
def late(bench: Bench) -> Visit:
    """Operation 18, in hand after 12 was done."""
    axle = bench.axle()
    visit = bench.begin(axle, 12)
    bench.enter(visit, "12.1", ".0100")
    bench.enter(visit, "12.2", ".0200")
    bench.sign(visit)
    return bench.begin(axle, 18)


def reopened(bench: Bench, late: Visit, cause: str) -> Axle:
    assert late.axle is not None
    reopen_for_cause(bench=late.axle, cause=cause, reason="x", by=bench.people["eve"], now=bench.later(minutes=1))
    return late.axle


def computed(bench: Bench, late: Visit) -> list[str]:
    bench.enter(late, "18.1", ".0150")
    return list(Reading.objects.filter(characteristic__code="18.2").values_list("typed", flat=True))


def test_one_code_asked_again_leaves_the_others_standing(bench: Bench, late: Visit) -> None:
    visit = bench.begin(reopened(bench, late, "one"), 12)
    bench.enter(visit, "12.2", ".0210", reason="asked again")
    bench.sign(visit)
    assert computed(bench, late) == ["0.0050"]


def test_control_a_pass_that_is_to_redo_gives_nothing(bench: Bench, late: Visit) -> None:
    reopened(bench, late, "all")
    assert computed(bench, late) == []


def test_control_a_pass_done_again_gives_its_own(bench: Bench, late: Visit) -> None:
    visit = bench.begin(reopened(bench, late, "all"), 12)
    bench.enter(visit, "12.1", ".0110")
    bench.enter(visit, "12.2", ".0200")
    bench.sign(visit)
    assert computed(bench, late) == ["0.0040"]
