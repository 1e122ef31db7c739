"""What work done again for its own sake makes invalid, by the house rules "Made invalid": a depth or backlash changed
at 250 to 270, and a weld laid anew. What another change only names is no change of that kind."""

from __future__ import annotations

from datetime import timedelta

import pytest

from builds.actions.adding import withdraw_signature
from builds.actions.deciding import Decided, decide
from builds.actions.reopening import reopen_for_cause, send_back
from builds.actions.tagging import Wrong, open_tag
from builds.models import Operation, Reopening, Visit, VisitState, Weld
from builds.progress import SlotState
from builds.reports.facts import standing
from builds.scenario.driver import Builder
from shop.errors import Refusal
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import BENCH_CARD
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
#: Of the rules' list for a change at 250 to 270; the leak test follows because the axle is opened.
DEPTH = {"280/", "290/", "300/", "320/", "330/", "410/"}
LOOKS = {"90/left", "90/right", "100/left", "100/right"}
AFTER_A_WELD = {"160/", "165/", "170/", "180/", "190/", "410/"}
SINGLE = {"110/", "150/"}


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


def decided(floor: Floor, built: Builder, number: int, what: Decided, side: str = "") -> dict[str, list[str]]:
    """A red tag at this operation, decided; what is to do again since, with the codes where only those are asked."""
    before = set(Visit.objects.filter(axle=built.axle, state=VisitState.DONE).values_list("pk", flat=True))
    visit = Visit.objects.select_related("item").filter(axle=built.axle, operation__number=number)
    item = visit.get(item__unit__side=side).item if side else built.axle.item
    operation = Operation.objects.get(revision=built.axle.revision, number=number)
    engineer, now = floor.who("wenzel"), built.now + timedelta(minutes=1)
    tag = open_tag(wrong=Wrong(item, "a finding", built.axle, operation), by=engineer, now=now)
    grant = built.grant(engineer, "released")
    decide(tag=tag, decided=what, grant=grant, by=engineer, now=now)
    rows = Reopening.objects.filter(visit__in=before).select_related("visit__operation", "visit__item__unit")
    return {key_of(row.visit): row.only for row in rows}


def key_of(visit: Visit) -> str:
    unit = getattr(visit.item, "unit", None)
    return f"{visit.operation.number}/{unit.side if unit is not None else ''}"


@pytest.mark.parametrize("number", [250, 260, 270])
def test_a_depth_or_backlash_reworked_by_decision_opens_what_was_set_by_it(
    floor: Floor, built: Builder, number: int
) -> None:
    found = decided(floor, built, number, Decided("rework", "shimmed anew"))
    assert set(found) == {f"{number}/"} | DEPTH


@pytest.mark.parametrize(("number", "more"), [(200, {"410/"}), (350, set()), (390, set())])
def test_control_rework_elsewhere_opens_no_more_than_before(
    floor: Floor, built: Builder, number: int, more: set[str]
) -> None:
    side = "left" if number == 350 else ""
    found = decided(floor, built, number, Decided("rework", "done anew"), side)
    assert set(found) == {f"{number}/{side}"} | more


def test_control_a_differential_is_no_change_of_depth(floor: Floor, built: Builder) -> None:
    """It names 260 and 270 itself; 280 and 320, which a depth changed there would open, stay done."""
    found = reopen_for_cause(bench=built.axle, cause="differential", reason="ticks", by=floor.who("rusk"))
    assert {"260/", "270/"} <= set(found)
    assert not {"280/", "320/"} & set(found)


def test_a_weld_reworked_by_decision_is_looked_at_again(floor: Floor, built: Builder) -> None:
    found = decided(floor, built, 80, Decided("rework", "ground out and welded again"), "left")
    assert set(found) == {"80/left"} | LOOKS | AFTER_A_WELD | SINGLE
    assert {key: only for key, only in found.items() if only} == {"110/": ["110.3"], "150/": ["150.2"]}


def test_what_stands_before_the_weld_is_not_looked_at_before_it_is_laid(floor: Floor, built: Builder) -> None:
    found = decided(floor, built, 130, Decided("rework", "filled again"))
    assert set(found) == {"130/", "150/"} | AFTER_A_WELD
    assert found["150/"] == ["150.2"]


def test_a_repair_says_where_it_is_welded(floor: Floor, built: Builder) -> None:
    with pytest.raises(Refusal, match=r"say at which operation it is welded again \(80 or 130 or 150\)"):
        decided(floor, built, 165, Decided("repair", "a crack", cause="weld_repair"))


@pytest.mark.parametrize("again", ["80/middle", "100/left", "nowhere"])
def test_it_says_a_place_at_which_something_was_welded(floor: Floor, built: Builder, again: str) -> None:
    with pytest.raises(Refusal, match="Nothing was welded there"):
        decided(floor, built, 165, Decided("repair", "a crack", cause="weld_repair", welded_at=again))


def test_the_repairs_arc_has_its_record_and_its_48_hours(floor: Floor, built: Builder) -> None:
    """House rule: the 48 h count from the end of the last arc on the axle, repairs included."""
    found = decided(floor, built, 165, Decided("repair", "a crack", cause="weld_repair", welded_at="80/left"))
    assert set(found) == {"80/left"} | LOOKS | AFTER_A_WELD | SINGLE
    built.now += timedelta(minutes=5)
    (weld,) = built.do("80/left").welds.all()
    assert weld.repairs is not None
    assert Weld.objects.filter(repairs=weld.repairs).count() == 1
    built.run(until=165)
    view = standing(built.axle, built.now).slots["165/"]
    assert view.state is SlotState.WAIT_TIME
    assert view.ready_at == weld.entered_at + timedelta(hours=48)


# On a card of two rows: work on 20 done again by itself, or because another row names it.

_ROWS = """
[[invalidates]]
cause = "bore"
name = "bored again"
operations = [20]

[[invalidates]]
cause = "bolts"
name = "bolts changed"
operations = [30]
"""
UNNAMED = BENCH_CARD[: BENCH_CARD.index("[[invalidates]]")].replace("repeat 1", "back to 20") + _ROWS
NAMED = UNNAMED + "changed_at = [20]\n"


def opened_by_the_bore(card: str) -> tuple[Bench, Visit]:
    """Everything is done, and another row has opened 20; its new pass is in hand."""
    bench = open_bench(card)
    axle = bench.bought_off(bench.axle())
    now = bench.later(minutes=1)
    assert reopen_for_cause(bench=axle, cause="bore", reason="loose", by=bench.people["eve"], now=now) == ["20/"]
    return bench, bench.begin(axle, 20)


def sent_back(card: str) -> list[str]:
    bench, visit = opened_by_the_bore(card)
    bench.enter(visit, "20.1", "95", position="1")
    return send_back(visit=visit, by=bench.people["ada"], now=bench.later(minutes=1))


def test_a_value_that_sends_back_to_its_own_operation_is_a_change_there() -> None:
    assert sent_back(NAMED) == ["20/", "30/"]


def test_control_a_card_that_does_not_name_it_opens_nothing_more() -> None:
    assert sent_back(UNNAMED) == ["20/"]


@pytest.mark.parametrize(("card", "redo"), [(NAMED, {20, 30}), (UNNAMED, {20})], ids=["named", "control"])
def test_a_hold_that_is_not_given_is_a_change_too(card: str, redo: set[int]) -> None:
    bench, visit = opened_by_the_bore(card)
    for position in ("1", "2", "3"):
        bench.enter(visit, "20.1", "105", position=position)
    bench.sign(visit)
    withdraw_signature(visit=visit, reason="stripes", by=bench.people["cy"], now=bench.later(minutes=1))
    rows = Reopening.objects.filter(at=bench.now).values_list("visit__operation__number", "cause")
    assert dict(rows) == {number: {20: "hold not given", 30: "bolts"}[number] for number in redo}
