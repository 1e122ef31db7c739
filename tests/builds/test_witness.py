"""A hold that any second person may witness lets anybody watch and sign, and nobody work who may not."""

from __future__ import annotations

import pytest

from builds.actions.claiming import take_up
from builds.actions.tagging import report_wrong
from builds.errors import NotYours
from builds.models import Visit
from builds.permissions import hands
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import BENCH_CARD
from tests.builds.definitions.cards import SORREL

pytestmark = pytest.mark.django_db
ASKED, ANYBODY = 'by = ["inspector"], looks_at = [10, 20]', 'by = ["inspector", "second_person"], looks_at = [20]'
CARD = BENCH_CARD.replace(ASKED, ANYBODY)


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.fixture(scope="module")
def tightened(bench: Bench) -> Visit:
    return bench.tightened(bench.axle())


def test_who_may_only_witness_takes_nothing_up(bench: Bench) -> None:
    axle = bench.axle()
    bench.bored(axle)
    with pytest.raises(NotYours, match="is for assembler or inspector; Ole Testwell does not hold that role"):
        take_up(bench=axle, key="20/", by=bench.people["ole"], now=bench.later(minutes=1))
    assert bench.begin(axle, 20, "cy").state == "in_hand", "the control: whose role signs the hold may take it up"


def test_nor_enters_a_reading_or_stops_it(bench: Bench, tightened: Visit) -> None:
    with pytest.raises(NotYours):
        bench.enter(tightened, "20.1", "104", "ole", position="1", reason="looked better")
    with pytest.raises(NotYours):
        report_wrong(visit=tightened, cause="noise", by=bench.people["ole"], now=bench.later(minutes=1))


def test_control_anybody_who_did_none_of_it_witnesses(bench: Bench, tightened: Visit) -> None:
    assert bench.held(bench.sign(tightened), "ole").state == "done"


def test_hubs_are_hung_by_assemblers_and_inspectors() -> None:
    assert hands(SORREL.operation(380)) == ("assembler", "inspector")
