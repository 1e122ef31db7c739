"""Terminals, stations and shifts by page; registering makes the browser that does it the terminal."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import Role, Shift, Station, Terminal
from shop.record.models import Submission
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def client() -> Client:
    return factories.signed_in_client(factories.person("dovie", Role.MANAGER))


def test_a_browser_becomes_a_terminal(client: Client) -> None:
    station = factories.station("WELD", "Weld bay")
    client.post(reverse("terminal_register"), factories.with_key(code="t-7", station=station.pk))
    assert Terminal.objects.get().code == "T-7"
    client.post(reverse("sign_out"))
    page = client.get(reverse("sign_in")).content.decode()
    assert "Weld bay" in page
    assert "Badge" in page


def test_another_browser_does_not(client: Client) -> None:
    """Control: only the browser that registered holds the key."""
    station = factories.station("WELD")
    client.post(reverse("terminal_register"), factories.with_key(code="t-7", station=station.pk))
    assert Client().get(reverse("sign_in")).status_code == 302


def test_the_key_stands_in_the_cookie_only(client: Client) -> None:
    station = factories.station("WELD")
    answer = client.post(reverse("terminal_register"), factories.with_key(code="t-7", station=station.pk))
    key = answer.cookies["terminal"].value.rsplit(":", 1)[0]
    assert key not in answer.content.decode()
    assert key not in str(Submission.objects.values_list("result", flat=True))
    assert Terminal.objects.get().key_hash != key


def test_a_terminal_is_revoked_with_a_reason(client: Client) -> None:
    at = factories.terminal("T-1")
    url = reverse("terminal_revoke", args=["T-1"])
    refused = client.post(url, factories.with_key(reason=""))
    assert refused.status_code == 422
    assert "required" in refused.content.decode()
    assert client.post(url, factories.with_key(reason="sold")).status_code == 303
    assert Terminal.objects.get(pk=at.terminal.pk).revoked_at is not None
    assert "Revoked: T-1" in client.get(reverse("terminals")).content.decode()


def test_a_refused_reason_stays_at_its_own_terminal(client: Client) -> None:
    factories.terminal("T-1")
    factories.terminal("T-2")
    page = client.post(
        reverse("terminal_revoke", args=["T-2"]), factories.with_key(reason="lent " * 50)
    ).content.decode()
    _, first, second = page.split('<details class="more"')
    assert second.startswith(" open")
    assert "lent lent" in second
    assert "at most 200" in second
    assert not first.startswith(" open")
    assert "lent" not in first


def test_the_page_says_which_terminal_this_browser_is(client: Client) -> None:
    station = factories.station("WELD", "Weld bay")
    before = client.get(reverse("terminals")).content.decode()
    client.post(reverse("terminal_register"), factories.with_key(code="t-7", station=station.pk))
    assert "It is no terminal." in before
    assert "terminal <b>T-7</b> at <b>Weld bay</b>" in client.get(reverse("terminals")).content.decode()


def test_stations_and_shifts_are_added(client: Client) -> None:
    client.post(reverse("station_add"), factories.with_key(code="wash", name="Wash", order="4"))
    client.post(reverse("shift_set"), factories.with_key(name="early", starts="06:00", ends="14:00"))
    page = client.get(reverse("terminals")).content.decode()
    assert Station.objects.get().code == "WASH"
    assert Shift.objects.get().name == "early"
    assert "early: 06:00 to 14:00" in page


@pytest.mark.parametrize(
    ("name", "fields", "said", "kept"),
    [
        ("terminal_register", {"code": "T 7", "station": "0"}, "valid choice", "T 7"),
        ("station_add", {"code": "A/B", "name": "Wash", "order": "1"}, "letters A to Z", "A/B"),
        ("shift_set", {"name": "early", "starts": "06:00", "ends": "06:00"}, "another time", "early"),
        ("shift_set", {"name": "early", "starts": "25:00", "ends": "06:00"}, "valid time", "25:00"),
    ],
)
def test_a_refused_form_keeps_what_was_typed(
    client: Client, name: str, fields: dict[str, str], said: str, kept: str
) -> None:
    factories.station("WELD")
    answer = client.post(reverse(name), factories.with_key(**fields))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert kept in page
    assert said in page
