"""Taking a unit out and putting it in through the pages; what each page says about it afterwards."""

from __future__ import annotations

from copy import deepcopy
from datetime import timedelta

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from builds.actions.joining import Spot, join_unit, own_unit
from builds.actions.parting import UnitOut, part_unit, whole
from builds.certificates.record_units import left_with_units, unit_rows
from builds.models import Axle, Fitted, Parted, Unit
from builds.reports.facts import standing
from builds.reports.marks import describe
from builds.reports.reach.answer import Spot as Where
from builds.reports.reach.backwards import contents
from builds.reports.reach.cause import Cause, CauseKind, Question
from builds.reports.reach.found import reach
from builds.scenario.driver import Builder
from shop.clock import shop_day
from shop.models import Role
from shop.record.who import Who
from tests.builds.floor import person
from tests.builds.pages import Browser, text_of
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def built(floor: Floor) -> Builder:
    return floor.built("10/", "200/", "210/", "220/", "230/")


@pytest.fixture
def donor(built: Builder) -> Axle:
    return deepcopy(built).axle


@pytest.fixture
def taker(floor: Floor, built: Builder) -> Axle:
    floor.now = built.now
    return floor.axle()


@pytest.fixture
def bench(floor: Floor) -> Browser:
    return Browser(Who(floor.people["rusk"]))


def press(browser: Browser, name: str, unit: Unit, **fields: str) -> HttpResponse:
    answer: HttpResponse = browser.send(reverse(name, args=[unit.pk]), **fields)
    return answer


def carrier(axle: Axle) -> Unit:
    return own_unit(Spot(axle), "carrier")


def moved(floor: Floor, donor: Axle, taker: Axle) -> Unit:
    unit, by = carrier(donor), floor.who("rusk", "GB")
    part_unit(unit=unit, out=UnitOut("The rush goes first.", "stock", "used: run by hand"), by=by)
    join_unit(unit=whole(unit.pk), spot=Spot(taker), reason="The rush goes first.", by=by)
    return whole(unit.pk)


def test_out_and_in_by_the_pages(donor: Axle, taker: Axle, bench: Browser) -> None:
    unit = carrier(donor)
    assert (
        reverse("axle_units", args=[donor.serial]) in bench.get(reverse("axle", args=[donor.serial])).content.decode()
    )
    assert reverse("unit", args=[unit.pk]) in bench.get(reverse("axle_units", args=[donor.serial])).content.decode()
    page = bench.get(reverse("unit", args=[unit.pk]))
    wrong = press(bench, "unit_out", unit, reason="rush", to="stock", note="")
    assert wrong.status_code == 422
    assert 'value="rush"' in wrong.content.decode()
    assert "Say what happened to it" in text_of(wrong)
    done = press(bench, "unit_out", unit, reason="rush", to="stock", note="run by hand")
    assert done.status_code == 303
    assert "Take it out of" in text_of(page)
    listed = bench.get(reverse("axle_units", args=[taker.serial])).content.decode()
    assert f"Put {unit.item.mark} in" in listed
    here = f"{reverse('unit', args=[unit.pk])}?into={taker.serial}"
    assert f'value="{taker.serial}"' in bench.get(here).content.decode()
    done = press(bench, "unit_in", unit, into=taker.serial.lower(), reason="rush")
    assert done.status_code == 303
    assert whole(unit.pk).axle == taker
    life = text_of(bench.get(reverse("unit", args=[unit.pk])))
    assert f"In {taker.serial}" in life
    assert f"Formerly in {donor.serial}" in life
    assert "220 " in life


def test_straight_into_another_axle(donor: Axle, taker: Axle, bench: Browser) -> None:
    unit = carrier(donor)
    post = {"reason": "rush", "to": "axle", "note": "", "into": "TBK-99-9999-X"}
    assert "There is no axle TBK-99-9999-X" in text_of(press(bench, "unit_out", unit, **post))
    assert "Say which axle" in text_of(press(bench, "unit_out", unit, **post | {"into": " "}))
    assert press(bench, "unit_out", unit, **post | {"into": taker.serial}).status_code == 303
    assert whole(unit.pk).axle == taker


def test_a_forgotten_part_is_named_and_what_was_said_stays(donor: Axle, bench: Browser) -> None:
    unit = carrier(donor)
    rows = list(
        Fitted.objects.now().filter(host=unit.item).exclude(part__kind="drum").order_by("role").select_related("part")
    )
    said = {f"part-{row.pk}": "scrap" for row in rows} | {"reason": "dropped", "to": "scrap"}
    first = said.pop(f"part-{rows[0].pk}")
    answer = press(bench, "unit_out", unit, **said)
    assert answer.status_code == 422
    assert f"Not said: {describe(rows[0].part)}" in text_of(answer)
    assert answer.content.decode().count('<option value="scrap" selected>') == len(rows)
    told = said | {f"part-{rows[0].pk}": first}
    long = press(bench, "unit_out", unit, **told | {f"note-{rows[0].pk}": "x" * 121})
    assert "The note is longer than 120 characters" in text_of(long)
    assert Fitted.objects.now().filter(host=unit.item).count() >= len(rows)
    done = press(bench, "unit_out", unit, **told)
    assert done.status_code == 303
    assert not Fitted.objects.now().filter(host=unit.item).exists()


def test_the_donor_says_what_went_and_where_it_is_now(floor: Floor, donor: Axle, taker: Axle, bench: Browser) -> None:
    unit = moved(floor, donor, taker)
    for name in ("axle", "axle_units"):
        page = text_of(bench.get(reverse(name, args=[donor.serial])))
        _, _, formerly = page.partition("Formerly in it")
        assert unit.item.mark in formerly
        assert f"now in {taker.serial}" in formerly
    ring = Fitted.objects.now().get(host=unit.item, role="ring_gear").part
    assert ring.mark in text_of(bench.get(reverse("axle_units", args=[donor.serial])))
    assert ring.mark in text_of(bench.get(reverse("axle", args=[taker.serial])))


def test_the_record_of_both_axles(floor: Floor, donor: Axle, taker: Axle) -> None:
    unit = moved(floor, donor, taker)
    ring = Fitted.objects.now().get(host=unit.item, role="ring_gear").part
    gone = {row["mark"]: row for row in left_with_units(donor)}
    assert gone[ring.mark]["until"]
    assert gone[ring.mark]["taken_out_because"] == "The rush goes first."
    assert gone[ring.mark]["went_to"] == f"with carrier {unit.item.mark} as a whole, in stock"
    assert left_with_units(taker) == []
    (came,) = unit_rows(taker)
    assert (came["unit"], came["until"], came["built_to"]) == (unit.item.mark, "", "sorrel_960/D")
    (left,) = unit_rows(donor)
    assert (left["unit"], bool(left["until"])) == (unit.item.mark, True)


def test_the_reach_list_and_the_backwards_view_follow_the_unit(floor: Floor, donor: Axle, taker: Axle) -> None:
    unit = moved(floor, donor, taker)
    ring = Fitted.objects.now().get(host=unit.item, role="ring_gear").part
    found = reach(Question([Cause(CauseKind.ITEM, (ring.pk,), "ring")]))
    assert {row.axle for row in found.at_spot(Where.FLOOR)} == {taker.serial}
    (former,) = found.at_spot(Where.FORMERLY)
    assert (former.axle, former.mark, former.where) == (donor.serial, unit.item.mark, f"now in {taker.serial}")
    today = shop_day(timezone.now())
    assert ring.pk in {line.item for line in contents(taker, today).now_in}
    assert ring.pk in {line.item for line in contents(donor, today).formerly}
    assert ring.pk in {line.item for line in contents(donor, today - timedelta(days=1)).now_in}
    hand = Question([Cause(CauseKind.PERSON, (floor.people["rusk"].pk,), "rusk")])
    assert taker.serial in {row.axle for row in reach(hand).at_spot(Where.FLOOR)}


def test_the_floor_counts_its_work_where_it_is(floor: Floor, donor: Axle, taker: Axle) -> None:
    moved(floor, donor, taker)
    now = timezone.now()
    assert standing(taker, now).slots["230/"].finished
    assert not standing(donor, now).slots["230/"].finished


def test_somebody_without_a_role_reads_and_moves_nothing(donor: Axle) -> None:
    browser, unit = Browser(person(Role.OFFICE)), carrier(donor)
    page = text_of(browser.get(reverse("unit", args=[unit.pk])))
    assert "What was done on it" in page
    assert "Take it out of" not in page
    assert browser.post(reverse("unit_out", args=[unit.pk]), {"reason": "x", "to": "stock"}).status_code == 403
    assert not Parted.objects.exists()
