"""The material drawer by page (builds.views.stock)."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.hashers import make_password
from django.utils import timezone

from builds.models import Revision
from builds.reports.labels import label_for
from shop.clock import shop_day
from shop.models import Drum, Heat, Item, Lot, Part, Piece, Role
from shop.record.models import Event, Signature
from shop.record.who import Who
from tests.builds.floor import axle, bar, drum, heat, kind, lot, part, person, released, supplier
from tests.builds.pages import Browser, text_of

pytestmark = pytest.mark.django_db

HEAT = "/stock/heats/new/small_axle/A/tube_stock/"


@pytest.fixture(autouse=True)
def card() -> None:
    released()


@pytest.fixture
def receiver() -> Browser:
    return Browser(person(Role.RECEIVER))


def with_pin(*roles: Role) -> Who:
    who = person(*roles)
    assert who.person is not None
    who.person.pin_hash = make_password("135790")
    who.person.save()
    return who


def heat_fields(**change: str) -> dict[str, str]:
    good = {
        "mark": "Q7714",
        "supplier": str(supplier().pk),
        "certificate": "C-1",
        "certificate_type": "3.1",
        "value-20.1": ".300",
    }
    return good | change


def test_a_certificate_is_taken_in_and_freed_by_an_inspector(receiver: Browser) -> None:
    response = receiver.send(HEAT, **heat_fields())
    row = Heat.objects.get()
    assert (response.status_code, response["Location"]) == (303, f"/stock/heats/{row.pk}/")
    assert "waits for the inspector's first look" in text_of(receiver.get(response["Location"]))
    inspector = Browser(with_pin(Role.INSPECTOR))
    assert "Free this heat" in text_of(inspector.get(f"/stock/heats/{row.pk}/"))
    assert inspector.send(f"/stock/heats/{row.pk}/free/", pin="135790", meaning="released").status_code == 303
    row.refresh_from_db()
    assert (row.status, Signature.objects.get().meaning) == ("free", "released")


def test_a_heat_out_of_limit_is_kept_as_refused(receiver: Browser) -> None:
    response = receiver.send(HEAT, **heat_fields(**{"value-20.1": ".336"}))
    said = text_of(receiver.get(response["Location"]))
    assert "is refused and set in quarantine" in said
    assert "Carbon .336 % 0.28 to 0.33 above the limit" in said
    assert "Free this heat" not in text_of(Browser(person(Role.INSPECTOR)).get(response["Location"]))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"mark": ""}, "This field is required"),
        ({"mark": "<Q>"}, "A mark begins"),
        ({"supplier": "999"}, "Select a valid choice"),
        ({"certificate": ""}, "This field is required"),
        ({"certificate_type": "9"}, "Select a valid choice"),
        ({"value-20.1": ""}, "is blank. Type what the certificate states"),
        ({"value-20.1": "0,30"}, "has a comma"),
        ({"value-20.1": "steel"}, "is not a figure"),
        ({"value-20.1": "9" * 30}, "too large"),
        ({"value-20.1": "3.0"}, "was the point in the right place"),
    ],
)
def test_a_certificate_that_cannot_be_read_keeps_what_was_typed(
    receiver: Browser, change: dict[str, str], said: str
) -> None:
    response = receiver.send(HEAT, **heat_fields(certificate="C-77 of 9 Nov") | change)
    assert response.status_code == 422
    assert said in text_of(response)
    assert change.get("certificate", "C-77 of 9 Nov") in response.content.decode()
    assert not Heat.objects.exists()


def test_a_far_off_value_is_asked_about_and_then_kept(receiver: Browser) -> None:
    fields = heat_fields(**{"value-20.1": "3.0"})
    assert "20.1 is so on the certificate" in text_of(receiver.send(HEAT, **fields))
    assert receiver.send(HEAT, **fields, **{"kept-20.1": "on"}).status_code == 303
    assert Heat.objects.get().status == "refused"


def test_a_look_alike_is_asked_about_and_then_kept(receiver: Browser) -> None:
    heat("Q7710")
    fields = heat_fields(mark="Q771O")
    assert "differs from Q7710" in text_of(receiver.send(HEAT, **fields))
    assert receiver.send(HEAT, **fields, sure="on").status_code == 303


@pytest.mark.parametrize("pin", ["", "000000", "abc", "9" * 40])
def test_a_wrong_pin_frees_nothing(pin: str) -> None:
    held = heat(free=False)
    inspector = Browser(with_pin(Role.INSPECTOR))
    response = inspector.send(f"/stock/heats/{held.pk}/free/", pin=pin, meaning="released")
    assert response.status_code == 422
    assert "This is not the PIN" in text_of(response)
    assert Heat.objects.get().status == "held"


def test_only_an_inspector_frees() -> None:
    held = heat(free=False)
    receiver = Browser(with_pin(Role.RECEIVER))
    assert receiver.send(f"/stock/heats/{held.pk}/free/", pin="135790").status_code == 403
    assert Heat.objects.get().status == "held"


def test_a_bar_a_lot_a_drum_and_a_part_are_taken_in(receiver: Browser) -> None:
    steel = heat()
    forms: list[tuple[str, dict[str, Any]]] = [
        ("bars", {"mark": "B-1", "kind": kind("tube_stock").pk, "heat": steel.pk, "mark_readable": "on"}),
        (
            "lots",
            {
                "mark": "GR-1",
                "kind": kind("grease").pk,
                "supplier": supplier().pk,
                "received_on": "2025-11-03",
            },
        ),
        ("parts", {"mark": "AG-1", "supplier": supplier().pk, "set_mark": "AG-1", "fact-pinion_mark": "+2"}),
    ]
    for name, fields in forms:
        address = f"/stock/{name}/new/" + ("pinion/" if name == "parts" else "")
        assert receiver.get(address).status_code == 200
        assert receiver.send(address, received=0, **fields).status_code == 303
    assert receiver.send("/stock/drums/new/", lot=Lot.objects.get().pk, mark="GR-1-A").status_code == 303
    said = text_of(receiver.get("/stock/"))
    assert "B-1 Tube stock Q1 – in stock" in said
    assert "GR-1-A Grease, lot GR-1" in said
    assert "AG-1 Pinion Supplier QTM AG-1 – pinion mark +2 in stock" in said


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"mark": ""}, "This field is required"),
        ({"mark": "A-MARK-THAT-IS-LONG"}, "at most 14"),
        ({"heat": ""}, "Name the heat that is stamped"),
        ({"heat": "12345"}, "Select a valid choice"),
        ({"kind": ""}, "This field is required"),
        ({"length": "0"}, "longer than nothing"),
        ({"length": "-1"}, "longer than nothing"),
        ({"length": "1,5"}, "has a comma"),
        ({"length": "long"}, "is not a figure"),
    ],
)
def test_a_bar_that_makes_no_sense_says_why(receiver: Browser, fields: dict[str, str], said: str) -> None:
    good = {"mark": "B-1", "kind": str(kind("tube_stock").pk), "heat": str(heat().pk), "mark_readable": "on"}
    response = receiver.send("/stock/bars/new/", **good | fields)
    assert response.status_code == 422
    assert said in text_of(response)
    assert not Piece.objects.exists()


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"received": "many"}, "whole number"),
        ({"received": "-1"}, "greater than or equal to 0"),
        ({"received": "9" * 20}, "less than or equal to"),
        ({"received_on": "2999-01-01"}, "lies ahead"),
        ({"expires_on": "2020-01-01"}, "expired on 01 Jan 2020"),
        ({"expires_on": "soon"}, "year-month-day"),
        ({"use_within_days": "-1"}, "greater than or equal to 0"),
        ({"use_within_days": "9"}, "is not opened"),
        ({"mark": "!"}, "A mark begins"),
    ],
)
def test_a_lot_that_makes_no_sense_says_why(receiver: Browser, fields: dict[str, str], said: str) -> None:
    good = {
        "mark": "L-1",
        "kind": str(kind("bearing").pk),
        "supplier": str(supplier().pk),
        "received_on": "2025-11-03",
        "received": "10",
    }
    response = receiver.send("/stock/lots/new/", **good | fields)
    assert response.status_code == 422
    assert said in text_of(response)
    assert not Lot.objects.exists()


def test_a_serial_taken_twice_is_a_conflict(receiver: Browser) -> None:
    part("shaft", "S-1")
    response = receiver.send("/stock/parts/new/shaft/", mark="s-1", supplier=supplier("AGF").pk)
    assert (response.status_code, Part.objects.count()) == (409, 1)
    assert "already here" in text_of(response)


def test_a_double_press_takes_in_once(receiver: Browser) -> None:
    key = receiver.key_on("/stock/parts/new/shaft/")
    for _ in range(2):
        response = receiver.send("/stock/parts/new/shaft/", mark="S-1", supplier=supplier().pk, submission=key)
        assert response.status_code == 303
    assert Part.objects.count() == 1


def test_a_drum_past_use_is_told_and_its_tag_says_the_last_day(receiver: Browser) -> None:
    opened = drum()
    Lot.objects.filter(pk=opened.lot_id).update(use_within_days=0)
    day = timezone.now() - timedelta(days=2)
    Drum.objects.filter(pk=opened.pk).update(opened_at=day)
    assert "past use" in text_of(receiver.get("/stock/"))
    assert f"May be used to the end of {shop_day(day)}" in text_of(receiver.get(f"/stock/items/{opened.pk}/"))
    assert f"use by {shop_day(day)}" in label_for(Drum.objects.get().item, "mark").lines
    Lot.objects.update(use_within_days=9)
    assert "past use" not in text_of(receiver.get("/stock/"))


def test_a_drum_is_shut_once(receiver: Browser) -> None:
    opened = drum()
    assert receiver.send(f"/stock/drums/{opened.pk}/shut/").status_code == 303
    again = receiver.send(f"/stock/drums/{opened.pk}/shut/")
    assert (again.status_code, "already shut" in text_of(again)) == (422, True)
    assert Drum.objects.get().shut_at is not None


def test_the_drawer_finds_by_mark_heat_and_set(receiver: Browser) -> None:
    bar(of=heat("Q1"))
    part("ring_gear", "R-1", "SET-31")
    part("shaft", "S-1")
    by_set = text_of(receiver.get("/stock/?q=set-31"))
    assert "R-1 Ring gear" in by_set
    assert "S-1 Axle shaft" not in by_set
    assert "BAR-1 Tube stock Q1" in text_of(receiver.get("/stock/?q=q1"))


def test_what_is_set_aside_says_for_which_axle(receiver: Browser) -> None:
    part("shaft", "S-1")
    made = axle(Revision.objects.get())
    receiver.send(f"/kits/{made.serial}/scan/", scan="S-1")
    assert f"in a kit {made.serial}" in text_of(receiver.get("/stock/"))


@pytest.mark.parametrize(
    "address",
    [
        "/stock/heats/77/",
        "/stock/heats/new/small_axle/Z/tube_stock/",
        "/stock/heats/new/small_axle/A/bearing/",
        "/stock/heats/new/small_axle/A/none/",
        "/stock/parts/new/bearing/",
        "/stock/heats/99999999999999999999/",
    ],
)
def test_what_is_not_there_is_a_404(receiver: Browser, address: str) -> None:
    assert receiver.get(address).status_code == 404


def test_who_looks_and_who_takes_in() -> None:
    manager = Browser(person(Role.MANAGER))
    assert "A bar or remnant" not in text_of(manager.get("/stock/"))
    assert manager.get("/stock/bars/new/").status_code == 403
    assert Browser(person(Role.PAINTER)).get("/stock/").status_code == 403
    assert not Item.objects.exists()


def test_looking_writes_nothing(receiver: Browser) -> None:
    held = heat(free=False)
    lot()
    before = Event.objects.count()
    for address in ("/stock/", f"/stock/heats/{held.pk}/", HEAT, "/stock/lots/new/", "/stock/drums/new/"):
        assert receiver.get(address).status_code == 200
    assert Event.objects.count() == before


def test_the_drawer_takes_few_queries_however_much_it_holds(
    receiver: Browser, django_assert_max_num_queries: Any
) -> None:
    for number in range(4):
        bar(f"BAR-{number}", heat(f"Q{number}5"))
        part("shaft", f"S-{number}")
    receiver.get("/stock/")
    with django_assert_max_num_queries(14):
        receiver.get("/stock/")


def test_without_an_axle_in_the_house_there_is_nothing_to_saw() -> None:
    assert "Nothing to saw" in text_of(Browser(person(Role.LEAD_BUILDER)).get("/stock/cutting/"))
