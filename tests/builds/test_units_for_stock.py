"""A unit that is built before there is an axle for it: begun, worked at its stations, put in stock, joined."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.actions.building_units import NewUnit, begin_units, fetch_to_bench, put_in_stock
from builds.actions.claiming import take_up
from builds.actions.closing import close_axle
from builds.actions.deciding import Decided, decide
from builds.actions.fitting import take_out
from builds.actions.joining import Spot, join_unit
from builds.actions.looking_back import look_back
from builds.actions.loose import tag_loose
from builds.actions.removing import Out, remove_part
from builds.actions.scrapping import PartTo, asked_parts, scrap_unit
from builds.errors import CannotBeBuilt, Elsewhere, MovedOn, NotFree, NotReady, NotSignable, Stopped, WrongKind
from builds.models import Axle, Closing, Concession, Fitted, Joined, RedTag, Unit, Visit
from builds.reports.facts import standing
from builds.reports.interchange import SAME
from builds.reports.lookback import judged_again
from builds.reports.lookback_units import units_touched
from builds.reports.reach.answer import Spot as Place
from builds.reports.reach.cause import Cause, CauseKind, Question
from builds.reports.reach.found import reach
from builds.reports.units import inside_of
from builds.reports.waiting import waiting_at
from builds.scenario.driver import Builder
from builds.scenario.values import VALUES
from measurements.actions.gauges import Calibrated, calibrate
from measurements.models import Reading
from shop.clock import shop_day
from shop.errors import Refusal
from shop.record import replay
from shop.record.models import Blob, Event
from shop.record.who import Who
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
CARRIER = ("200/", "210/", "220/", "230/")


@pytest.fixture(scope="module")
def floor(once_per_module: object) -> Floor:
    return open_shop()


def begin(floor: Floor, role: str = "hub", **options: str) -> Unit:
    new = NewUnit(floor.revision, role, options=options)
    return begin_units(new=new, by=floor.who("ingrith"), now=floor.now)[0]


def builder(floor: Floor, unit: Unit) -> Builder:
    return Builder(floor.shop, unit, floor.now + timedelta(minutes=5), VALUES)


def built(floor: Floor, role: str = "hub", **options: str) -> Builder:
    """A unit with all that is its own done, still at the bench."""
    made = builder(floor, begin(floor, role, **options))
    made.run()
    return made


def in_stock(floor: Floor, role: str = "hub", **options: str) -> Unit:
    made = built(floor, role, **options)
    put_in_stock(unit=made.bench, note="shelf 4", by=by(floor), now=made.now)
    floor.now = made.now + timedelta(minutes=1)
    return made.bench


def by(floor: Floor) -> Who:
    return floor.who("rusk", "GB")


def join(floor: Floor, unit: Unit, axle: Axle, side: str = "", now: datetime | None = None) -> Joined:
    return join_unit(unit=unit, spot=Spot(axle, side), reason="Built ahead.", by=by(floor), now=now)


def states(axle: Axle, *keys: str) -> list[str]:
    slots = standing(Axle.objects.get(pk=axle.pk), timezone.now()).slots
    return [str(slots[key].state) for key in keys]


def passes(unit: Unit) -> list[Visit]:
    return list(Visit.objects.filter(item=unit.item).select_related("operation").order_by("pk"))


def waits_at(floor: Floor, station: str) -> list[tuple[str, int, str]]:
    found = waiting_at(station, floor.now)
    return [(row.bench.serial, row.view.slot.operation.number, str(row.view.state)) for row in found.now]


def test_its_first_operation_waits_at_its_station_under_its_own_mark(floor: Floor) -> None:
    unit = begin(floor)
    assert unit.serial.endswith("-H")
    assert (unit.axle, unit.side, unit.built_side) == (None, "", "")
    assert waits_at(floor, "HB") == [(unit.serial, 340, "ready")]


def test_its_work_is_under_no_axle_and_in_its_own_chain(floor: Floor) -> None:
    made = built(floor)
    assert [(visit.operation.number, visit.state, visit.axle) for visit in passes(made.bench)] == [
        (340, "done", None), (350, "done", None), (360, "done", None),
    ]  # fmt: skip
    assert set(Fitted.objects.filter(host=made.bench.item).values_list("axle", flat=True)) == {None}
    kinds = Event.objects.filter(subject=made.bench.subject).values_list("kind", flat=True)
    assert {"unit.begun", "operation.taken_up", "reading.entered", "part.fitted", "operation.signed"} <= set(kinds)


def test_in_an_axle_its_work_counts_with_who_and_when(floor: Floor) -> None:
    unit = in_stock(floor)
    done = dict(Visit.objects.filter(item=unit.item).values_list("operation__number", "done_at"))
    axle = floor.axle()
    join(floor, unit, axle, "right")
    assert states(axle, "340/right", "350/right", "360/right", "340/left") == ["done", "done", "done", "not yet"]
    visits = Visit.objects.filter(axle=axle)
    assert dict(visits.values_list("operation__number", "done_at")) == done
    assert all(visit.done_at is not None and visit.done_at < axle.booked_at for visit in visits)
    assert Unit.objects.get(pk=unit.pk).side == "right"


def test_the_ledger_makes_the_same_tables_again(floor: Floor) -> None:
    join(floor, in_stock(floor), floor.axle(), "left")
    assert replay.check()[1] == []


def test_it_gets_its_side_as_it_joins_and_goes_to_either(floor: Floor) -> None:
    one, other, axle = in_stock(floor), in_stock(floor), floor.axle()
    for unit, side in ((one, "right"), (other, "left")):
        assert join(floor, unit, axle, side).rule == SAME
    assert set(Unit.objects.filter(pk__in=[one.pk, other.pk]).values_list("side", flat=True)) == {"left", "right"}


def test_a_differential_joins_where_the_same_options_are_asked(floor: Floor) -> None:
    unit = in_stock(floor, "carrier", differential="locking_air")
    with pytest.raises(WrongKind, match="was built for other options"):
        join(floor, unit, floor.axle())
    axle = floor.axle(differential="locking_air", air_port="yes")
    join(floor, unit, axle)
    assert states(axle, *CARRIER) == ["done"] * 4


def test_an_axle_is_built_to_its_end_on_it(floor: Floor) -> None:
    """The frozen record tells the unit, what it was built to, and the passes with their own days."""
    unit = in_stock(floor)
    done = Visit.objects.get(item=unit.item, operation__number=360)
    axle = floor.axle()
    join(floor, unit, axle, "left", now=floor.now)
    made = floor.builder(axle)
    made.kit()
    made.run()
    close_axle(axle=axle, by=floor.who("calla"), now=made.now + timedelta(hours=1))
    record = json.loads(bytes(Blob.objects.get(sha256=Closing.objects.get(axle=axle).sha256).content))
    assert [(row["unit"], row["built_to"], row["reason"]) for row in record["units"]] == [
        (unit.serial, floor.revision.key, "Built ahead.")
    ]
    assert done.done_at is not None
    assert done.done_at < axle.booked_at


def test_stock_asks_for_every_operation_of_its_own(floor: Floor) -> None:
    made = builder(floor, begin(floor))
    made.do("340/")
    with pytest.raises(NotReady, match="operation 350, 360 is not done"):
        put_in_stock(unit=made.bench, note="", by=by(floor), now=made.now)


@pytest.mark.parametrize(
    ("new", "said"),
    [
        (("tube", "left", {}), "only in its axle"),
        (("axle", "", {}), "no such unit"),
        (("hub", "top", {}), "has no side top"),
        (("carrier", "left", {}), "has no side left"),
    ],
)
def test_what_is_built_only_in_an_axle_is_not_begun(
    floor: Floor, new: tuple[str, str, dict[str, str]], said: str
) -> None:
    role, side, options = new
    with pytest.raises(Refusal, match=said):
        begin_units(new=NewUnit(floor.revision, role, side, options), by=floor.who("ingrith"), now=floor.now)


def test_options_that_nobody_can_build_are_not_begun(floor: Floor) -> None:
    with pytest.raises(CannotBeBuilt):
        begin(floor, "carrier", ratio="4.875", case="heavy")


def test_marks_are_never_given_twice(floor: Floor) -> None:
    new = NewUnit(floor.revision, "hub")
    made = begin_units(new=new, count=3, by=floor.who("ingrith"), now=floor.now)
    assert len({unit.serial for unit in [*made, begin(floor), begin(floor, "carrier")]}) == 5


def test_one_at_the_bench_does_not_join(floor: Floor) -> None:
    with pytest.raises(NotFree, match="on the floor"):
        join(floor, built(floor).bench, floor.axle(), "left")


def test_it_joins_once(floor: Floor) -> None:
    unit, axle = in_stock(floor), floor.axle()
    join(floor, unit, axle, "left")
    with pytest.raises(Elsewhere, match=f"is in {axle.serial} by now"):
        join(floor, unit, floor.axle(), "left")


def test_where_the_axles_own_is_begun_it_does_not_join(floor: Floor) -> None:
    unit, made = in_stock(floor), floor.builder(floor.axle())
    made.kit()
    made.do("10/")
    made.do("340/left")
    with pytest.raises(Elsewhere, match="work was done on it"):
        join(floor, unit, made.axle, "left")


def test_a_scrapped_one_does_not_join(floor: Floor) -> None:
    unit = in_stock(floor)
    parts = {row.pk: PartTo("scrap") for row in asked_parts(inside_of(unit))}
    scrap_unit(unit=unit, reason="dropped", parts=parts, by=by(floor))
    with pytest.raises(NotFree, match="scrap"):
        join(floor, unit, floor.axle(), "left")


def test_nobody_scraps_it_under_somebodys_hands(floor: Floor) -> None:
    made = builder(floor, begin(floor))
    made.begin("340/")
    with pytest.raises(NotReady, match="in hand"):
        scrap_unit(unit=made.bench, reason="dropped", parts={}, by=by(floor))


def test_in_an_axle_nothing_more_is_taken_up_on_it_alone(floor: Floor) -> None:
    unit, axle = in_stock(floor), floor.axle()
    with pytest.raises(Stopped, match="in stock"):
        take_up(bench=unit, key="340/", by=by(floor))
    join(floor, unit, axle, "left")
    with pytest.raises(MovedOn, match="Its work goes on at that axle"):
        take_up(bench=unit, key="340/", by=by(floor))


def test_a_part_out_of_it_in_stock_opens_its_work_again_at_the_bench(floor: Floor) -> None:
    unit = in_stock(floor, "carrier")
    ring = Fitted.objects.now().get(host=unit.item, role="ring_gear")
    _, reopened = remove_part(fitted=ring, out=Out("scored", "scrap"), by=by(floor))
    assert reopened == ["210/", "220/"]
    fetch_to_bench(unit=unit, reason="a new ring gear", by=by(floor))
    assert [view.state for view in standing(unit, timezone.now()).slots.values()] == [
        "done",
        "to redo",
        "not yet",
        "done",
    ]
    assert waits_at(floor, "GB") == [(unit.serial, 210, "to redo")]


def test_out_of_limit_it_is_tagged_and_stopped_until_it_is_decided(floor: Floor) -> None:
    """Case flange runout .0030 in over .002 in: the card says tag."""
    made, visit = out_of_limit(floor)
    tag = RedTag.objects.get(item=made.bench.item)
    assert (tag.axle, tag.reading is None, tag.number > 0) == (None, False, True)
    assert states_of(made.bench)[0] == "stopped"
    with pytest.raises(NotSignable):
        made.sign(visit)
    assert replay.check()[1] == []


def test_used_as_it_is_it_gets_its_concession_and_goes_on(floor: Floor) -> None:
    made, visit = out_of_limit(floor)
    decided(floor, made, Decided("use_as_is", "It is turned with the ring gear."))
    assert made.sign(visit).state == "done"
    assert Concession.objects.get().item == made.bench.item
    made.run()
    put_in_stock(unit=made.bench, note="", by=by(floor), now=made.now)
    axle = axle_after(floor, made)
    join(floor, made.bench, axle)
    assert RedTag.objects.get().axle == axle


def test_reworked_its_operation_is_to_do_again(floor: Floor) -> None:
    made, visit = out_of_limit(floor)
    decided(floor, made, Decided("rework", "Face the flange."))
    visit.refresh_from_db()
    assert visit.state == "redo"
    assert states_of(made.bench)[0] == "to redo"


def test_one_with_parts_in_it_is_not_scrapped_by_its_tag(floor: Floor) -> None:
    made, _ = out_of_limit(floor)
    with pytest.raises(Refusal, match="There are parts in"):
        decided(floor, made, Decided("scrap", "It is bent."))


def test_empty_it_is_scrapped_by_its_tag_and_what_was_begun_ends(floor: Floor) -> None:
    made, visit = out_of_limit(floor)
    (part,) = Fitted.objects.now().filter(host=made.bench.item)
    take_out(fitted=part, reason="good yet", to="stock", by=by(floor), now=made.now)
    decided(floor, made, Decided("scrap", "It is bent."))
    visit.refresh_from_db()
    assert visit.state == "redo"
    assert waits_at(floor, "GB") == []


def test_a_tag_in_stock_keeps_it_from_joining(floor: Floor) -> None:
    unit = in_stock(floor)
    tag_loose(item=unit.item, cause="fell down", by=by(floor))
    with pytest.raises(NotFree, match="fell down"):
        join(floor, unit, floor.axle(), "left")


def test_a_gauge_found_off_stops_the_unit_in_stock(floor: Floor) -> None:
    """Case flange runout read .0018 in with an indicator that reads .0006 in low: .0024 in, over .002 in."""
    made = builder(floor, begin(floor, "carrier"))
    made.by_slot = {"200/": {"200.1": "0.0018"}}
    made.run()
    put_in_stock(unit=made.bench, note="", by=by(floor), now=made.now)
    reading = Reading.objects.get(item=made.bench.item, characteristic__code="200.1")
    day = shop_day(made.now) + timedelta(days=1)
    new = Calibrated(day, day + timedelta(days=365), "LAB-2", Decimal("-0.0006"), Decimal(0))
    at = made.now + timedelta(days=1)
    found = calibrate(gauge=reading.gauge, calibrated=new, by=floor.who("wenzel"), now=at)
    assert list(units_touched(judged_again(found))) == [made.bench]
    page = signed_in_client(floor.people["wenzel"]).get(reverse("look_back", args=[found.pk])).content.decode()
    assert f">{made.bench.serial}</a> carrier, in stock" in page
    look_back(found=found, by=floor.who("wenzel"), now=at)
    assert RedTag.objects.open().get(item=made.bench.item).reading == reading
    with pytest.raises(NotFree, match="was found off"):
        join(floor, made.bench, floor.axle())
    page = signed_in_client(floor.people["wenzel"]).get(reverse("look_back", args=[found.pk])).content.decode()
    assert "red tag 1</a>, not decided yet" in page


def test_who_had_it_in_hand_reaches_it_at_its_bench_and_then_its_axle(floor: Floor) -> None:
    unit = in_stock(floor)
    visit = passes(unit)[0]
    cause = Cause(CauseKind.PERSON, (visit.claimed_by_id,), visit.claimed_by.name)
    assert [(row.spot, row.mark) for row in reach(Question([cause])).rows if row.what == "hub"] == [
        (Place.UNITS, unit.serial)
    ]
    axle = floor.axle()
    join(floor, unit, axle, "left")
    assert axle.serial in reach(Question([cause])).axles


def out_of_limit(floor: Floor) -> tuple[Builder, Visit]:
    made = builder(floor, begin(floor, "carrier"))
    made.by_slot = {"200/": {"200.1": "0.0030"}}
    visit = made.begin("200/")
    made.fill(visit)
    return made, visit


def decided(floor: Floor, made: Builder, what: Decided) -> None:
    made.now += timedelta(minutes=10)
    tag, by = RedTag.objects.open().get(item=made.bench.item), floor.who("wenzel")
    decide(tag=tag, decided=what, grant=made.grant(by, "released"), by=by, now=made.now)


def states_of(unit: Unit) -> list[str]:
    return [str(view.state) for view in standing(unit, timezone.now()).slots.values()]


def axle_after(floor: Floor, made: Builder) -> Axle:
    floor.now = made.now + timedelta(minutes=1)
    return floor.axle()
