"""A look-back over what was read on a bought part that lies in nothing: it is stopped, and is read again where it goes.

The figures: a housing bored 3.5003 as read with a gauge that reads .0006 high, so 3.4997 in truth, under 3.5000.
"""

from __future__ import annotations

from copy import deepcopy
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db.models import QuerySet
from django.urls import reverse

from builds.actions import looking_back
from builds.actions.deciding import Decided, decide
from builds.actions.kitting import kit_part, return_part
from builds.actions.looking_back import look_back
from builds.actions.loose import tag_loose
from builds.errors import NotFree
from builds.models import Axle, KitLine, LookBackAxle, RedTag
from builds.reports import work
from builds.reports.lookback import judged_again
from builds.reports.lookback_units import parts_touched
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from measurements.actions.gauges import Calibrated, calibrate
from measurements.models import Calibration, Reading
from shop.clock import shop_day
from shop.models import Item, Place
from shop.record import replay
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
TUBE = ("10/", "20/", "30/left", "40/left")


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def turned(floor: Floor) -> Builder:
    """Its housing, in the kit, was read too large, and so was the bore of nothing else."""
    builder = floor.builder(floor.axle(), c40_1="3.5033", c40_2="3.5003")
    builder.kit()
    for key in TUBE:
        builder.do(key)
    floor.now = builder.now
    return builder


@pytest.fixture
def builder(turned: Builder) -> Builder:
    return deepcopy(turned)


def line(builder: Builder) -> KitLine:
    return KitLine.objects.get(axle=builder.axle, role="centre_housing", returned_at=None)


def loose(floor: Floor, builder: Builder) -> Item:
    """The housing, back in stock."""
    found = line(builder)
    return_part(line=found, by=floor.who("jory"), now=builder.now)
    return found.part


def found_off(floor: Floor, builder: Builder) -> Calibration:
    gauge = Reading.objects.filter(characteristic__code="40.2").latest("pk").gauge
    day = shop_day(builder.now) + timedelta(days=1)
    new = Calibrated(day, day + timedelta(days=365), "LAB-2", Decimal("0.0006"), Decimal(0))
    assert gauge is not None
    builder.now += timedelta(days=1)
    return calibrate(gauge=gauge, calibrated=new, by=floor.who("wenzel"), now=builder.now)


def looked_back(floor: Floor, builder: Builder) -> QuerySet[RedTag]:
    off = found_off(floor, builder)
    builder.now += timedelta(minutes=1)
    look_back(found=off, by=floor.who("wenzel"), now=builder.now)
    return RedTag.objects.open().filter(axle=None)


def where(item: Item) -> str:
    return Place.objects.get(pk=item.pk).where


def set_aside(floor: Floor, axle: Axle, item: Item, builder: Builder) -> None:
    kit_part(axle=axle, scan=item.mark, role="centre_housing", by=floor.who("jory"), now=builder.now)


def decided(floor: Floor, builder: Builder, tags: QuerySet[RedTag], what: str) -> None:
    by = floor.who("wenzel")
    for tag in tags:
        builder.now += timedelta(minutes=1)
        decided = Decided(what, "looked at")
        decide(tag=tag, decided=decided, grant=builder.grant(by, "released"), by=by, now=builder.now)


def test_in_stock_it_goes_to_the_shelf_and_into_nothing(floor: Floor, builder: Builder) -> None:
    item, taker = loose(floor, builder), floor.axle()
    tags = looked_back(floor, builder)
    assert [(tag.item, tag.reading.position) for tag in tags if tag.reading] == [(item, "left A"), (item, "left B")]
    assert "40.2" in tags[0].cause
    assert where(item) == "red_tag"
    with pytest.raises(NotFree, match="was found off"):
        set_aside(floor, taker, item, builder)
    assert replay.check()[1] == []


def test_control_as_it_was_it_went_free(floor: Floor, builder: Builder, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(looking_back, "parts_touched", lambda rows: {})
    item, taker = loose(floor, builder), floor.axle()
    assert not looked_back(floor, builder)
    set_aside(floor, taker, item, builder)
    assert where(item) == "kit"


def test_in_a_kit_it_leaves_that_too(floor: Floor, builder: Builder) -> None:
    item = line(builder).part
    tags = looked_back(floor, builder)
    assert {tag.item for tag in tags} == {item}
    assert where(item) == "red_tag"
    assert not KitLine.objects.filter(part=item, returned_at=None).exists()
    assert [row.axle for row in LookBackAxle.objects.all()] == [builder.axle], "it was read at this one"


@pytest.mark.parametrize("what", ["rework", "repair"])
def test_let_go_again_it_is_read_again_where_it_goes(floor: Floor, builder: Builder, what: str) -> None:
    item, taker = loose(floor, builder), floor.builder(floor.axle())
    decided(floor, builder, looked_back(floor, builder), what)
    assert where(item) == "stock"
    assert blanks(floor, builder, taker, item) == ["left A", "left B"]


def test_what_was_doubted_is_built_on_by_nothing(
    floor: Floor, builder: Builder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a tag too: the value itself is asked anew. Control: cited as before, it would be written on nowhere."""
    monkeypatch.setattr(looking_back, "parts_touched", lambda rows: {})
    item, taker = loose(floor, builder), floor.builder(floor.axle())
    looked_back(floor, builder)
    assert blanks(floor, builder, taker, item) == ["left A", "left B"]
    monkeypatch.setattr(work, "undoubted", lambda rows: rows)
    assert blanks_at(taker) == []


def blanks(floor: Floor, builder: Builder, taker: Builder, item: Item) -> list[str]:
    """What operation 40 of another axle has to read on it."""
    taker.now = builder.now
    set_aside(floor, taker.axle, item, builder)
    taker.kit()
    for key in TUBE[:3]:
        taker.do(key)
    taker.begin("40/left")
    return blanks_at(taker)


def blanks_at(taker: Builder) -> list[str]:
    visit = taker.axle.visits.get(operation__number=40)
    return [place.position for place in work_of(visit).places if place.asked.code == "40.2" and place.last is None]


def test_reworked_before_the_look_back_it_is_not_touched(floor: Floor, builder: Builder) -> None:
    item = loose(floor, builder)
    tag_loose(item=item, cause="scored", by=floor.who("jory"), now=builder.now)
    decided(floor, builder, RedTag.objects.open().filter(item=item), "rework")
    assert not looked_back(floor, builder)
    assert where(item) == "stock"


def test_one_that_is_gone_is_not_touched(floor: Floor, builder: Builder) -> None:
    item = loose(floor, builder)
    Place.objects.filter(pk=item.pk).update(where="scrap")
    assert parts_touched(judged_again(found_off(floor, builder))) == {}


def test_the_page_names_it_before_and_after(floor: Floor, builder: Builder) -> None:
    item, client = loose(floor, builder), signed_in_client(floor.people["wenzel"])
    off = found_off(floor, builder)
    path = reverse("look_back", args=[off.pk])
    before = client.get(path).content.decode()
    assert "and 1 part in nothing" in before
    assert f'href="/stock/items/{item.pk}/"' in before
    look_back(found=off, by=floor.who("wenzel"), now=builder.now + timedelta(minutes=1))
    after = client.get(path).content.decode()
    assert [f"red tag {tag.number}" in after for tag in RedTag.objects.filter(item=item)] == [True, True]
