"""Badge and PIN at a terminal, code and password at a desk, and what is refused there."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
import time_machine
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop import badges
from shop.actions import people, stations
from shop.models import Person, Role, SignIn, SignInTry
from shop.record.who import SYSTEM
from tests import factories

pytestmark = pytest.mark.django_db
BADGE = "RUSKBADGE22"


@pytest.fixture
def rusk() -> Person:
    return factories.person("rusk", Role.ASSEMBLER, badge=BADGE, password=factories.PASSWORD)


@pytest.fixture
def at() -> factories.AtTerminal:
    return factories.terminal()


def scan(client: Client, code: str = BADGE, **more: str) -> HttpResponse:
    answer: HttpResponse = client.post(reverse("sign_in"), {"scan": code, **more})
    return answer


def give_pin(client: Client, scanned: HttpResponse, pin: str = factories.PIN, **more: str) -> HttpResponse:
    held = re.search(r'name="held" value="([^"]+)"', scanned.content.decode())
    assert held is not None
    answer: HttpResponse = client.post(reverse("sign_in_pin"), {"held": held[1], "pin": pin, **more})
    return answer


def works(client: Client) -> bool:
    return bool(client.get(reverse("mine")).status_code == 200)


def test_badge_and_pin_open_the_terminal(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.terminal_client(at)
    assert not works(client)
    answer = give_pin(client, scan(client, badges.label(BADGE)), next="/mine/")
    assert (answer.status_code, answer["Location"]) == (302, "/mine/")
    assert works(client)
    row = SignIn.objects.get()
    assert (row.person, row.terminal) == (rusk, at.terminal)


def test_typed_badge_code_works_in_small_letters(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.terminal_client(at)
    assert give_pin(client, scan(client, BADGE.lower())).status_code == 302


def test_badge_alone_opens_nothing(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.terminal_client(at)
    scan(client)
    assert not works(client)


@pytest.mark.parametrize("pin", ["", "000001", "271829", "2718281", "x" * 60, "２７１８２８", "\x00"])
def test_wrong_pin_is_refused(rusk: Person, at: factories.AtTerminal, pin: str) -> None:
    client = factories.terminal_client(at)
    answer = give_pin(client, scan(client), pin)
    assert answer.status_code == 422
    assert not works(client)
    assert not SignIn.objects.exists()


def test_a_wrong_pin_at_the_door_says_what_it_means_there(rusk: Person, at: factories.AtTerminal) -> None:
    """Nothing is being signed at the door, so nothing is said of it."""
    client = factories.terminal_client(at)
    said = give_pin(client, scan(client), "000001").content.decode()
    expected = f"This is not the PIN of {rusk.name}. You are not signed in. Type it again, or press “Somebody else”"
    assert expected in said
    assert "signed;" not in said


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("WRONGBADGE33", "opens nothing here"),
        ("~G:G-014", "This is gauge G-014, not a badge"),
        ("~Z:1", "not a label of this shop"),
        ("12345678", "opens nothing here"),
        ("😀", "A mark begins"),
    ],
)
def test_what_is_no_badge_is_refused(rusk: Person, at: factories.AtTerminal, code: str, said: str) -> None:
    answer = scan(factories.terminal_client(at), code)
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_revoked_badge_opens_nothing_and_throws_out(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.terminal_client(at)
    give_pin(client, scan(client))
    assert works(client)
    people.revoke_badge(person=rusk, reason="lost", by=SYSTEM)
    assert not works(client)
    assert scan(client).status_code == 422


def test_retired_person_is_thrown_out_at_once(rusk: Person, at: factories.AtTerminal) -> None:
    bench, desk = factories.at_terminal_client(rusk, at), factories.signed_in_client(rusk)
    assert works(bench)
    assert works(desk)
    people.retire(person=rusk, by=SYSTEM)
    assert not works(bench)
    assert not works(desk)
    assert scan(factories.terminal_client(at)).status_code == 422


def test_revoked_terminal_is_an_ordinary_browser(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.at_terminal_client(rusk, at)
    stations.revoke_terminal(terminal=at.terminal, reason="sold", by=SYSTEM)
    assert not works(client)
    answer = client.get(reverse("sign_in"))
    assert answer["Location"].startswith(reverse("office_sign_in"))


def test_seat_of_one_terminal_is_worth_nothing_in_another_browser(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.at_terminal_client(rusk, at)
    other = factories.terminal_client(factories.terminal("T-2"))
    other.cookies["seat"] = client.cookies["seat"].value
    assert works(client)
    assert not works(other)
    desk = Client()
    desk.cookies["seat"] = client.cookies["seat"].value
    assert not works(desk)


@pytest.mark.parametrize("name", ["seat", "terminal"])
def test_forged_cookie_is_worth_nothing(rusk: Person, at: factories.AtTerminal, name: str) -> None:
    client = factories.at_terminal_client(rusk, at)
    value = client.cookies[name].value
    client.cookies[name] = value[:-3] + ("abc" if value[-3:] != "abc" else "abd")
    assert not works(client)


def test_five_wrong_pins_close_the_door_for_a_while(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.terminal_client(at)
    start = timezone.now()
    with time_machine.travel(start, tick=False) as clock:
        scanned = scan(client)
        for _ in range(5):
            assert "This is not the PIN" in give_pin(client, scanned, "000001").content.decode()
        answer = give_pin(client, scanned)
        assert answer.status_code == 422
        assert "Too many wrong tries. Wait 10 minutes" in answer.content.decode()
        clock.shift(timedelta(minutes=10, seconds=1))
        assert give_pin(client, scan(client)).status_code == 302


def test_four_wrong_pins_do_not(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.terminal_client(at)
    scanned = scan(client)
    for _ in range(4):
        give_pin(client, scanned, "000001")
    assert give_pin(client, scanned).status_code == 302


def test_a_terminal_that_tries_badge_after_badge_is_stopped(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.terminal_client(at)
    for number in range(15):
        assert "opens nothing" in scan(client, f"GUESSED{number:04d}").content.decode()
    assert "Too many wrong tries" in scan(client).content.decode()
    assert SignInTry.objects.filter(good=False).count() == 15


def test_scan_of_the_badge_is_good_for_two_minutes_only(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.terminal_client(at)
    with time_machine.travel(timezone.now(), tick=False) as clock:
        scanned = scan(client)
        clock.shift(timedelta(seconds=125))
        answer = give_pin(client, scanned)
    assert answer.status_code == 422
    assert "too long ago" in answer.content.decode()


def test_a_badge_scanned_on_a_work_page_leads_to_its_pin_and_back(rusk: Person, at: factories.AtTerminal) -> None:
    factories.person("noor", badge="NOORBADGE22")
    client = factories.at_terminal_client(rusk, at)
    station = reverse("waiting", args=[at.terminal.station.code])
    here = {"Referer": f"http://testserver{station}"}
    sent = client.post(reverse("scan"), factories.with_key(scan="~B:NOORBADGE22"), headers=here)
    asked = client.get(sent["Location"])
    assert "PIN of Noor T." in asked.content.decode()
    assert not works(client)
    assert give_pin(client, asked, next=station)["Location"] == station
    assert "Noor Testwell" in client.get(reverse("mine")).content.decode()


def test_a_scanned_badge_is_held_at_its_own_terminal_only(rusk: Person, at: factories.AtTerminal) -> None:
    scanned = scan(factories.terminal_client(at))
    other = factories.terminal_client(factories.terminal("T-2"))
    assert give_pin(other, scanned).status_code == 422
    assert not works(other)


def test_plate_and_badge_may_be_scanned_in_either_order(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.terminal_client(at)
    sent = client.post(reverse("sign_in"), {"scan": "~A:TBK-25-0143-D"})
    page = client.get(sent["Location"]).content.decode()
    there = reverse("axle_here", args=["TBK-25-0143-D"])
    assert f'name="next" value="{there}"' in page
    assert give_pin(client, scan(client, next=there), next=there)["Location"] == there


@pytest.mark.parametrize("held", ["", "nonsense", "1", "😀"])
def test_pin_without_a_scanned_badge_is_refused(rusk: Person, at: factories.AtTerminal, held: str) -> None:
    client = factories.terminal_client(at)
    answer = client.post(reverse("sign_in_pin"), {"held": held, "pin": factories.PIN})
    assert answer.status_code == 422
    assert not works(client)


def test_desk_opens_with_code_and_password(rusk: Person) -> None:
    client = Client()
    answer = client.post(reverse("office_sign_in"), {"code": " RUSK", "password": factories.PASSWORD, "next": "/mine/"})
    assert (answer.status_code, answer["Location"]) == (302, "/mine/")
    assert works(client)


@pytest.mark.parametrize(
    ("code", "password"),
    [
        ("rusk", "wrong"),
        ("nobody", factories.PASSWORD),
        ("", ""),
        ("rusk", ""),
        ("rusk", factories.PIN),
        ("😀", "y" * 5000),
    ],
)
def test_wrong_code_or_password_says_the_same(rusk: Person, code: str, password: str) -> None:
    client = Client()
    answer = client.post(reverse("office_sign_in"), {"code": code, "password": password})
    assert answer.status_code == 422
    assert not works(client)


def test_person_without_password_cannot_open_a_desk(at: factories.AtTerminal) -> None:
    factories.person("noor")
    for password in ("", "!", factories.PIN):
        answer = Client().post(reverse("office_sign_in"), {"code": "noor", "password": password})
        assert answer.status_code == 422


def test_desk_is_throttled_too(rusk: Person) -> None:
    client = Client()
    for _ in range(5):
        client.post(reverse("office_sign_in"), {"code": "rusk", "password": "wrong"})
    answer = client.post(reverse("office_sign_in"), {"code": "rusk", "password": factories.PASSWORD})
    assert answer.status_code == 422
    assert "Too many wrong tries" in answer.content.decode()


def test_signing_out_ends_the_seat_on_the_server(rusk: Person) -> None:
    client = factories.signed_in_client(rusk)
    kept = client.cookies["seat"].value
    client.post(reverse("sign_out"))
    assert not works(client)
    client.cookies["seat"] = kept
    assert not works(client)


def test_one_person_after_another_at_a_terminal(rusk: Person, at: factories.AtTerminal) -> None:
    factories.person("noor", badge="NOORBADGE22")
    client = factories.terminal_client(at)
    give_pin(client, scan(client))
    give_pin(client, scan(client, "NOORBADGE22"))
    assert "Noor Testwell" in client.get(reverse("mine")).content.decode()
    assert [row.person.code for row in SignIn.objects.standing()] == ["noor"]


@pytest.mark.parametrize(
    "wanted",
    ["https://evil.example/", "//evil.example/x", "javascript:alert(1)", "/sign-in/", "\\\\evil", ""],
)
def test_sign_in_leads_to_our_own_pages_only(rusk: Person, wanted: str) -> None:
    answer = Client().post(reverse("office_sign_in"), {"code": "rusk", "password": factories.PASSWORD, "next": wanted})
    assert answer["Location"] == reverse("home")


def test_form_token_is_asked_for_everywhere(rusk: Person) -> None:
    client = Client(enforce_csrf_checks=True)
    client.cookies.update(factories.signed_in_client(rusk).cookies)
    for name in ("sign_out", "extend", "my_pin", "office_sign_in", "theme"):
        answer = client.post(reverse(name), factories.with_key())
        assert answer.status_code == 403
        assert "Nothing was saved" in answer.content.decode()
    assert works(client)


def test_secrets_are_kept_nowhere(rusk: Person, at: factories.AtTerminal) -> None:
    client = factories.terminal_client(at)
    give_pin(client, scan(client))
    row = Person.objects.get(code="rusk")
    assert factories.PIN not in row.pin_hash
    assert factories.PASSWORD not in row.password
    assert rusk.badges.get().code_hash == badges.code_hash(BADGE) != BADGE
    assert at.key not in (at.terminal.key_hash, SignIn.objects.get().token_hash)
