"""A look-back's red tag lies on what was read, wherever that is by now: in its axle, on a shelf, in another axle.

The figures: case flange runout read .0018 in with an indicator that reads .0006 in low, so .0024 in truth, over .002.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from builds.actions import looking_back
from builds.actions.joining import Spot, join_unit, own_unit, rob_unit
from builds.actions.looking_back import look_back
from builds.actions.parting import UnitOut, part_unit, whole
from builds.errors import NotFree
from builds.models import Axle, LookBackAxle, RedTag, Unit, Visit
from builds.reports.facts import standing
from builds.reports.lapses import Lapsed, by_axle, by_unit
from builds.reports.lookback import axles_touched, changed_on, judged_again
from builds.reports.lookback_units import units_touched
from builds.reports.units import tagged_in
from builds.scenario.driver import Builder
from measurements.actions.gauges import Calibrated, calibrate
from measurements.models import Calibration, Reading
from shop.clock import shop_day
from shop.record import replay
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def built(floor: Floor) -> Builder:
    """A differential whose runout is out in truth, done in its axle."""
    builder = floor.builder(floor.axle(), c200_1="0.0018")
    builder.kit()
    for key in ("10/", "200/", "210/", "220/", "230/"):
        builder.do(key)
    floor.now = builder.now
    return builder


@pytest.fixture(scope="module")
def taker(floor: Floor, built: Builder) -> Axle:
    return floor.axle()


def carrier(axle: Axle) -> Unit:
    return whole(own_unit(Spot(axle), "carrier").pk)


def found_off(floor: Floor, built: Builder) -> Calibration:
    reading = Reading.objects.filter(characteristic__code="200.1").latest("pk")
    day = shop_day(built.now) + timedelta(days=1)
    new = Calibrated(day, day + timedelta(days=365), "LAB-2", Decimal("-0.0006"), Decimal(0))
    assert reading.gauge is not None
    return calibrate(gauge=reading.gauge, calibrated=new, by=floor.who("wenzel"), now=built.now + timedelta(days=1))


def looked_back(floor: Floor, built: Builder) -> RedTag:
    look_back(found=found_off(floor, built), by=floor.who("wenzel"), now=built.now + timedelta(days=1, minutes=1))
    return RedTag.objects.open().get()


def out(floor: Floor, unit: Unit, built: Builder) -> None:
    what, now = UnitOut("wanted elsewhere", "stock", "used: run by hand"), built.now + timedelta(days=1, hours=1)
    part_unit(unit=unit, out=what, by=floor.who("rusk", "GB"), now=now)


def test_in_its_axle_it_stops_both_and_goes_along_with_the_unit(floor: Floor, built: Builder, taker: Axle) -> None:
    unit, tag = carrier(built.axle), looked_back(floor, built)
    assert (tag.item, tag.axle, tag.stops_axle) == (unit.item, built.axle, True)
    assert {str(view.state) for key, view in standing(built.axle, built.now).slots.items() if key == "240/"} == {
        "stopped"
    }
    out(floor, unit, built)
    tag.refresh_from_db()
    assert (tag.item, tag.axle) == (unit.item, None)
    assert not RedTag.objects.open().filter(axle=built.axle).exists()
    with pytest.raises(NotFree, match="was found off"):
        join_unit(unit=whole(unit.pk), spot=Spot(taker), reason="needed", by=floor.who("rusk", "GB"))
    assert replay.check()[1] == []


def test_control_on_the_axle_alone_the_unit_would_go_free(
    floor: Floor, built: Builder, taker: Axle, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault as it was: the tag lay on the axle, whatever was read."""
    monkeypatch.setattr(looking_back, "_in_it", lambda axle, items: set())
    unit, tag = carrier(built.axle), looked_back(floor, built)
    assert tag.item == built.axle.item
    out(floor, unit, built)
    assert tagged_in(whole(unit.pk)) is None
    join_unit(unit=whole(unit.pk), spot=Spot(taker), reason="needed", by=floor.who("rusk", "GB"))


def test_on_a_shelf_the_unit_is_stopped_and_its_former_axle_is_not(floor: Floor, built: Builder) -> None:
    unit = carrier(built.axle)
    part_unit(unit=unit, out=UnitOut("wanted elsewhere", "stock", "used"), by=floor.who("rusk", "GB"), now=built.now)
    tag = looked_back(floor, built)
    assert (tag.item, tag.axle) == (unit.item, None)
    assert not LookBackAxle.objects.exists()


def test_in_another_axle_that_one_is_stopped(floor: Floor, built: Builder, taker: Axle) -> None:
    unit, by = carrier(built.axle), floor.who("rusk", "GB")
    rob_unit(unit=unit, out=UnitOut("the rush", "stock", "used"), spot=Spot(taker), by=by, now=built.now)
    tag = looked_back(floor, built)
    assert (tag.item, tag.axle, tag.stops_axle) == (unit.item, taker, True)
    assert [row.axle for row in LookBackAxle.objects.all()] == [taker]


def test_what_is_read_on_the_axle_itself_stops_the_axle(floor: Floor, built: Builder) -> None:
    """Control: nothing of the axle's own goes along with anything."""
    assert looking_back._in_it(built.axle, {built.axle.pk}) == set()


@pytest.mark.parametrize("where", ["here", "stock", "other"])
def test_a_lapse_finds_the_pass_where_the_unit_is(floor: Floor, built: Builder, taker: Axle, where: str) -> None:
    unit, by = carrier(built.axle), floor.who("rusk", "GB")
    if where == "stock":
        part_unit(unit=unit, out=UnitOut("why", "stock", "used"), by=by, now=built.now)
    elif where == "other":
        rob_unit(unit=unit, out=UnitOut("why", "stock", "used"), spot=Spot(taker), by=by, now=built.now)
    visits = Visit.objects.select_related("item__unit", "axle__item", "operation")
    row = Lapsed(visits.get(item=unit.item, operation__number=200), date(2026, 1, 5), "did the work", "lapsed.")
    axles = {"here": [built.axle], "stock": [], "other": [taker]}[where]
    assert list(by_axle([row])) == axles
    assert [one.pk for one in by_unit([row])] == ([unit.pk] if where == "stock" else [])


def test_nothing_is_touched_twice(floor: Floor, built: Builder) -> None:
    rows = judged_again(found_off(floor, built))
    assert {axle: len(own) for axle, own in axles_touched(rows).items()} == {built.axle: 1}
    assert units_touched(rows) == {}
    assert len(changed_on(rows, built.axle)) == 1
