"""What an open red tag keeps from going on, on which side, and what it is on an axle that is closed."""

from __future__ import annotations

import pytest

from builds.actions.closing import close_axle
from builds.actions.deciding import Agreement, Decided, decide
from builds.actions.fitting import fit_part
from builds.actions.removing import Out, remove_part
from builds.actions.tagging import Wrong, open_tag, report_wrong, tag_axle
from builds.errors import Stopped
from builds.models import Axle, Done, Fitted, Operation, RedTag, Removal, Visit
from measurements.models import Reading
from shop.clock import shop_day
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import BENCH_CARD

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(BENCH_CARD)


@pytest.fixture(scope="module")
def tightened(bench: Bench) -> Visit:
    return bench.tightened(bench.axle())


def test_no_hold_is_signed_over_an_open_tag(bench: Bench, tightened: Visit) -> None:
    bench.sign(tightened)
    report_wrong(visit=tightened, cause="noise", by=bench.people["ada"], now=bench.later(minutes=1))
    with pytest.raises(Stopped, match="is open: noise Nothing is signed until it is decided"):
        bench.held(tightened)
    assert Visit.objects.get(pk=tightened.pk).state == "wait_sign"


def test_control_without_the_tag_the_hold_is_signed(bench: Bench, tightened: Visit) -> None:
    assert bench.held(bench.sign(tightened)).state == "done"


def test_a_stopped_axle_takes_no_part(bench: Bench) -> None:
    axle = bench.axle()
    bench.bored(axle)
    visit = bench.begin(axle, 20)
    mark = bench.shaft("S-STOP").item.mark
    tag = tag_axle(axle=axle, cause="crack", by=bench.people["cy"], now=bench.later(minutes=1))
    with pytest.raises(Stopped, match="crack No part goes in until it is decided"):
        fit_part(visit=visit, scan=mark, by=bench.people["ada"], now=bench.later(minutes=1))
    by, now, grant = bench.people["eve"], bench.later(minutes=1), bench.grant("eve", "released")
    decide(tag=tag, decided=Decided("use_as_is", "only paint"), grant=grant, by=by, now=now)
    assert fit_part(visit=visit, scan=mark, by=bench.people["ada"], now=bench.later(minutes=1)).role == "shaft"


@pytest.fixture(scope="module")
def tightening(bench: Bench) -> Visit:
    """Operation 20 in hand, nothing entered; operation 10 done before it."""
    axle = bench.axle()
    bench.bored(axle)
    return bench.begin(axle, 20)


def test_over_torque_is_not_tried_again_on_the_same_bolt_before_a_decision(bench: Bench, tightening: Visit) -> None:
    (tag,) = bench.enter(tightening, "20.1", "111", position="1").reacted.tags
    with pytest.raises(Stopped, match=f"red tag {tag.number}: 20.1 Bolt torque, position 1: 111 .* No reading"):
        bench.enter(tightening, "20.1", "105", position="1", reason="backed off")
    assert Reading.objects.filter(sheet__visit_links__visit=tightening).count() == 1


def test_control_its_other_bolts_are_read_on_and_low_torque_is_repeated(bench: Bench, tightening: Visit) -> None:
    bench.enter(tightening, "20.1", "111", position="1")
    assert bench.enter(tightening, "20.1", "99", position="2").reacted.tags == ()
    assert bench.enter(tightening, "20.1", "105", position="2", reason="repeat").reading.attempt == 2


def test_control_once_decided_the_same_bolt_is_tried_again(bench: Bench, tightening: Visit) -> None:
    (tag,) = bench.enter(tightening, "20.1", "111", position="1").reacted.tags
    _decided(bench, tag)
    assert bench.enter(tightening, "20.1", "105", position="1", reason="new bolt").reading.attempt == 2


def test_what_was_computed_out_of_limit_is_not_computed_away_before_a_decision(bench: Bench) -> None:
    """Bores .0008 apart at most .0005: the tag lies on what was computed, so each bore waits with it."""
    visit = bench.begin(bench.axle(), 10)
    bench.enter(visit, "10.1", "3.0626", position="A")
    (tag,) = bench.enter(visit, "10.1", "3.0634", position="B").reacted.tags
    assert tag.reading is not None
    assert tag.reading.characteristic.code == "10.2"
    for position in ("A", "B"):
        with pytest.raises(Stopped, match=f"red tag {tag.number}: 10.2 Out of round"):
            bench.enter(visit, "10.1", "3.0630", position=position, reason="read again")
    _decided(bench, tag)
    assert bench.sign(visit).state == "done"


def test_a_tag_of_a_reading_keeps_parts_out_of_its_operation(bench: Bench, tightening: Visit) -> None:
    (tag,) = bench.enter(tightening, "20.1", "111", position="1").reacted.tags
    mark = bench.shaft("S-OVER").item.mark
    with pytest.raises(Stopped, match="No part goes in"):
        _fit(bench, tightening, mark)
    _decided(bench, tag)
    _fit(bench, tightening, mark)
    assert Fitted.objects.now().filter(visit=tightening).count() == 1


@pytest.mark.parametrize("number", [10, 20])
def test_something_wrong_here_or_before_stops_readings_and_parts(bench: Bench, tightening: Visit, number: int) -> None:
    mark = bench.shaft(f"S-ODD-{number}").item.mark
    on = Visit.objects.get(axle=tightening.axle, operation__number=number)
    tag = report_wrong(visit=on, cause="odd noise", by=bench.people["ada"], now=bench.later(minutes=1))
    with pytest.raises(Stopped, match="odd noise No reading goes on"):
        bench.enter(tightening, "20.1", "105", position="1")
    with pytest.raises(Stopped, match="odd noise No part goes in"):
        _fit(bench, tightening, mark)
    _decided(bench, tag)
    _fit(bench, tightening, mark)
    assert bench.enter(tightening, "20.1", "105", position="1").reading.attempt == 1


def test_control_a_tag_on_what_comes_after_stops_nothing_before_it(bench: Bench) -> None:
    axle = bench.axle()
    first = bench.begin(axle, 10)
    wrong = Wrong(axle.item, "later", axle, Operation.objects.get(revision=axle.revision, number=20))
    open_tag(wrong=wrong, by=bench.people["ada"], now=bench.later(minutes=1))
    assert bench.enter(first, "10.1", "3.0630", position="A").reading.verdict == "in"


def _fit(bench: Bench, visit: Visit, mark: str) -> None:
    fit_part(visit=visit, scan=mark, by=bench.people["ada"], now=bench.later(minutes=1))


def _decided(bench: Bench, tag: RedTag) -> None:
    by, now, grant = bench.people["eve"], bench.later(minutes=1), bench.grant("eve", "released")
    agreed = Agreement("A. Buyer", shop_day(now), "letter")
    decide(tag=tag, decided=Decided("use_as_is", "looked at", agreement=agreed), grant=grant, by=by, now=now)


def test_what_goes_on_after_closing_is_marked_and_re_opens_nothing(bench: Bench) -> None:
    """With the axle as pages and jobs hold it that read it before it was closed."""
    axle = bench.bought_off(bench.axle())
    read_before, shaft = Axle.objects.get(pk=axle.pk), Fitted.objects.select_related("axle__item").get(axle=axle)
    close_axle(axle=axle, by=bench.people["cy"], now=bench.later(minutes=1))
    assert read_before.closed_at is None
    whole = tag_axle(axle=read_before, cause="came back", by=bench.people["cy"], now=bench.later(minutes=1))
    visit = Visit.objects.get(axle=axle, operation__number=20)
    tag = report_wrong(visit=visit, cause="shaft bent", by=bench.people["ada"], now=bench.later(minutes=1))
    assert (whole.after_closing, tag.after_closing) == (True, True)
    by, now, grant = bench.people["eve"], bench.later(minutes=1), bench.grant("eve", "released")
    decide(tag=tag, decided=Decided("scrap", "bent", part=shaft), grant=grant, by=by, now=now)
    assert Removal.objects.get(fitted=shaft).after_closing
    assert set(Visit.objects.filter(axle=axle).values_list("state", flat=True)) == {"done"}


def test_a_part_taken_out_by_a_page_that_was_open_before_the_closing_re_opens_nothing(bench: Bench) -> None:
    axle = bench.bought_off(bench.axle())
    shaft = Fitted.objects.select_related("axle__item", "axle__revision__model").get(axle=axle)
    close_axle(axle=axle, by=bench.people["cy"], now=bench.later(minutes=1))
    _, reopened = remove_part(
        fitted=shaft, out=Out("worn", "stock"), by=bench.people["ada"], now=bench.later(minutes=1)
    )
    assert (reopened, Removal.objects.get(fitted=shaft).after_closing) == ([], True)


def test_control_before_the_closing_the_same_removal_re_opens_its_operations(bench: Bench) -> None:
    axle = bench.bought_off(bench.axle())
    shaft = Fitted.objects.select_related("axle__item", "axle__revision__model").get(axle=axle)
    _, reopened = remove_part(
        fitted=shaft, out=Out("worn", "stock"), by=bench.people["ada"], now=bench.later(minutes=1)
    )
    assert reopened == ["20/", "30/"]
    assert Done.objects.filter(visit__axle=axle).count() == 3
