"""A terminal untouched for 90 s asks who is there, and keeps what was typed."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.http.seat import IDLE_DESK, LONGEST_SIGN_IN
from shop.models import Customer, Person, Role
from tests import factories
from tests.shop.test_sign_in import BADGE, give_pin, scan, works

pytestmark = pytest.mark.django_db


@pytest.fixture
def start() -> datetime:
    return timezone.now()


@pytest.fixture
def mirelle() -> Person:
    return factories.person("mirelle", Role.OFFICE, badge=BADGE, password=factories.PASSWORD)


@pytest.fixture
def bench(mirelle: Person, start: datetime) -> Client:
    with time_machine.travel(start, tick=False):
        return factories.at_terminal_client(mirelle, factories.terminal())


@pytest.mark.parametrize(("seconds", "open_still"), [(89, True), (90, False), (3600, False)])
def test_terminal_locks_after_ninety_seconds(bench: Client, start: datetime, seconds: int, open_still: bool) -> None:
    with time_machine.travel(start + timedelta(seconds=seconds), tick=False):
        assert works(bench) == open_still


def test_every_touch_starts_the_ninety_seconds_anew(bench: Client, start: datetime) -> None:
    for minute in range(1, 11):
        with time_machine.travel(start + timedelta(minutes=minute), tick=False):
            assert bench.post(reverse("extend")).status_code == 204
    with time_machine.travel(start + timedelta(minutes=11, seconds=29), tick=False):
        assert works(bench)


def test_a_page_asking_by_itself_is_no_touch(bench: Client, start: datetime) -> None:
    """Control: the same requests without a stamp keep the seat open (the test above)."""
    for second in range(2, 90, 8):
        with time_machine.travel(start + timedelta(seconds=second), tick=False):
            assert bench.get(reverse("mine"), {"stamp": "abc"}).status_code == 200
    with time_machine.travel(start + timedelta(seconds=91), tick=False):
        assert not works(bench)
        asked = bench.get(reverse("mine"), {"stamp": "abc"}, headers={"HX-Request": "true"})
        assert asked["HX-Redirect"].startswith(reverse("sign_in"))


def test_looking_at_a_page_writes_nothing(
    bench: Client, start: datetime, django_assert_max_num_queries: object
) -> None:
    with (
        time_machine.travel(start + timedelta(seconds=30), tick=False),
        django_assert_max_num_queries(20) as seen,  # type: ignore[operator]
    ):
        works(bench)
    statements = [query["sql"].split()[0].upper() for query in seen.captured_queries]
    assert set(statements) == {"SELECT"}


def test_the_sign_in_page_itself_locks_the_terminal(bench: Client, start: datetime) -> None:
    """The page leaves by itself a moment before the server's time is up; that must not keep the seat open."""
    with time_machine.travel(start + timedelta(seconds=89), tick=False):
        assert bench.get(reverse("sign_in"), {"next": "/mine/"}).status_code == 200
        assert not works(bench)


def test_leaving_by_itself_keeps_the_whole_address(bench: Client) -> None:
    page = bench.get("/partners/?all=open&of=two words").content.decode()
    assert 'data-idle-leave="/sign-in/?next=%2Fpartners%2F%3Fall%3Dopen%26of%3D' in page


def test_after_a_lock_badge_and_pin_lead_back(bench: Client, start: datetime) -> None:
    with time_machine.travel(start + timedelta(minutes=5), tick=False):
        sent = bench.get(reverse("partners"))
        assert sent["Location"] == "/sign-in/?next=%2Fpartners%2F"
        back = give_pin(bench, scan(bench), next=reverse("partners"))
        assert back["Location"] == reverse("partners")
        assert bench.get(reverse("partners")).status_code == 200


def late_post(bench: Client, fields: dict[str, str]) -> str:
    """A form sent after the lock; gives the page that asks who is there."""
    before = Customer.objects.count()
    answer = bench.post(reverse("customer_add"), fields, headers={"Referer": "http://testserver/partners/"})
    assert answer.status_code == 401
    assert Customer.objects.count() == before
    return str(answer.content.decode())


def hidden(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    assert found is not None
    return found[1]


def test_what_was_typed_before_the_lock_can_be_sent_after_it(bench: Client, start: datetime) -> None:
    fields = factories.with_key(code="LRR", name="Lumen Ridge", address="1 Ridge", paper="A4")
    with time_machine.travel(start + timedelta(minutes=5), tick=False):
        page = late_post(bench, fields)
        assert "Lumen Ridge" in page
        draft = hidden(page, "draft")
        answer = give_pin(bench, scan(bench, draft=draft), draft=draft)
        shown = answer.content.decode()
        assert answer.status_code == 200
        assert "Not saved yet" in shown
        assert 'action="/partners/customers/"' in shown
        again = {name: hidden(shown, name) for name in fields}
        assert again == fields
        assert bench.post(reverse("customer_add"), again).status_code == 303
    assert Customer.objects.get().name == "Lumen Ridge"


def test_somebody_else_does_not_get_the_draft(bench: Client, start: datetime) -> None:
    factories.person("noor", Role.OFFICE, badge="NOORBADGE22")
    fields = factories.with_key(code="LRR", name="Lumen Ridge", address="", paper="A4")
    with time_machine.travel(start + timedelta(minutes=5), tick=False):
        draft = hidden(late_post(bench, fields), "draft")
        answer = give_pin(bench, scan(bench, "NOORBADGE22", draft=draft), draft=draft)
        assert answer.status_code == 302
        assert "was not saved" in bench.get("/", follow=True).content.decode()


def test_secrets_do_not_travel_in_a_draft(bench: Client, start: datetime) -> None:
    with time_machine.travel(start + timedelta(minutes=5), tick=False):
        answer = bench.post(reverse("my_pin"), factories.with_key(pin="271828", new_pin="314159", again="314159"))
        page = answer.content.decode()
    assert "271828" not in page
    assert "314159" not in page


@pytest.mark.parametrize("draft", ["", "nonsense", "a.b.c", "x" * 100_000])
def test_forged_draft_is_dropped(bench: Client, draft: str) -> None:
    answer = give_pin(bench, scan(bench, draft=draft), draft=draft, next="/mine/")
    assert (answer.status_code, answer["Location"]) == (302, "/mine/")


def test_desk_has_a_longer_patience_and_a_longest_day(mirelle: Person, start: datetime) -> None:
    with time_machine.travel(start, tick=False):
        desk = factories.signed_in_client(mirelle)
    with time_machine.travel(start + IDLE_DESK - timedelta(seconds=1), tick=False):
        assert works(desk)
    with time_machine.travel(start + IDLE_DESK * 2 + timedelta(minutes=1), tick=False):
        assert not works(desk)
    with time_machine.travel(start, tick=False):
        busy = factories.signed_in_client(mirelle)
    for hour in range(1, 12):
        with time_machine.travel(start + timedelta(hours=hour), tick=False):
            assert works(busy)
    with time_machine.travel(start + LONGEST_SIGN_IN + timedelta(seconds=1), tick=False):
        assert not works(busy)


@pytest.mark.parametrize("registered", [True, False])
def test_a_stale_desk_seat_in_a_registered_browser_asks_for_a_badge(
    mirelle: Person, start: datetime, registered: bool
) -> None:
    """A manager makes the browser a terminal from a desk seat and walks off; a desk's own browser asks for a log-in."""
    with time_machine.travel(start, tick=False):
        client = factories.signed_in_client(mirelle)
        if registered:
            client.cookies.update(factories.terminal_client(factories.terminal()).cookies)
    with time_machine.travel(start + IDLE_DESK, tick=False):
        asked = client.get(reverse("sign_in"), follow=True).content.decode()
        assert ('name="scan"' in asked, 'name="password"' in asked) == (registered, not registered)
