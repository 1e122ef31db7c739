"""The customer's window: one order by a link, nothing of anybody else; and the public check."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.actions.links import make_link, revoke_link
from builds.models import Axle, CustomerLink, LinkView
from tests.factories import signed_in_client, with_key
from tests.shopfloor import THIRD, Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop(THIRD)


@pytest.fixture(scope="module")
def axles(floor: Floor) -> list[Axle]:
    """Two axles of two orders, so of two windows."""
    return [floor.axle(), floor.axle()]


def enter(floor: Floor, order: int, days: int = 30) -> tuple[Client, CustomerLink]:
    link, token = make_link(order=floor.orders[order], days=days, by=floor.who("mirelle"))
    client = Client()
    client.post(reverse("customer_enter"), {"token": token})
    return client, link


def test_the_link_opens_its_order_alone(floor: Floor, axles: list[Axle]) -> None:
    client, _ = enter(floor, 0)
    page = client.get(reverse("customer_order")).content.decode()
    assert axles[0].serial in page
    assert axles[1].serial not in page


def test_no_staff_name_stands_there(floor: Floor, axles: list[Axle]) -> None:
    client, _ = enter(floor, 0)
    page = client.get(reverse("customer_order")).content.decode()
    assert [person.name for person in floor.people.values() if person.name in page] == []


@pytest.mark.parametrize("token", ["", "x", "0" * 43, "../../orders", "x" * 5000])
def test_a_strange_link_is_not_here(floor: Floor, axles: list[Axle], token: str) -> None:
    assert Client().post(reverse("customer_enter"), {"token": token}).status_code == 404


def test_without_the_cookie_nothing_is_shown(floor: Floor, axles: list[Axle]) -> None:
    assert Client().get(reverse("customer_order")).status_code == 404


def test_a_revoked_link_ends_at_once(floor: Floor, axles: list[Axle]) -> None:
    client, link = enter(floor, 0)
    assert client.get(reverse("customer_order")).status_code == 200
    revoke_link(link=link, by=floor.who("mirelle"))
    assert client.get(reverse("customer_order")).status_code == 404


def test_an_expired_link_ends_at_once(floor: Floor, axles: list[Axle]) -> None:
    client, link = enter(floor, 0)
    CustomerLink.objects.filter(pk=link.pk).update(expires_at=timezone.now() - timedelta(seconds=1))
    assert client.get(reverse("customer_order")).status_code == 404


def test_another_orders_certificate_is_not_here(floor: Floor, axles: list[Axle]) -> None:
    client, _ = enter(floor, 0)
    assert client.get(reverse("customer_certificate", args=[axles[1].serial, 1])).status_code == 404


def test_every_look_is_noted_outside_the_ledger(floor: Floor, axles: list[Axle]) -> None:
    client, link = enter(floor, 0)
    client.get(reverse("customer_order"))
    assert LinkView.objects.filter(link=link).count() == 1


def test_only_the_tokens_hash_is_kept(floor: Floor, axles: list[Axle]) -> None:
    link, token = make_link(order=floor.orders[0], days=30, by=floor.who("mirelle"))
    assert token not in str(CustomerLink.objects.filter(pk=link.pk).values())
    assert len(token) >= 43


def test_the_check_says_no_to_a_strange_fingerprint(floor: Floor, axles: list[Axle]) -> None:
    page = Client().post(reverse("verify"), {"serial": axles[0].serial, "fingerprint": "0" * 64}).content.decode()
    assert "No certificate of ours has this serial with this fingerprint" in page


def test_the_staff_pages_stay_shut_to_the_customer(floor: Floor, axles: list[Axle]) -> None:
    client, _ = enter(floor, 0)
    for name in ("floor", "axles", "orders"):
        assert client.get(reverse(name)).status_code in (302, 303)


def test_a_link_that_cannot_be_revoked_again_keeps_the_page_whole(floor: Floor, axles: list[Axle]) -> None:
    order = axles[0].line.order
    link, _ = make_link(order=order, days=5, by=floor.who("mirelle"))
    revoke_link(link=link, by=floor.who("mirelle"))
    mirelle = signed_in_client(floor.people["mirelle"])
    answer = mirelle.post(reverse("link_revoke", args=[order.number, link.pk]), with_key())
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "revoked" in page
    assert page.count('name="submission" value=""') == 0
    assert "<caption" in page


def test_the_page_bears_the_shops_name_and_leads_nowhere_into_it(floor: Floor, axles: list[Axle]) -> None:
    client, _ = enter(floor, 0)
    for address in (reverse("customer_enter_token", args=["x" * 43]), reverse("customer_order")):
        page = client.get(address).content.decode()
        assert settings.SHOP_NAME in page
        assert 'href="/"' not in page
