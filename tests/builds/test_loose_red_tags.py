"""Red tags on what is in no axle: opened on its page, decided on the tag's page, and what each decision does."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.hashers import make_password

from builds.actions.fitting import fit_part
from builds.actions.kitting import kit_part
from builds.actions.loose import tag_loose
from builds.certificates.record_parts import tag_facts, tag_rows
from builds.errors import NotFree, NotYours
from builds.forms.deciding import DecideForm
from builds.models import Axle, Disposition, KitLine, Phase, RedTag, Revision
from shop.errors import Refusal
from shop.models import Heat, Item, Part, Place, Role
from shop.record.models import Event
from shop.record.who import SYSTEM, Who
from tests.builds.floor import axle, bar, drum, heat, lot, part, person, released, visit
from tests.builds.pages import Browser, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def revision() -> Revision:
    return released()


@pytest.fixture
def shaft() -> Part:
    return part("shaft", "S-1")


@pytest.fixture
def painter() -> Browser:
    """Somebody of the shop who decides nothing and takes nothing in."""
    return Browser(person(Role.PAINTER))


def engineer() -> Who:
    who = person(Role.ENGINEER)
    assert who.person is not None
    who.person.pin_hash = make_password("135790")
    who.person.save()
    return who


def tagged(item: Item, cause: str = "bent") -> RedTag:
    return tag_loose(item=item, cause=cause, by=person(Role.PAINTER))


def decide_by_page(tag: RedTag, decision: str, **more: str) -> Any:
    fields = {"decision": decision, "reason": "looked at it", "pin": "135790", "meaning": "released"} | more
    return Browser(engineer()).send(f"/red-tags/{tag.number}/", **fields)


def where(item: Item) -> str:
    return Place.objects.get(pk=item.pk).where


def test_the_drawer_leads_to_the_part_and_the_part_to_its_tag(painter: Browser, shaft: Part) -> None:
    assert f"/stock/items/{shaft.pk}/" in Browser(person(Role.RECEIVER)).get("/stock/").content.decode()
    response = painter.send(f"/stock/items/{shaft.pk}/tag/", cause="bent in the crate")
    tag = RedTag.objects.get()
    assert (response.status_code, response["Location"]) == (303, f"/red-tags/{tag.number}/")
    assert where(shaft.item) == "red_tag"
    assert "bent in the crate" in text_of(painter.get(f"/stock/items/{shaft.pk}/"))
    assert "does not hold that role today" in text_of(painter.get(f"/red-tags/{tag.number}/"))


@pytest.mark.parametrize("cause", ["", "   ", "x" * 401])
def test_a_cause_that_says_nothing_opens_no_tag(painter: Browser, shaft: Part, cause: str) -> None:
    response = painter.send(f"/stock/items/{shaft.pk}/tag/", cause=cause)
    assert response.status_code == 422
    assert "f-tag-cause-error" in response.content.decode()
    assert (RedTag.objects.count(), where(shaft.item)) == (0, "stock")


@pytest.mark.parametrize(
    ("decision", "lies"),
    [
        ("use_as_is", "stock"), ("rework", "stock"), ("repair", "stock"),
        ("scrap", "scrap"), ("return", "supplier"),
    ],
)  # fmt: skip
def test_each_decision_puts_it_where_it_says(shaft: Part, decision: str, lies: str) -> None:
    response = decide_by_page(tagged(shaft.item), decision)
    assert (response.status_code, where(shaft.item)) == (303, lies)
    assert Disposition.objects.get().decision == decision


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"decision": ""}, "Choose a decision"),
        ({"decision": "burn"}, "is not one of the available choices"),
        ({"reason": " "}, "Say why"),
        ({"pin": "000000"}, "This is not the PIN"),
        ({"pin": ""}, "This is not the PIN"),
    ],
)
def test_a_decision_that_lacks_something_changes_nothing(shaft: Part, change: dict[str, str], said: str) -> None:
    response = decide_by_page(tagged(shaft.item), **{"decision": "scrap"} | change)
    assert (response.status_code, where(shaft.item)) == (422, "red_tag")
    assert said in text_of(response)
    assert not Disposition.objects.exists()


def test_who_decides_nothing_is_refused(shaft: Part, painter: Browser) -> None:
    tag = tagged(shaft.item)
    who = person(Role.RECEIVER)
    assert who.person is not None
    who.person.pin_hash = make_password("135790")
    who.person.save()
    fields = {"decision": "use_as_is", "reason": "fine", "pin": "135790", "meaning": "released"}
    response = Browser(who).send(f"/red-tags/{tag.number}/", **fields)
    assert (response.status_code, where(shaft.item)) == (422, "red_tag")


def test_a_tagged_part_leaves_its_kit_and_the_kit_is_short(revision: Revision, shaft: Part) -> None:
    built, receiver = axle(revision), person(Role.RECEIVER)
    kit_part(axle=built, scan="S-1", by=receiver)
    tagged(shaft.item)
    assert (where(shaft.item), KitLine.objects.filter(returned_at=None).count()) == ("red_tag", 0)
    with pytest.raises(NotFree, match="bent"):
        kit_part(axle=built, scan="S-1", by=receiver)
    decide_by_page(RedTag.objects.get(), "use_as_is")
    assert kit_part(axle=built, scan="S-1", by=receiver)


def test_a_whole_kit_that_loses_a_part_is_booked_again(revision: Revision, shaft: Part) -> None:
    built = axle(revision)
    kit_part(axle=built, scan="S-1", by=person(Role.RECEIVER))
    Axle.objects.filter(pk=built.pk).update(phase=Phase.KITTED)
    tagged(shaft.item)
    assert Axle.objects.get(pk=built.pk).phase == Phase.BOOKED


def test_a_fitted_part_is_stopped_with_its_axle(revision: Revision, shaft: Part, painter: Browser) -> None:
    built = axle(revision)
    work = visit(built, 40)
    fit_part(visit=work, scan="S-1", by=Who(work.claimed_by))
    response = painter.send(f"/stock/items/{shaft.pk}/tag/", cause="bent")
    assert response.status_code == 409
    assert f"fitted in {built.serial}" in text_of(response)
    assert not RedTag.objects.exists()
    assert f"In {built.serial}" in text_of(painter.get(f"/stock/items/{shaft.pk}/"))


def test_a_tag_on_a_unit_stops_its_axle(revision: Revision, painter: Browser) -> None:
    built = axle(revision)
    unit = built.units.order_by("pk")[0]
    painter.send(f"/stock/items/{unit.pk}/tag/", cause="dropped")
    tag = RedTag.objects.get()
    assert (tag.axle_id, tag.item_id, tag.stops_axle) == (built.pk, unit.pk, True)


def test_a_tag_on_a_lot_stops_its_drum(revision: Revision) -> None:
    opened = drum()
    work = visit(axle(revision), 30)
    by = Who(work.claimed_by)
    tagged(opened.lot.item, "gone hard")
    with pytest.raises(NotFree, match="lot of grease GR-1 of PEL has red tag 1 open: gone hard"):
        fit_part(visit=work, scan=opened.item.mark, by=by)
    decide_by_page(RedTag.objects.get(), "scrap")
    with pytest.raises(NotFree, match="in the scrap bin"):
        fit_part(visit=work, scan=opened.item.mark, by=by)


def test_a_drum_of_a_good_lot_goes_in(revision: Revision) -> None:
    """The control of the test above: nothing but the tag stops it."""
    opened = drum()
    work = visit(axle(revision), 30)
    assert fit_part(visit=work, scan=opened.item.mark, by=Who(work.claimed_by))


def test_a_tag_on_a_heat_stops_its_bars_and_scrap_refuses_it(revision: Revision) -> None:
    steel = heat("Q1")
    bar("BAR-1", steel)
    built, receiver = axle(revision), person(Role.RECEIVER)
    tag = tagged(steel.item, "mill recalls it")
    with pytest.raises(NotFree, match="mill recalls it"):
        kit_part(axle=built, scan="BAR-1", by=receiver)
    decide_by_page(tag, "return")
    assert Heat.objects.get().status == "refused"
    with pytest.raises(Refusal, match="refused"):
        kit_part(axle=built, scan="BAR-1", by=receiver)


def test_of_two_tags_both_are_decided_before_it_goes_back(shaft: Part) -> None:
    first, second = tagged(shaft.item), tagged(shaft.item, "rust too")
    decide_by_page(first, "use_as_is")
    assert where(shaft.item) == "red_tag"
    decide_by_page(second, "rework")
    assert where(shaft.item) == "stock"


def test_nobody_is_no_author(shaft: Part) -> None:
    with pytest.raises(NotYours, match="Nobody is signed in"):
        tag_loose(item=shaft.item, cause="bent", by=SYSTEM)


def test_a_double_press_opens_one_tag(painter: Browser, shaft: Part) -> None:
    key = painter.key_on(f"/stock/items/{shaft.pk}/")
    for _ in range(2):
        answer = painter.send(f"/stock/items/{shaft.pk}/tag/", cause="bent", submission=key)
        assert answer.status_code == 303
    assert RedTag.objects.count() == 1


def test_pages_of_things_that_are_not_loose_are_not_here(revision: Revision, painter: Browser) -> None:
    built = axle(revision)
    assert painter.get(f"/stock/items/{built.pk}/").status_code == 404
    assert painter.get("/stock/items/999999/").status_code == 404


def test_every_kind_of_thing_has_its_page(revision: Revision, painter: Browser) -> None:
    unit = axle(revision).units.order_by("pk")[0]
    steel = heat("Q1")
    for item in (unit.item, part("shaft", "S-9").item, bar("BAR-1", steel).item, lot().item, drum().item, steel.item):
        before = Event.objects.count()
        page = text_of(painter.get(f"/stock/items/{item.pk}/"))
        assert item.mark in page
        assert "Something is wrong with it" in page
        assert Event.objects.count() == before


def test_half_an_agreement_is_asked_for_whole() -> None:
    """The customer's yes is never lost without a word: who alone is no agreement."""
    tag = RedTag(item=Item(), axle=None)
    half = DecideForm(tag, {"decision": "use_as_is", "reason": "fits", "agreed_by": "A. Buyer"})
    assert set(half.errors) == {"agreed_on", "agreed_how"}
    whole = {"agreed_by": "A. Buyer", "agreed_on": "2025-11-20", "agreed_how": "letter"}
    form = DecideForm(tag, {"decision": "use_as_is", "reason": "fits", **whole})
    assert form.is_valid()
    assert form.decided.agreement is not None


def test_a_label_scanned_where_no_operation_is_open_leads_to_its_page(shaft: Part, painter: Browser) -> None:
    tag = tagged(shaft.item)
    answer = painter.send("/scan/", scan="~P:S-1")
    assert (answer.status_code, answer["Location"]) == (302, f"/stock/items/{shaft.pk}/")
    assert painter.send("/scan/", scan=f"~T:{tag.number}")["Location"] == f"/red-tags/{tag.number}/"
    for unknown in ("~P:NOBODY", "~T:999", "~T:X1", "~L:NONE"):
        assert painter.send("/scan/", scan=unknown).status_code == 422


def test_what_was_accepted_loose_is_told_by_the_axle_that_takes_it(revision: Revision, shaft: Part) -> None:
    """The certificate names the red tag that lay on a part before it came in; the control is one on another part."""
    other = tagged(part("shaft", "S-2").item, "scratched")
    decide_by_page(tagged(shaft.item, "bent"), "use_as_is")
    work = visit(axle(revision), 40)
    assert work.axle is not None
    assert tag_rows(work.axle) == []
    fit_part(visit=work, scan="S-1", by=Who(work.claimed_by))
    told = [(row["item"], row["cause"], row["decision"]) for row in map(tag_facts, tag_rows(work.axle))]
    assert told == [("S-1", "bent", "use as is")]
    assert other.item.mark == "S-2"
