"""An operation in hand is not signed while one that it waits for is to be done again; what is read meanwhile stays."""

from __future__ import annotations

import pytest
from django.urls import reverse

from builds.actions.deciding import Decided, decide
from builds.actions.reopening import reopen_for_cause
from builds.actions.tagging import report_wrong
from builds.errors import NotReady, NotSignable
from builds.models import Done, Hold, Visit
from builds.reports import pending
from tests.builds.bench import Bench, open_bench
from tests.factories import signed_in_client

pytestmark = pytest.mark.django_db
SAYS = r"Operation 10 Bore the hub comes before this one and is to do again\."


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench()


@pytest.fixture(scope="module")
def tightened(bench: Bench) -> Visit:
    """Operation 20 in hand with everything in; operation 10 done before it."""
    return bench.tightened(bench.axle())


def rebore(bench: Bench, visit: Visit) -> None:
    """Operation 10 of the same axle is to be done again, and nothing else: a red tag on it is decided so."""
    bored = Visit.objects.get(axle=visit.axle, operation__number=10, state="done")
    tag = report_wrong(visit=bored, cause="chatter marks", by=bench.people["ada"], now=bench.later(minutes=1))
    what, grant = Decided("rework", "bore it again"), bench.grant("eve", "released")
    decide(tag=tag, decided=what, grant=grant, by=bench.people["eve"], now=bench.later(minutes=1))
    assert Visit.objects.get(pk=bored.pk).state == "redo"


def test_it_is_not_signed_over_an_operation_opened_again_before_it(bench: Bench, tightened: Visit) -> None:
    rebore(bench, tightened)
    with pytest.raises(NotSignable, match=SAYS):
        bench.sign(tightened)
    assert Visit.objects.get(pk=tightened.pk).state == "in_hand"
    assert not Done.objects.filter(visit=tightened).exists()


def test_control_without_the_guard_it_was_signed(
    bench: Bench, tightened: Visit, monkeypatch: pytest.MonkeyPatch
) -> None:
    rebore(bench, tightened)
    monkeypatch.setattr(pending, "opened_before", lambda work: [])
    assert bench.sign(tightened).state == "wait_sign"


def test_what_is_read_meanwhile_stays_and_is_signed_once_the_other_is_done_again(bench: Bench) -> None:
    axle = bench.axle()
    bench.bored(axle)
    visit = bench.begin(axle, 20)
    rebore(bench, visit)
    for position in ("1", "2", "3"):
        bench.enter(visit, "20.1", "105", position=position)
    bench.fit(visit)
    with pytest.raises(NotSignable, match=SAYS) as refused:
        bench.sign(visit)
    assert len(refused.value.missing) == 1
    again = bench.begin(axle, 10)
    with pytest.raises(NotSignable, match=r"10 Bore the hub comes before this one and is in hand\."):
        bench.sign(visit)
    for position in ("A", "B"):
        bench.enter(again, "10.1", "3.0630", position=position)
    bench.sign(again)
    assert bench.sign(visit).state == "wait_sign"


def test_nor_is_its_hold_signed(bench: Bench, tightened: Visit) -> None:
    bench.sign(tightened)
    rebore(bench, tightened)
    with pytest.raises(NotReady, match=SAYS):
        bench.held(tightened)
    assert not Hold.objects.filter(visit=tightened).exists()


def test_control_the_hold_is_signed_when_nothing_was_opened(bench: Bench, tightened: Visit) -> None:
    assert bench.held(bench.sign(tightened)).state == "done"


def test_the_page_names_it_before_anybody_signs(bench: Bench, tightened: Visit) -> None:
    assert tightened.axle is not None
    ada = signed_in_client(bench.people["ada"].person)  # type: ignore[arg-type]
    page = reverse("station", args=[tightened.axle.serial, 20, "-"])
    said = "Operation 10 Bore the hub comes before this one and is to do again."
    assert said not in ada.get(page).content.decode()
    rebore(bench, tightened)
    assert said in ada.get(page).content.decode()
    assert said in ada.get(page, headers={"HX-Request": "true"}).content.decode()


def test_a_cause_that_names_it_still_ends_the_pass(bench: Bench, tightened: Visit) -> None:
    assert tightened.axle is not None
    by, now = bench.people["eve"], bench.later(minutes=1)
    reopen_for_cause(bench=tightened.axle, cause="bore", reason="worn", by=by, now=now)
    assert Visit.objects.get(pk=tightened.pk).state == "redo"
