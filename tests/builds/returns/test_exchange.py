"""Parts and units exchanged by serial after an axle has left: then and now, the record untouched, and refusals."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.actions.closing import certify, close_axle
from builds.actions.exchanging import Swap, exchange
from builds.actions.joining import Spot, join_unit, own_unit
from builds.actions.kitting import return_part
from builds.actions.links import make_link
from builds.actions.parting import UnitOut, part_unit, whole
from builds.actions.receiving import NewPart, take_in_part
from builds.actions.shipping import Going, ship
from builds.actions.tagging import Wrong, open_tag
from builds.certificates.record import full_record
from builds.errors import Elsewhere, NotFree, NotReady, OtherSet, WrongKind
from builds.models import Axle, Closing, Fitted, Joined, KitLine, Parted, Removal, Unit
from builds.reports.reach.answer import Spot as Where
from builds.reports.reach.backwards import contents
from builds.reports.reach.cause import Cause, CauseKind, Question
from builds.reports.reach.found import reach
from builds.reports.returns.inside import inside
from builds.reports.returns.then_and_now import then_and_now
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, PartKind, Person, Place, Supplier
from shop.record import replay
from shop.record.models import Event
from shop.record.who import Who
from tests.builds.pages import Browser, text_of
from tests.shopfloor import THIRD, Floor, open_shop

pytestmark = pytest.mark.django_db


@dataclass
class Field:
    """An axle that has left, one still in the house, and in stock a finished stub and a core of another gear set."""

    floor: Floor
    axle: Axle
    here: Axle
    stub: Unit
    core: Unit

    @property
    def by(self) -> Who:
        return self.floor.who("calla")

    def now_in(self, role: str) -> Fitted:
        return Fitted.objects.now().select_related("part", "host").get(axle=self.axle, role=role)

    def swap(self, *swaps: Swap, reason: str = "worn in the field") -> list[Item]:
        return exchange(axle=self.axle, swaps=swaps, reason=reason, by=self.by)


@pytest.fixture(scope="module")
def field(once_per_module: None) -> Field:
    return field_of(THIRD)


def field_of(card: Path) -> Field:
    floor = open_shop(card)
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run()
    later = builder.now + timedelta(hours=1)
    closing = close_axle(axle=Axle.objects.get(pk=builder.axle.pk), by=floor.who("calla"), now=later)
    quality, shipper = floor.who("ingrith"), floor.who("jory")
    builder.now = later
    certify(closing=closing, grant=builder.grant(quality, "released"), by=quality, now=later)
    going = Going("A Consignee", "A Carrier")
    ship(axle=builder.axle, going=going, grant=builder.grant(shipper, "released"), by=shipper, now=later)
    floor.now = later
    other = floor.builder(floor.axle())
    other.kit()
    for key in ("7/", "17/left", "27/left", "37/left", "47/"):
        other.do(key)
    units = []
    for role, side in (("stub", "left"), ("core", "")):
        unit = own_unit(Spot(other.axle, side), role)
        part_unit(unit=unit, out=UnitOut("spare", "stock", "new, not used"), by=floor.who("wenzel"))
        units.append(whole(unit.pk))
    return Field(floor, Axle.objects.get(pk=builder.axle.pk), other.axle, *units)


def receiver() -> Who:
    return Who(Person.objects.get(code="jory"))


def taken_in(kind: str, mark: str, set_mark: str = "") -> Item:
    maker = Supplier.objects.get(code="AGF")
    new = NewPart(mark, PartKind.objects.get(code=kind), maker, set_mark=set_mark)
    return take_in_part(part=new, by=receiver()).item


def test_a_part_is_exchanged_and_both_stay_on_record(field: Field) -> None:
    old, new = field.now_in("plate"), taken_in("plate", "PLATE-2")
    sealed = Closing.objects.values_list("sha256").get(axle=field.axle)
    assert field.swap(Swap(old, "PLATE-2", "scrap")) == [new]
    out, row = Removal.objects.get(fitted=old), field.now_in("plate")
    assert (out.after_closing, row.after_closing, row.part, row.axle) == (True, True, new, field.axle)
    assert Place.objects.get(pk=new.pk).host == old.host
    (place,) = then_and_now(field.axle).changed
    assert place.then is not None
    assert place.now is not None
    assert (place.then.part, place.now.part) == (old.part, new)
    assert Closing.objects.values_list("sha256").get(axle=field.axle) == sealed
    assert replay.check()[1] == []
    found = reach(Question([Cause(CauseKind.ITEM, (old.part_id,), "old plate")]))
    assert [row.axle for row in found.at_spot(Where.FORMERLY)] == [field.axle.serial]


def test_one_place_only(field: Field) -> None:
    new = taken_in("plate", "PLATE-3")
    open_tag(wrong=Wrong(new, "bent"), by=field.by)
    with pytest.raises(NotFree, match="bent"):
        field.swap(Swap(field.now_in("plate"), "PLATE-3", "scrap"))
    fitted = Fitted.objects.now().filter(host=field.stub.item, part__kind="part")[0].part
    flange = field.now_in("flange")
    with pytest.raises(Elsewhere, match="already fitted in"):
        field.swap(Swap(flange, f"{fitted.maker}/{fitted.mark}", "scrap"))
    assert not Removal.objects.filter(fitted=flange).exists()


def test_another_kind_is_refused_and_names_the_card(field: Field) -> None:
    taken_in("plate", "PLATE-4")
    with pytest.raises(WrongKind, match=r"is no stub flange, and no interchange rule of .* takes it for one"):
        field.swap(Swap(field.now_in("flange"), "PLATE-4", "scrap"))


def test_a_matched_set_goes_together(field: Field) -> None:
    wheel, worm = field.now_in("wheel"), field.now_in("worm")
    taken_in("wheel", "W-9", "AG-9")
    taken_in("worm", "W-9", "AG-9")
    with pytest.raises(OtherSet):
        field.swap(Swap(wheel, "W-9", "scrap"))
    field.swap(Swap(wheel, "W-9", "scrap"), Swap(worm, "W-9", "stock", "used, not hurt"))
    assert {place.role for place in then_and_now(field.axle).changed} == {"wheel", "worm"}


def test_a_unit_is_exchanged_with_all_that_is_in_it(field: Field) -> None:
    old = own_unit(Spot(field.axle, "left"), "stub")
    parts = set(Fitted.objects.now().filter(host=field.stub.item).values_list("part", flat=True))
    before = full_record(field.axle, timezone.now())["operations"]
    field.swap(Swap(old, field.stub.item.mark, "quarantine"))
    kept = whole(field.stub.pk)
    assert (kept.axle, kept.side, kept.revision) == (field.axle, "left", field.axle.revision)
    assert whole(old.pk).axle is None
    assert Parted.objects.get(unit=old).after_closing
    assert Joined.objects.get(unit=kept).after_closing
    file = then_and_now(field.axle)
    assert {place.role for place in file.changed} == {"tube", "flange", "wire"}
    assert all(place.now is not None and place.now.part_id in parts for place in file.changed)
    assert full_record(field.axle, timezone.now())["operations"] == before
    left_with = {item for _, item in inside([field.axle.pk])}
    assert old.pk in left_with
    assert kept.pk not in left_with
    today = shop_day(timezone.now())
    assert kept.pk in {line.item for line in contents(field.axle, today).now_in}
    assert old.pk in {line.item for line in contents(field.axle, today).formerly}
    assert replay.check()[1] == []
    page = Browser(field.by).get(reverse("axle", args=[field.axle.serial])).content.decode()
    parts_in_it, formerly = (page.partition(f'id="{name}"')[2].partition("</section>")[0] for name in ("parts", "gone"))
    assert kept.item.mark in parts_in_it
    assert old.item.mark not in parts_in_it
    assert old.item.mark in formerly


def test_a_unit_out_of_a_closed_record_joins_no_new_axle(field: Field) -> None:
    old = own_unit(Spot(field.axle, "left"), "stub")
    field.swap(Swap(old, field.stub.item.mark, "stock", "two years on the road"))
    with pytest.raises(NotFree, match=f"closed record of {field.axle.serial}"):
        join_unit(unit=whole(old.pk), spot=Spot(field.here, "left"), reason="cheap", by=field.floor.who("wenzel"))


def test_a_units_gears_must_match_what_stays(field: Field) -> None:
    old = own_unit(Spot(field.axle), "core")
    with pytest.raises(OtherSet):
        field.swap(Swap(old, field.core.item.mark, "scrap"))
    line = KitLine.objects.select_related("part").get(axle=field.here, role="worm", returned_at=None)
    return_part(line=line, by=receiver())  # the mate of the gear that is in the core
    mate = f"{line.part.maker}/{line.part.mark}"
    field.swap(Swap(old, field.core.item.mark, "scrap"), Swap(field.now_in("worm"), mate, "scrap"))
    assert whole(field.core.pk).axle == field.axle


def test_an_unfinished_unit_stays_in_the_house(field: Field) -> None:
    fresh = own_unit(Spot(field.here, "left"), "stub")
    part_unit(unit=fresh, out=UnitOut("spare", "stock", "empty"), by=field.floor.who("wenzel"))
    old = own_unit(Spot(field.axle, "left"), "stub")
    with pytest.raises(NotReady, match="not finished: operation 17, 27, 37"):
        field.swap(Swap(old, fresh.item.mark, "scrap"))
    assert whole(old.pk).axle == field.axle


def test_only_what_has_left_is_serviced(field: Field) -> None:
    taken_in("plate", "PLATE-8")
    swap = Swap(field.now_in("plate"), "PLATE-8", "scrap")
    with pytest.raises(NotReady, match="has not left"):
        exchange(axle=field.here, swaps=[swap], reason="worn", by=field.by)


@pytest.mark.parametrize(
    ("to", "note", "reason", "said"),
    [
        ("moon", "", "worn", "where the old one goes"),
        ("stock", "", "worn", "what happened to the old one"),
        ("scrap", "", " ", "why it is exchanged"),
        ("scrap", "n" * 121, "worn", "longer than 120"),
        ("scrap", "", "r" * 301, "longer than 300"),
    ],
)
def test_what_is_not_said_is_asked(field: Field, to: str, note: str, reason: str, said: str) -> None:
    taken_in("plate", "PLATE-5")
    events = Event.objects.count()
    with pytest.raises(Refusal, match=said):
        field.swap(Swap(field.now_in("plate"), "PLATE-5", to, note), reason=reason)
    assert Event.objects.count() == events


def test_nothing_and_the_same_thing_twice(field: Field) -> None:
    with pytest.raises(Refusal, match="Say what comes out"):
        field.swap()
    taken_in("plate", "PLATE-6")
    plate = field.now_in("plate")
    with pytest.raises(Refusal, match="stands there twice"):
        field.swap(Swap(plate, "PLATE-6", "scrap"), Swap(plate, "PLATE-6", "scrap"))


def posted(browser: Browser, axle: Axle, **fields: str) -> HttpResponse:
    answer: HttpResponse = browser.send(reverse("returns_exchange", args=[axle.serial]), **fields)
    return answer


def test_by_the_returns_page_and_told_on_the_customers(field: Field) -> None:
    old, browser = field.now_in("plate"), Browser(field.by)
    taken_in("plate", "PLATE-7")
    page = browser.get(reverse("returns_of", args=[field.axle.serial])).content.decode()
    assert f'value="part-{old.pk}"' in page
    asked = {"old1": f"part-{old.pk}", "scan1": "PLATE-7", "to1": "stock", "note1": "", "reason": "bent by a stone"}
    wrong = posted(browser, field.axle, **asked)
    assert wrong.status_code == 422
    assert "Say what happened to the old one" in text_of(wrong)
    assert 'value="PLATE-7"' in wrong.content.decode()
    assert 'value="bent by a stone"' in wrong.content.decode()
    assert posted(browser, field.axle, **asked | {"note1": "bent"}).status_code == 303
    then = text_of(browser.get(reverse("returns_of", args=[field.axle.serial])))
    assert then.index(old.part.mark) < then.index("PLATE-7")
    link, token = make_link(order=field.axle.line.order, days=30, by=field.floor.who("mirelle"))
    customer = Client()
    customer.post(reverse("customer_enter"), {"token": token})
    told = text_of(customer.get(reverse("customer_order")))
    assert link.order == field.axle.line.order
    assert f"plate: {old.part.mark} as its certificate says; PLATE-7 now" in told


@pytest.mark.parametrize("old", ["part-0", "unit-x", "part-99999999999999999999", "", "unit-1"])
def test_what_is_not_in_it_is_no_error(field: Field, old: str) -> None:
    answer = posted(Browser(field.by), field.axle, old1=old, scan1="NOTHING", to1="scrap", reason="worn")
    assert answer.status_code == 422
