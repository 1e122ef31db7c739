"""A pinion pack through the pages: out of its axle as a whole, in stock, into another axle where the ring gear is of
its set, with its history in both files. Its preload is read in the axle that it is in, after that axle's depth trial.
"""

from __future__ import annotations

from copy import deepcopy

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from builds.actions.building_units import NewUnit, begin_units
from builds.actions.joining import Spot, join_unit, own_unit
from builds.actions.kitting import kit_part
from builds.actions.parting import UnitOut, part_unit, whole
from builds.actions.receiving import NewPart, take_in_part
from builds.certificates.record_units import left_with_units, unit_rows
from builds.errors import OtherSet
from builds.models import Axle, Fitted, Parted, Reopening, Unit, Visit
from builds.reports.facts import standing
from builds.reports.labels import label_for, labels_of
from builds.reports.reach.answer import Spot as Spotted
from builds.reports.reach.backwards import contents
from builds.reports.reach.cause import Cause, CauseKind, Question
from builds.reports.reach.found import reach
from builds.scenario.driver import Builder
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Part, PartKind, Place, Where
from shop.record import replay
from shop.record.who import Who
from tests.builds.pages import Browser, text_of
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
ROLE = "pinion_pack"
#: House rules, "Made invalid": gear set 210, 220, 250-330, as far as it is done at an axle that stands before 300; 280
#: itself went with the pack.
LEFT_BEHIND = {210, 220, 250, 260, 270, 290}
TRIAL = {250, 260, 270}


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def built(floor: Floor) -> Builder:
    """An axle with its pinion preloaded and its carrier in the caps."""
    builder = floor.builder(floor.axle(), c280_1="24")
    builder.kit()
    builder.run(until=300)
    return builder


@pytest.fixture
def donor(floor: Floor, built: Builder) -> Axle:
    floor.now = built.now
    return deepcopy(built).axle


@pytest.fixture
def bench(floor: Floor) -> Browser:
    return Browser(Who(floor.people["rusk"]))


def pack(axle: Axle) -> Unit:
    return own_unit(Spot(axle), ROLE)


def press(browser: Browser, name: str, unit: Unit, **fields: str) -> HttpResponse:
    answer: HttpResponse = browser.send(reverse(name, args=[unit.pk]), **fields)
    return answer


def out(browser: Browser, unit: Unit) -> HttpResponse:
    return press(browser, "unit_out", unit, reason="The rush goes first.", to="stock", note="used: preloaded at 24")


def into(browser: Browser, unit: Unit, axle: Axle) -> HttpResponse:
    return press(browser, "unit_in", unit, into=axle.serial, reason="Of one set.")


def said_after(browser: Browser, answer: HttpResponse) -> str:
    assert answer.status_code == 303
    return text_of(browser.get(answer["Location"]))


def numbers(axle: Axle, state: str) -> set[int]:
    slots = standing(Axle.objects.get(pk=axle.pk), timezone.now()).slots.values()
    return {view.slot.operation.number for view in slots if view.visit is not None and view.visit.state == state}


def test_out_as_a_whole_and_what_it_leaves_to_do_again(donor: Axle, bench: Browser) -> None:
    unit = pack(donor)
    inside = dict(Fitted.objects.now().filter(host=unit.item).values_list("role", "part__mark"))
    assert set(inside) == {"pinion", "head_bearing", "tail_bearing"}
    before = numbers(donor, "done")
    assert {280, *LEFT_BEHIND} <= before
    assert "Say what happened to it" in text_of(press(bench, "unit_out", unit, reason="rush", to="stock", note=""))
    assert not Parted.objects.exists()
    assert out(bench, unit).status_code == 303
    assert numbers(donor, "redo") == LEFT_BEHIND
    assert numbers(donor, "done") == before - LEFT_BEHIND - {280}
    assert Place.objects.get(pk=unit.pk).where == Where.STOCK
    assert pack(donor).item.mark == f"{unit.item.mark}-2"
    assert Visit.objects.get(item=unit.item).state == "done", "its own work is as it was"
    for name in ("axle", "axle_units"):
        _, _, formerly = text_of(bench.get(reverse(name, args=[donor.serial]))).partition("Formerly in it")
        assert f"pinion pack {unit.item.mark}" in formerly
        assert "in stock" in formerly
    assert inside["pinion"] in text_of(bench.get(reverse("axle_units", args=[donor.serial])))


def test_into_another_axle_of_its_set_where_it_is_read_again(floor: Floor, donor: Axle, bench: Browser) -> None:
    """The carrier with the ring gear goes first. The trial there was of another pinion than this one: it counts no
    more. What was done on the carrier does. Nothing is fitted anew: the pinion and its bearings are in it."""
    unit, carrier, taker = pack(donor), own_unit(Spot(donor), "carrier"), floor.axle()
    builder, by = floor.builder(taker, c280_1="26"), floor.who("rusk", "GB")
    part_unit(unit=carrier, out=UnitOut("rush", "stock", "used"), by=by, now=builder.now)
    join_unit(unit=whole(carrier.pk), spot=Spot(taker), reason="rush", by=by, now=builder.now)
    assert not Reopening.objects.filter(visit__axle=taker).exists(), "its work counts, and no more is done there"
    kit_all_but_the_pack(builder)
    builder.run(until=280)
    assert out(bench, unit).status_code == 303
    done = numbers(taker, "done")
    assert {200, 210, 220, 230, 240} | TRIAL <= done
    said = said_after(bench, into(bench, unit, taker))
    assert "is in. What was done on it counts there; to do again: 250, 260, 270, 280." in said
    assert numbers(taker, "redo") == {280} | TRIAL
    assert numbers(taker, "done") == done - TRIAL
    assert replay.check()[1] == []
    builder.now = timezone.now()
    builder.run(until=300)
    assert list(Visit.objects.filter(item=unit.item).values_list("number", "state", "axle").order_by("number")) == [
        (1, "redo", taker.pk), (2, "done", taker.pk),
    ]  # fmt: skip
    assert Fitted.objects.filter(host=unit.item).count() == 3
    life = text_of(bench.get(reverse("unit", args=[unit.pk])))
    assert f"In {taker.serial}" in life
    assert f"Formerly in {donor.serial}" in life
    assert unit.item.mark in text_of(bench.get(reverse("axle", args=[taker.serial])))
    pinion = Fitted.objects.now().get(host=unit.item, role="pinion").part.mark
    assert pinion in {row["mark"] for row in left_with_units(donor)}
    assert [row["unit"] for row in unit_rows(taker)] == [carrier.item.mark, unit.item.mark]


def kit_all_but_the_pack(builder: Builder) -> None:
    receiver = builder.shop.who(builder.shop.one_of(("receiver",)))
    while needs := [need for need in builder.short() if need.slot.unit != ROLE]:
        scan = builder.shop.find_part(builder.axle, needs[0], builder.now)
        kit_part(axle=builder.axle, scan=scan, role=needs[0].role, by=receiver, now=builder.now)


def test_where_the_ring_gear_is_of_another_set_it_is_refused(floor: Floor, donor: Axle, bench: Browser) -> None:
    """The control is the same pack in an axle where no ring gear is yet; from then on only the mate goes in there."""
    unit, other, empty = pack(donor), floor.axle(), floor.axle()
    builder = floor.builder(other)
    kit_all_but_the_pack(builder)
    for key in ("10/", "200/", "210/"):
        builder.do(key)
    spare = NewPart("RG-77", PartKind.objects.get(code="ring_gear"), ring_of(donor).supplier, set_mark="AG-77")
    take_in_part(part=spare, by=Who(floor.people["jory"]))
    assert out(bench, unit).status_code == 303
    refused = into(bench, unit, other)
    assert refused.status_code == 422
    pinion = Fitted.objects.now().get(host=unit.item, role="pinion").part.part
    ring = ring_of(other)
    assert pinion.set_mark != ring.set_mark
    assert f"is of set {pinion.set_mark}; the ring gear here is of set {ring.set_mark}" in text_of(refused)
    assert (whole(unit.pk).axle, Place.objects.get(pk=unit.pk).where) == (None, Where.STOCK)
    assert into(bench, unit, empty).status_code == 303
    assert whole(unit.pk).axle == empty
    receiver = Who(floor.people["jory"])
    with pytest.raises(OtherSet, match=f"of set AG-77; the pinion here is of set {pinion.set_mark}"):
        kit_part(axle=empty, scan="RG-77", role="ring_gear", by=receiver)


def ring_of(axle: Axle) -> Part:
    return Fitted.objects.now().get(axle=axle, role="ring_gear").part.part


def test_another_ratio_is_refused_by_its_name(floor: Floor, donor: Axle, bench: Browser) -> None:
    unit, other = pack(donor), floor.axle(ratio="3.70")
    assert out(bench, unit).status_code == 303
    assert "Ratio 4.30, not 3.70" in text_of(into(bench, unit, other))
    taker = floor.axle(differential="limited_slip")
    assert into(bench, unit, taker).status_code == 303, "its ratio is all that it is built to"


def test_back_in_its_own_axle_it_is_read_again_too(donor: Axle, bench: Browser) -> None:
    unit = pack(donor)
    assert out(bench, unit).status_code == 303
    assert "to do again: 280" in said_after(bench, into(bench, unit, donor))
    assert numbers(donor, "redo") == LEFT_BEHIND | {280}
    opened = Reopening.objects.get(visit__item=unit.item)
    assert (opened.cause, opened.reason) == ("gear_set", "Of one set.")


def test_scrapped_every_part_in_it_is_asked_for(donor: Axle, bench: Browser) -> None:
    unit = pack(donor)
    rows = {row.role: row for row in Fitted.objects.now().filter(host=unit.item)}
    said = {f"part-{row.pk}": "scrap" for row in rows.values()} | {"reason": "dropped", "to": "scrap"}
    forgotten = said.pop(f"part-{rows['head_bearing'].pk}")
    assert "Not said: " in text_of(press(bench, "unit_out", unit, **said))
    kept = {f"part-{rows['pinion'].pk}": "stock", f"note-{rows['pinion'].pk}": "not hurt"}
    all_said = said | {f"part-{rows['head_bearing'].pk}": forgotten} | kept
    assert press(bench, "unit_out", unit, **all_said).status_code == 303
    assert Place.objects.get(pk=rows["pinion"].part_id).where == Where.STOCK
    assert Place.objects.get(pk=unit.pk).where == Where.SCRAP


def test_its_label_and_that_it_is_not_begun_for_stock(floor: Floor, donor: Axle, bench: Browser) -> None:
    unit = pack(donor)
    assert unit.item.mark.endswith("-P")
    assert label_for(unit.item, "unit").lines[0] == "pinion pack"
    assert (unit.item, "unit", "unit tag, pinion pack") in labels_of(donor)
    with pytest.raises(Refusal, match="builds a pinion pack only in its axle"):
        begin_units(new=NewUnit(floor.revision, ROLE), by=floor.who("ingrith"))
    assert begin_units(new=NewUnit(floor.revision, "carrier"), by=floor.who("ingrith"))  # the control


def test_on_the_reach_list_it_is_where_it_went(floor: Floor, donor: Axle) -> None:
    unit, taker, by = pack(donor), floor.axle(), floor.who("rusk", "AX")
    head = Fitted.objects.now().get(host=unit.item, role="pinion").part
    part_unit(unit=unit, out=UnitOut("rush", "stock", "used"), by=by)
    join_unit(unit=whole(unit.pk), spot=Spot(taker), reason="rush", by=by)
    found = reach(Question([Cause(CauseKind.ITEM, (head.pk,), "pinion")]))
    assert {row.axle for row in found.at_spot(Spotted.FLOOR)} == {taker.serial}
    (former,) = found.at_spot(Spotted.FORMERLY)
    assert (former.axle, former.mark, former.where) == (donor.serial, unit.item.mark, f"now in {taker.serial}")
    today = shop_day(timezone.now())
    assert head.pk in {line.item for line in contents(taker, today).now_in}
    assert head.pk in {line.item for line in contents(donor, today).formerly}
