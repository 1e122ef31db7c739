"""Orders, lines and booking by page (builds.views.orders)."""

from __future__ import annotations

from typing import Any

import pytest

from builds.models import Axle, Line, Order
from shop.models import Customer, Role
from shop.record.act import act
from shop.record.models import Event
from tests.builds.cards import SMALL_CARD_B
from tests.builds.floor import axle, line, person, released
from tests.builds.pages import Browser, text_of

pytestmark = pytest.mark.django_db

GOOD_LINE = {
    "quantity": "2",
    "promised_from": "2026-01-05",
    "promised_to": "2026-01-09",
    "option-ratio": "low",
    "option-lock": "air",
}


@pytest.fixture
def office() -> Browser:
    return Browser(person(Role.OFFICE))


def customer() -> Customer:
    return Customer.objects.create(code="hp", name="Hollow Pine Trailer Guild")


def order_fields(**change: Any) -> dict[str, Any]:
    good = {"number": "O-2514", "customer": customer().pk, "placed_on": "2025-11-03", "paper": "A4"}
    return good | change


def test_from_an_order_to_booked_axles(office: Browser) -> None:
    released()
    response = office.send("/orders/", **order_fields())
    assert response["Location"] == "/orders/O-2514/"
    assert "Small axle rev A" in text_of(office.get("/orders/O-2514/"))
    assert office.send("/orders/O-2514/lines/small_axle/A/", **GOOD_LINE).status_code == 303
    assert office.send("/orders/O-2514/lines/1/book/", count="2").status_code == 303
    said = text_of(office.get("/orders/O-2514/"))
    assert "Promised Jan. 5" in said or "Promised 5 Jan 2026 to 9 Jan 2026" in said
    assert "2 of 2 booked, 0 gone" in said
    assert all(axle.serial in said for axle in Axle.objects.all())
    assert "Locking by air" in said


def test_the_list_shows_customer_promise_and_counts(office: Browser) -> None:
    made = axle(released())
    said = text_of(office.get("/orders/"))
    assert f"{made.line.order.number} {made.line.order.customer}" in said
    assert "5 Jan 2026 to 9 Jan 2026 2 1 0" in said


def test_only_the_newest_released_revision_is_offered(office: Browser) -> None:
    one = line(released()).order
    released(SMALL_CARD_B)
    said = text_of(office.get(f"/orders/{one.number}/"))
    assert "to which build card? Small axle rev B" in said


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"number": ""}, "This field is required"),
        ({"number": "O-123456789012345"}, "at most 14 characters"),
        ({"number": "x" * 400}, "at most 40 characters"),
        ({"number": "O/1"}, "letters, digits, points and hyphens"),
        ({"customer": ""}, "This field is required"),
        ({"customer": "99999999999999999999"}, "Select a valid choice"),
        ({"customer": "' or 1=1"}, "Select a valid choice"),
        ({"placed_on": "3 Nov"}, "year-month-day"),
        ({"placed_on": "2999-01-01"}, "lies ahead"),
        ({"paper": "papyrus"}, "Select a valid choice"),
    ],
)
def test_an_order_that_cannot_be_keeps_what_was_typed(office: Browser, change: dict[str, Any], said: str) -> None:
    response = office.send("/orders/", **order_fields(customer_reference="their 17") | change)
    assert response.status_code == 422
    assert said in text_of(response)
    assert "their 17" in response.content.decode()
    assert not Order.objects.exists()


def test_an_order_number_stands_once(office: Browser) -> None:
    fields = order_fields()
    office.send("/orders/", **fields)
    response = office.send("/orders/", **fields)
    assert (response.status_code, Order.objects.count()) == (409, 1)
    assert "Order O-2514 is already here" in text_of(response)


def test_a_repeated_press_places_one_order_and_another_body_is_refused(office: Browser) -> None:
    fields, key = order_fields(), office.key_on("/orders/")
    for _ in range(2):
        assert office.send("/orders/", submission=key, **fields)["Location"] == "/orders/O-2514/"
    other = office.send("/orders/", submission=key, **fields | {"number": "O-2515"})
    assert (other.status_code, Order.objects.count()) == (422, 1)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"quantity": ""}, "This field is required"),
        ({"quantity": "0"}, "1 to 200 axles, not 0"),
        ({"quantity": "-2"}, "1 to 200 axles"),
        ({"quantity": "2,5"}, "whole number"),
        ({"quantity": "two"}, "whole number"),
        ({"quantity": "9" * 30}, "less than or equal to"),
        ({"promised_to": "2026-01-01"}, "ends before it begins"),
        ({"promised_from": ""}, "Give the day as year-month-day, such as 2025-11-20."),
        ({"option-ratio": "purple"}, "Select a valid choice"),
        ({"option-ratio": "high"}, "A locking differential does not fit ratio 4.30"),
    ],
)
def test_a_line_that_cannot_be_built_says_why(office: Browser, change: dict[str, str], said: str) -> None:
    made = line(released()).order
    response = office.send(f"/orders/{made.number}/lines/small_axle/A/", **GOOD_LINE | change)
    assert response.status_code == 422
    assert said in text_of(response)
    assert Line.objects.count() == 1


@pytest.mark.parametrize(
    ("count", "said"),
    [("", "required"), ("0", "places free"), ("3", "places free"), ("1.5", "whole"), ("x", "whole")],
)
def test_a_count_that_cannot_be_booked_says_why(office: Browser, count: str, said: str) -> None:
    made = line(released(), quantity=2)
    response = office.send(f"/orders/{made.order.number}/lines/1/book/", count=count)
    assert (response.status_code, Axle.objects.count()) == (422, 0)
    assert said in text_of(response)


def test_a_double_press_books_once(office: Browser) -> None:
    made = line(released(), quantity=2)
    address = f"/orders/{made.order.number}/"
    key = office.key_on(address)
    for _ in range(2):
        assert office.send(f"{address}lines/1/book/", count="1", submission=key).status_code == 303
    assert Axle.objects.count() == 1


def test_a_scrapped_axle_frees_its_place_and_its_follower_names_it(office: Browser) -> None:
    lost = axle(released())
    with act("axle.scrapped", subject=lost.subject, by=person()) as a:
        a.update(lost, scrapped_at=a.now, phase="retired")
    address = f"/orders/{lost.line.order.number}/"
    office.send(f"{address}lines/1/book/", count="1")
    assert f"takes the place of {lost.serial}" in text_of(office.get(address))


@pytest.mark.parametrize("address", ["/orders/NONE/", "/orders/NONE/lines/small_axle/A/"])
def test_what_is_not_there_is_a_404(office: Browser, address: str) -> None:
    assert office.get(address).status_code == 404


def test_a_line_that_is_not_there_is_a_404(office: Browser) -> None:
    made = line(released())
    assert office.send(f"/orders/{made.order.number}/lines/9/book/", count="1").status_code == 404
    assert office.get(f"/orders/{made.order.number}/lines/small_axle/Z/").status_code == 404


def test_others_look_and_do_not_book() -> None:
    made = line(released())
    builder = Browser(person(Role.LEAD_BUILDER))
    assert "Book axles" not in text_of(builder.get(f"/orders/{made.order.number}/"))
    assert builder.send(f"/orders/{made.order.number}/lines/1/book/", count="1").status_code == 403
    assert builder.send("/orders/", **order_fields()).status_code == 422
    assert Browser(person(Role.WELDER)).get("/orders/").status_code == 403
    assert (Axle.objects.count(), Order.objects.count()) == (0, 1)


def test_looking_writes_nothing(office: Browser) -> None:
    made = line(released())
    before = Event.objects.count()
    for address in ("", f"{made.order.number}/", f"{made.order.number}/lines/small_axle/A/"):
        assert office.get(f"/orders/{address}").status_code == 200
    assert Event.objects.count() == before


def test_the_list_takes_few_queries(office: Browser, django_assert_max_num_queries: Any) -> None:
    revision = released()
    for _ in range(3):
        axle(revision)
    office.get("/orders/")
    with django_assert_max_num_queries(9):
        office.get("/orders/")


def test_an_order_leads_to_its_axles_its_customer_and_the_customers_link(office: Browser) -> None:
    made = axle(released())
    order = made.line.order
    body = office.get(f"/orders/{order.number}/").content.decode()
    for way in (f"/axles/{made.serial}/", f"/axles/{made.serial}/closing/", f"/orders/{order.number}/links/"):
        assert f'href="{way}"' in body
    assert f'href="/partners/customers/{order.customer.code}/"' in body
    # Who may not change a customer or make a link is not sent there.
    body = Browser(person(Role.SHIPPER)).get(f"/orders/{order.number}/").content.decode()
    assert f'href="/axles/{made.serial}/"' in body
    assert "/links/" not in body
    assert "/partners/customers/" not in body


def test_the_way_back_from_an_order_is_marked(office: Browser) -> None:
    made = axle(released())
    body = office.get("/orders/").content.decode()
    assert 'href="/orders/" aria-current="page"' in body
    body = office.get(f"/orders/{made.line.order.number}/").content.decode()
    assert 'href="/orders/" aria-current="true"' in body
    assert body.count("aria-current") == 1
    assert 'href="/floor/" aria-current="true"' in office.get("/axles/").content.decode()
