"""Where a pass waits for a second doer and for its hold, in either order, no one person is both."""

from __future__ import annotations

import pytest

from builds.actions.finishing import second_signatures, sign_second
from builds.errors import NotYours
from builds.models import Visit
from builds.reports.work import work_of
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import BENCH_CARD

pytestmark = pytest.mark.django_db
CARD = BENCH_CARD.replace("hold = {", 'beside = ["inspector"]\nhold = {', 1)


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.fixture(scope="module")
def waiting(bench: Bench) -> Visit:
    """Operation 20, signed by its doer."""
    visit = bench.sign(bench.tightened(bench.axle()))
    assert second_signatures(work_of(visit)) == ["beside", "hold"]
    return visit


def beside(bench: Bench, visit: Visit, who: str) -> Visit:
    by, grant = bench.people[who], bench.grant(who, "did")
    return sign_second(visit=visit, part="beside", grant=grant, by=by, now=bench.later(minutes=1))


def test_who_signed_the_hold_did_not_stand_beside(bench: Bench, waiting: Visit) -> None:
    assert bench.held(waiting, "cy").state == "wait_sign"
    with pytest.raises(NotYours, match="signed the hold, as one who did none of this work"):
        beside(bench, waiting, "cy")
    assert beside(bench, waiting, "ben").state == "done"


def test_who_stood_beside_does_not_sign_the_hold(bench: Bench, waiting: Visit) -> None:
    assert beside(bench, waiting, "cy").state == "wait_sign"
    with pytest.raises(NotYours, match="did some of the work that this signature looks at"):
        bench.held(waiting, "cy")
    assert bench.held(waiting, "ben").state == "done"
