"""Kits by page (builds.views.kits)."""

from __future__ import annotations

from typing import Any

import pytest

from builds.models import Axle, KitLine, Revision
from shop.models import Place, Role
from shop.record.models import Event
from tests.builds.floor import axle, lot, part, person, released
from tests.builds.pages import Browser, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision() -> Revision:
    return released()


@pytest.fixture
def first(revision: Revision) -> Axle:
    return axle(revision)


@pytest.fixture
def receiver() -> Browser:
    return Browser(person(Role.RECEIVER))


def scan(browser: Browser, of: Axle, mark: str, **more: str) -> Any:
    return browser.send(f"/kits/{of.serial}/scan/", scan=mark, **more)


def whole(browser: Browser, of: Axle) -> None:
    part("ring_gear", "R-1", "1")
    part("pinion", "P-1", "1")
    part("shaft", "S-1")
    part("shaft", "S-2")
    lot()
    for mark in ("R-1", "P-1", "S-1", "S-2", "PB-1"):
        assert scan(browser, of, mark).status_code == 303


def test_a_kit_is_picked_by_scan_until_it_is_whole(receiver: Browser, first: Axle) -> None:
    page = f"/kits/{first.serial}/"
    assert "Short: 5. The axle may start up to operation 30" in text_of(receiver.get(page))
    whole(receiver, first)
    said = text_of(receiver.get(page))
    assert "The kit is whole." in said
    assert "state kitted" in said


def test_a_part_called_after_its_place_is_named_once(receiver: Browser, first: Axle) -> None:
    """And one that is not keeps both names."""
    assert "Ring gear (ring); Pinion; Bearing (bearings);" in text_of(receiver.get("/kits/"))


def test_what_is_short_is_named_up_to_four_and_the_kit_has_the_rest(receiver: Browser, first: Axle) -> None:
    page = receiver.get("/kits/")
    assert "; and 1 more" in text_of(page)
    assert f'<a href="/kits/{first.serial}/">and 1 more</a>' in page.content.decode()


def test_the_page_has_the_wedge_form_and_names_operations(receiver: Browser, first: Axle) -> None:
    page = receiver.get(f"/kits/{first.serial}/")
    assert "data-scan" in page.content.decode()
    assert "30 Seat the gears" in text_of(page)
    assert "Grease, 0.5 lb, grease: operation 30" in text_of(page)


def test_a_script_gets_the_fragment_and_a_browser_the_page(receiver: Browser, first: Axle) -> None:
    part("shaft", "S-1")
    address = f"/kits/{first.serial}/scan/"
    key = receiver.key_on(f"/kits/{first.serial}/")
    response = receiver.post(address, {"scan": "S-1", "submission": key}, headers={"HX-Request": "true"})
    body = response.content.decode()
    assert body.lstrip().startswith('<main id="work"')
    assert "shaft S-1 of AGF is set aside as shaft left." in text_of(response)


def test_the_next_scan_can_be_meant_for_one_need(receiver: Browser, first: Axle) -> None:
    part("shaft", "S-1")
    assert "Next scan: shaft right" in text_of(receiver.get(f"/kits/{first.serial}/?role=shaft+right"))
    scan(receiver, first, "S-1", role="shaft right")
    assert KitLine.objects.get().role == "shaft right"


@pytest.mark.parametrize(
    ("mark", "status", "said"),
    [
        ("", 422, "Nothing was scanned"),
        ("   ", 422, "Nothing was scanned"),
        ("NOBODY", 422, "Nothing here carries the mark"),
        ("12345", 422, "Nothing here carries the mark"),
        ("3,14", 422, "Nothing here carries the mark"),
        ("~X:1", 422, "not a label of this shop"),
        ("~B:SECRET", 422, "Nothing here carries the mark"),
        ("x" * 400, 422, "at most 40 characters"),
        ("'; DROP TABLE", 422, "A mark begins"),
        ("R-13", 422, "no set mark"),
        ("P-1", 422, "is of set 1; the Ring gear here is of set 31"),
        ("S-9", 409, "already in the kit of"),
    ],
)
def test_a_scan_that_is_refused_says_why_and_stays_in_the_field(
    receiver: Browser, revision: Revision, first: Axle, mark: str, status: int, said: str
) -> None:
    part("ring_gear", "R-31", "31")
    part("pinion", "P-1", "1")
    part("shaft", "S-9")
    scan(receiver, axle(revision), "S-9")
    if mark != "R-13":
        scan(receiver, first, "R-31")
    part("ring_gear", "R-13")
    before = KitLine.objects.count()
    response = scan(receiver, first, mark)
    assert response.status_code == status
    assert said in text_of(response)
    assert KitLine.objects.count() == before


def test_a_part_set_aside_is_returned(receiver: Browser, first: Axle) -> None:
    shaft = part("shaft", "S-1")
    scan(receiver, first, "S-1")
    line = KitLine.objects.get()
    assert receiver.send(f"/kits/{first.serial}/return/{line.pk}/").status_code == 303
    assert Place.objects.get(pk=shaft.pk).where == "stock"
    again = receiver.send(f"/kits/{first.serial}/return/{line.pk}/")
    assert (again.status_code, "already returned" in text_of(again)) == (422, True)


def test_a_line_of_another_kit_is_a_404(receiver: Browser, revision: Revision, first: Axle) -> None:
    part("shaft", "S-1")
    scan(receiver, first, "S-1")
    line = KitLine.objects.get()
    assert receiver.send(f"/kits/{axle(revision).serial}/return/{line.pk}/").status_code == 404


def test_a_double_press_sets_one_lot_aside_once(receiver: Browser, first: Axle) -> None:
    lot()
    key = receiver.key_on(f"/kits/{first.serial}/")
    for _ in range(2):
        assert scan(receiver, first, "PB-1", submission=key).status_code == 303
    assert KitLine.objects.count() == 1


def test_the_list_puts_short_kits_first_and_says_up_to_where(
    receiver: Browser, revision: Revision, first: Axle
) -> None:
    whole(receiver, first)
    other = axle(revision)
    said = text_of(receiver.get("/kits/"))
    assert said.index(other.serial) < said.index(first.serial)
    assert "before 30 Seat the gears" in said
    assert "5 of 5 nothing the end" in said


def test_the_list_takes_few_queries_however_many_axles(
    receiver: Browser, revision: Revision, django_assert_max_num_queries: Any
) -> None:
    for _ in range(4):
        axle(revision)
    receiver.get("/kits/")
    with django_assert_max_num_queries(8):
        receiver.get("/kits/")


def test_who_may_look_and_who_may_pick(first: Axle) -> None:
    part("shaft", "S-1")
    assembler = Browser(person(Role.ASSEMBLER))
    page = assembler.get(f"/kits/{first.serial}/")
    assert (page.status_code, "data-scan" in page.content.decode()) == (200, False)
    assert scan(assembler, first, "S-1").status_code == 403
    assert Browser(person(Role.PAINTER)).get("/kits/").status_code == 403
    assert not KitLine.objects.exists()


def test_a_serial_that_is_not_there_is_a_404(receiver: Browser) -> None:
    assert receiver.get("/kits/TBK-25-0001-X/").status_code == 404


def test_looking_writes_nothing(receiver: Browser, first: Axle) -> None:
    before = Event.objects.count()
    for address in ("/kits/", f"/kits/{first.serial}/", f"/kits/{first.serial}/?role=ring"):
        assert receiver.get(address).status_code == 200
    assert Event.objects.count() == before
