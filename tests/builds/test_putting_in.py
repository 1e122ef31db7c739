"""A part that went out between the closing and the leaving: another one in its place, told beside the frozen record;
or, where readings would speak of another part, why not, and the way out of the build."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from builds.actions.booking import free_places
from builds.actions.closing import certify, close_axle, frozen_bytes
from builds.actions.deciding import Decided, decide
from builds.actions.links import make_link
from builds.actions.putting_in import empty_places, put_in
from builds.actions.receiving import NewPart, take_in_part
from builds.actions.removing import Out, remove_part
from builds.actions.shipping import Going, ship
from builds.actions.tagging import tag_axle
from builds.errors import MovedOn, NotReady, WrongKind
from builds.models import Axle, Closing, Fitted, Phase, Shipment
from builds.reports.checking import check_fingerprint
from builds.reports.returns.inside import inside
from builds.reports.returns.then_and_now import then_and_now
from builds.scenario.driver import Builder
from shop.errors import Refusal
from shop.models import Item, PartKind, Place, Supplier
from shop.record import replay
from tests.builds.pages import Browser, text_of
from tests.shopfloor import THIRD, Floor, open_shop

pytestmark = pytest.mark.django_db
SAYS = r"is not in .* any more: it was taken out after the record was closed"


@dataclass
class House:
    """A closed and certified axle that is still here. The card's table names its worm and wheel, and not its plate."""

    floor: Floor
    builder: Builder
    closing: Closing

    @property
    def axle(self) -> Axle:
        return Axle.objects.select_related("line__order", "revision__model").get(pk=self.builder.axle.pk)

    def out(self, role: str, to: str = "scrap", note: str = "") -> Fitted:
        rows = Fitted.objects.now().select_related("part", "host", "axle__item", "axle__revision__model")
        fitted = rows.get(axle=self.axle, role=role)
        by = self.floor.who("rusk")
        remove_part(fitted=fitted, out=Out("bent", to, note), by=by, now=self.later())
        return fitted

    def put(self, was: Fitted, scan: str, who: str = "calla", reason: str = "the new one is straight") -> Fitted:
        return put_in(axle=self.axle, was=was, scan=scan, reason=reason, by=self.floor.who(who), now=self.later())

    def ship(self) -> Shipment:
        by = self.floor.who("jory")
        going, now = Going("A Consignee", "A Carrier"), self.later()
        return ship(axle=self.axle, going=going, grant=self.builder.grant(by, "released"), by=by, now=now)

    def later(self) -> datetime:
        self.builder.now += timedelta(minutes=1)
        return self.builder.now


@pytest.fixture(scope="module")
def house(once_per_module: None) -> House:
    floor = open_shop(THIRD)
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run()
    builder.now += timedelta(hours=1)
    closing = close_axle(axle=Axle.objects.get(pk=builder.axle.pk), by=floor.who("calla"), now=builder.now)
    quality = floor.who("ingrith")
    certify(closing=closing, grant=builder.grant(quality, "released"), by=quality, now=builder.now)
    return House(floor, builder, closing)


def taken_in(house: House, kind: str, mark: str, set_mark: str = "") -> Item:
    maker = Supplier.objects.get(code="AGF")
    new = NewPart(mark, PartKind.objects.get(code=kind), maker, set_mark=set_mark)
    return take_in_part(part=new, by=house.floor.who("jory"), now=house.builder.now).item


def test_another_one_is_put_in_and_the_axle_leaves_with_its_record_untouched(house: House) -> None:
    frozen, old, new = frozen_bytes(house.closing), house.out("plate"), taken_in(house, "plate", "PLATE-2")
    with pytest.raises(NotReady, match=SAYS):  # the fault as it was: from here on nothing could be done
        house.ship()
    row = house.put(old, "PLATE-2")
    assert (row.after_closing, row.part, row.host, row.role) == (True, new, old.host, "plate")
    assert Place.objects.get(pk=new.pk).host == old.host
    assert empty_places(house.axle) == []
    assert house.ship().axle.phase == Phase.GONE
    assert frozen_bytes(Closing.objects.get(pk=house.closing.pk)) == frozen
    assert replay.check()[1] == []


def test_what_it_left_with_is_what_was_put_in(house: House) -> None:
    old, new = house.out("plate"), taken_in(house, "plate", "PLATE-2")
    house.put(old, "PLATE-2")
    house.ship()
    left_with = {item for _, item in inside([house.axle.pk])}
    assert new.pk in left_with
    assert old.part_id not in left_with
    (place,) = then_and_now(house.axle).changed
    assert place.then is not None
    assert place.now is not None
    assert (place.then.part, place.now.part) == (old.part, new)


def test_the_same_one_goes_back(house: House) -> None:
    old = house.out("plate", "stock", "taken off to look behind it")
    assert house.put(old, old.part.mark).part == old.part
    assert house.ship().axle.phase == Phase.GONE


def test_where_readings_would_speak_of_another_part_it_says_so_and_the_axle_is_scrapped(house: House) -> None:
    old, _ = house.out("worm"), taken_in(house, "worm", "W-9", "AG-9")
    with pytest.raises(NotReady, match=r"operation 47, 57 of .* would be to do again, and its record is closed"):
        house.put(old, "W-9")
    (place,) = empty_places(house.axle)
    assert place.why_not
    tag = tag_axle(axle=house.axle, cause="no worm", by=house.floor.who("calla"), now=house.later())
    by, free = house.floor.who("wenzel"), free_places(house.axle.line)
    what, now = Decided("scrap", "its worm is broken", whole_axle=True), house.later()
    decide(tag=tag, decided=what, grant=house.builder.grant(by, "released"), by=by, now=now)
    axle = house.axle
    assert (axle.phase, axle.scrapped_at is not None, free_places(axle.line)) == (Phase.RETIRED, True, free + 1)
    with pytest.raises(NotReady, match="Only a certified axle is shipped"):
        house.ship()
    answer = check_fingerprint(axle.serial, house.closing.sha256)
    assert "it was scrapped in our house and never sent" in answer.since
    assert answer.in_doubt
    assert replay.check()[1] == []


def test_control_its_plate_is_named_by_no_row(house: House) -> None:
    """So that the refusal above is of the worm's row."""
    old, _ = house.out("plate"), taken_in(house, "plate", "PLATE-2")
    assert house.put(old, "PLATE-2")


def test_one_place_takes_one(house: House) -> None:
    old, _ = house.out("plate"), [taken_in(house, "plate", f"PLATE-{number}") for number in (2, 3)]
    house.put(old, "PLATE-2")
    with pytest.raises(MovedOn, match="Nothing is missing there"):
        house.put(old, "PLATE-3")


@pytest.mark.parametrize(
    ("scan", "who", "reason", "said"),
    [
        ("FLANGE-2", "calla", "why", "is no"),
        ("NOBODY", "calla", "why", "Nothing here carries the mark"),
        ("PLATE-2", "calla", " ", "The reason is empty"),
        ("PLATE-2", "rusk", "why", "This needs"),
    ],
)
def test_what_is_refused(house: House, scan: str, who: str, reason: str, said: str) -> None:
    taken_in(house, "plate", "PLATE-2")
    taken_in(house, "stub_flange", "FLANGE-2")
    old = house.out("plate")
    with pytest.raises(Refusal, match=said):
        house.put(old, scan, who, reason)
    assert not Fitted.objects.filter(axle=house.axle, after_closing=True).exists()


def test_not_while_the_record_is_open_nor_once_it_has_left(house: House) -> None:
    old, _ = house.out("plate"), taken_in(house, "plate", "PLATE-2")
    other = house.floor.axle()
    with pytest.raises(NotReady, match=r"is open\. Fit the part at its operation"):
        put_in(axle=other, was=old, scan="PLATE-2", reason="why", by=house.floor.who("calla"))
    Axle.objects.filter(pk=house.axle.pk).update(phase=Phase.GONE)
    with pytest.raises(NotReady, match=r"has left\. What is changed on it since is an exchange"):
        house.put(old, "PLATE-2")


def test_another_kind_is_refused(house: House) -> None:
    taken_in(house, "stub_flange", "FLANGE-2")
    old = house.out("plate")
    with pytest.raises(WrongKind, match=r"is no .*, and no interchange rule"):
        house.put(old, "FLANGE-2")


def test_by_the_closing_page_and_told_on_the_file_the_check_page_and_the_customers(house: House) -> None:
    old, _ = house.out("plate"), taken_in(house, "plate", "PLATE-2")
    serial, browser = house.axle.serial, Browser(house.floor.who("calla"))
    page, there = reverse("closing", args=[serial]), reverse("closing_put_in", args=[serial, old.pk])
    said = text_of(browser.get(page))
    assert "is not in" in said
    assert "Goes in" in said
    wrong = browser.send(there, scan="PLATE-2", reason="")
    assert wrong.status_code == 422
    assert "The reason is empty" in text_of(wrong)
    assert 'value="PLATE-2"' in wrong.content.decode()
    assert browser.send(there, scan="PLATE-2", reason="bent by the forklift").status_code == 303
    assert "Goes in" not in text_of(browser.get(page))
    file = text_of(browser.get(reverse("axle", args=[serial])))
    assert "PLATE-2" in file
    assert f"plate {old.part.mark}" in file
    checked = check_fingerprint(serial, house.closing.sha256)
    assert checked.since == ("parts of it were exchanged or taken out",)
    _, token = make_link(order=house.axle.line.order, days=30, by=house.floor.who("mirelle"))
    customer = Client()
    customer.post(reverse("customer_enter"), {"token": token})
    told = text_of(customer.get(reverse("customer_order")))
    assert f"plate: {old.part.mark} as its certificate says; PLATE-2 now" in told


def test_a_worker_reads_who_puts_it_in_and_cannot(house: House) -> None:
    old = house.out("plate")
    serial, rusk = house.axle.serial, Browser(house.floor.who("rusk"))
    assert "put in here by the inspector, the engineer or quality" in text_of(
        rusk.get(reverse("closing", args=[serial]))
    )
    answer = rusk.send(reverse("closing_put_in", args=[serial, old.pk]), scan="x", reason="y")
    assert answer.status_code in (403, 404)


def test_the_page_says_why_none_may_be_put_in(house: House) -> None:
    house.out("worm")
    said = text_of(Browser(house.floor.who("calla")).get(reverse("closing", args=[house.axle.serial])))
    assert "operation 47, 57" in said
    assert "Goes in" not in said
