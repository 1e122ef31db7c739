"""Single codes asked again: they never stand for what a pass had not come to, nor for what is asked again whole."""

from __future__ import annotations

import pytest

from builds.actions import adding, reopening
from builds.actions.adding import void_reading
from builds.actions.reopening import reopen_for_cause
from builds.errors import NotSignable
from builds.models import Axle, Reopening, Visit
from measurements.models import Reading, Voiding
from shop.errors import Refusal
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import BENCH_CARD, one

pytestmark = pytest.mark.django_db
COUNTED = 'unit = "count"\nlow = 0\nhigh = 0\non_low = "tag"\non_high = "tag"\nsource = "test figure"\n'
#: Operation 20 asks 20.1 of three bolts and 20.2; a change may ask 20.2 again alone.
CARD = (
    BENCH_CARD.replace("\n[[operation]]\nnumber = 30", f"{one('20.2', 'counted', COUNTED)}\n[[operation]]\nnumber = 30")
    + '\n[[invalidates]]\ncause = "counted"\nname = "counted again"\noperations = [30]\ncharacteristics = ["20.2"]\n'
    + '\n[[invalidates]]\ncause = "pulled"\nname = "pulled again"\noperations = [30]\ncharacteristics = ["20.1"]\n'
)
ALL = ["20.1 1", "20.1 2", "20.1 3", "20.2"]


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.fixture(scope="module")
def begun(bench: Bench) -> Visit:
    """Operation 20 with one bolt of three pulled."""
    axle = bench.axle()
    bench.bored(axle)
    visit = bench.begin(axle, 20)
    bench.fit(visit)
    bench.enter(visit, "20.1", "105", position="1")
    return visit


@pytest.fixture
def done(bench: Bench, begun: Visit) -> Axle:
    for position in "23":
        bench.enter(begun, "20.1", "105", position=position)
    bench.enter(begun, "20.2", "0")
    bench.held(bench.sign(begun))
    assert begun.axle is not None
    return begun.axle


def changed(bench: Bench, axle: Axle | None, cause: str) -> list[str]:
    assert axle is not None
    return reopen_for_cause(bench=axle, cause=cause, reason="why", by=bench.people["eve"], now=bench.later(minutes=1))


def test_a_pass_that_was_not_finished_is_asked_whole(bench: Bench, begun: Visit) -> None:
    assert changed(bench, begun.axle, "counted") == ["20/"]
    assert begun.axle is not None
    again = bench.begin(begun.axle, 20)
    assert bench.blanks(again) == ALL
    bench.enter(again, "20.2", "0")
    with pytest.raises(NotSignable, match=r"20\.1 Bolt torque, position 1: no reading"):
        bench.sign(again)


def test_control_as_it_was_two_bolts_were_never_pulled(
    bench: Bench, begun: Visit, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reopening, "_only", lambda visit, codes: sorted(codes))
    changed(bench, begun.axle, "counted")
    assert begun.axle is not None
    again = bench.begin(begun.axle, 20)
    bench.enter(again, "20.2", "0")
    assert bench.sign(again).state == "wait_sign"


def test_a_finished_pass_is_asked_the_single_code(bench: Bench, done: Axle) -> None:
    changed(bench, done, "counted")
    assert bench.blanks(bench.begin(done, 20)) == []
    assert Visit.objects.filter(axle=done, operation__number=20).latest("number").only == ["20.2"]


def test_what_is_asked_again_whole_meanwhile_is_asked_whole(bench: Bench, done: Axle) -> None:
    assert changed(bench, done, "counted") == ["20/"]
    assert changed(bench, done, "shaft") == ["20/"]
    rows = Reopening.objects.filter(visit__axle=done, visit__operation__number=20).order_by("pk")
    assert [(row.cause, row.only) for row in rows] == [("counted", ["20.2"]), ("shaft", [])]
    assert bench.blanks(bench.begin(done, 20)) == ALL


def test_control_as_it_was_the_first_cause_alone_counted(
    bench: Bench, done: Axle, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reopening, "asks_less", lambda asked, codes: False)
    changed(bench, done, "counted")
    assert changed(bench, done, "shaft") == []
    assert bench.blanks(bench.begin(done, 20)) == []


@pytest.mark.parametrize(("first", "second"), [("counted", "pulled"), ("pulled", "counted")])
def test_two_causes_ask_for_both_their_codes(bench: Bench, done: Axle, first: str, second: str) -> None:
    changed(bench, done, first)
    assert changed(bench, done, second) == ["20/"]
    assert bench.begin(done, 20).only == ["20.1", "20.2"]


@pytest.mark.parametrize("cause", ["counted", "shaft"])
def test_the_same_cause_again_writes_nothing_more(bench: Bench, done: Axle, cause: str) -> None:
    assert changed(bench, done, cause) == ["20/"]
    assert changed(bench, done, cause) == []


def test_of_a_pass_for_single_codes_that_is_not_finished_those_stay(bench: Bench, done: Axle) -> None:
    changed(bench, done, "counted")
    bench.begin(done, 20)
    assert changed(bench, done, "pulled") == ["20/"]
    assert bench.begin(done, 20).only == ["20.1", "20.2"]


def voided(bench: Bench, axle: Axle) -> Visit:
    """In a pass that asks 20.2 alone, the torque of the first bolt declared void."""
    changed(bench, axle, "counted")
    visit = bench.begin(axle, 20)
    reading = Reading.objects.get(sheet__visit_links__visit=visit, characteristic__code="20.1", position="1")
    void_reading(reading=reading, reason="not this bolt", by=bench.people["ada"], now=bench.later(minutes=1))
    return visit


def test_what_such_a_pass_does_not_ask_is_not_declared_void_in_it(bench: Bench, done: Axle) -> None:
    with pytest.raises(Refusal, match=r"20\.1 is not asked again in this pass"):
        voided(bench, done)
    assert not Voiding.objects.exists()


def test_control_as_it_was_it_was_signed_with_a_bolt_that_has_no_reading(
    bench: Bench, done: Axle, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(adding, "_require_asked", lambda visit, code: None)
    visit = voided(bench, done)
    assert bench.sign(visit).state == "wait_sign"


def test_control_what_it_asks_is_declared_void_and_read_again(bench: Bench, done: Axle) -> None:
    changed(bench, done, "pulled")
    visit = bench.begin(done, 20)
    reading = Reading.objects.get(sheet__visit_links__visit=visit, characteristic__code="20.1", position="1")
    void_reading(reading=reading, reason="not this bolt", by=bench.people["ada"], now=bench.later(minutes=1))
    assert bench.blanks(visit) == ["20.1 1"]
