"""A concession of an answer in words is bound to that answer, as one of a figure is to its figure."""

from __future__ import annotations

import pytest

from builds.actions.deciding import Agreement, Decided, decide
from builds.models import Concession, RedTag, Visit
from builds.reports.pending import pending
from builds.reports.work import work_of
from shop.clock import shop_day
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import card_with, one

pytestmark = pytest.mark.django_db
COLOUR = 'choices = ["straw", "blue", "grey"]\naccepted = ["straw"]\non_low = "tag"\nsource = "test"'
CARD = card_with(18, one("18.1", "choice", COLOUR))


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.fixture(scope="module")
def visit(bench: Bench) -> Visit:
    """Blue is out, and conceded."""
    found = bench.begin(bench.axle(), 18)
    bench.enter(found, "18.1", "blue")
    tag = RedTag.objects.open().get(axle=found.axle)
    what = Decided("use_as_is", "blue is only oxide", agreement=Agreement("A. Buyer", shop_day(bench.now), "letter"))
    decide(tag=tag, decided=what, grant=bench.grant(DECIDER, "released"), by=bench.people[DECIDER], now=bench.now)
    return found


DECIDER = "eve"


def waiting(visit: Visit) -> list[str]:
    return [found.reading.typed for found in pending(work_of(visit))]


def test_control_the_conceded_answer_is_covered(visit: Visit) -> None:
    assert Concession.objects.get().word == "blue"
    assert waiting(visit) == []


def test_control_the_same_answer_given_again_is_covered(bench: Bench, visit: Visit) -> None:
    bench.enter(visit, "18.1", "blue", reason="looked again")
    assert waiting(visit) == []


def test_another_answer_is_not(bench: Bench, visit: Visit) -> None:
    bench.enter(visit, "18.1", "grey", reason="looked again")
    assert waiting(visit) == ["grey"]
