"""The pages of people: the list, one person, what is mine, and the first page of each."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop import badges
from shop.actions import people, skills
from shop.actions.skills import Qualification
from shop.clock import shop_day
from shop.models import Badge, Person, Role, RoleHeld, Skill
from shop.record import submission
from shop.record.models import Submission
from shop.record.who import SYSTEM
from tests import factories

pytestmark = pytest.mark.django_db
ARC = "gas-metal-arc"


@pytest.fixture
def dovie() -> Person:
    return factories.person("dovie", Role.MANAGER)


@pytest.fixture
def rusk() -> Person:
    return factories.person("rusk", Role.ASSEMBLER, password=factories.PASSWORD)


@pytest.fixture
def client(dovie: Person) -> Client:
    return factories.signed_in_client(dovie)


def text_of(client: Client, url: str) -> str:
    answer = client.get(url)
    assert answer.status_code == 200
    return str(answer.content.decode())


# The list


def test_the_list_shows_roles_and_skills_and_who_left(client: Client, rusk: Person) -> None:
    factories.person("noor")
    people.retire(person=Person.objects.get(code="noor"), by=SYSTEM)
    skills.give_skill(person=rusk, skill=Qualification(ARC, factories.LONG_AGO, continuity_months=6), by=SYSTEM)
    page = text_of(client, reverse("people"))
    assert "assembler" in page
    assert "gas-metal-arc (lapsed)" in page
    assert "left" in page.split("Noor Testwell")[1]


def test_the_day_of_a_page_is_the_shops(client: Client, rusk: Person) -> None:
    """03:00 UTC is 20:00 of the day before in Denver."""
    people.retire(person=rusk, by=SYSTEM, now=datetime(2031, 1, 2, 3, 0, tzinfo=UTC))
    page = text_of(client, reverse("person", args=["rusk"]))
    assert "Left on 1 Jan 2031." in page
    assert "2 Jan 2031" not in page


@pytest.mark.parametrize(("days", "shown"), [(29, True), (31, False)])
def test_skills_lapsing_within_thirty_days_are_listed(client: Client, rusk: Person, days: int, shown: bool) -> None:
    end = shop_day(timezone.now()) + timedelta(days=days)
    skills.give_skill(person=rusk, skill=Qualification(ARC, factories.LONG_AGO, valid_until=end), by=SYSTEM)
    lapsing = text_of(client, reverse("people")).split("within 30 days")[1]
    assert (ARC in lapsing) == shown


def test_the_list_needs_the_same_number_of_queries_for_many(
    client: Client, django_assert_max_num_queries: object
) -> None:
    for code in ("ann", "bea", "cis", "dot", "eve", "fay"):
        factories.person(code, Role.WELDER)
    with django_assert_max_num_queries(6):  # type: ignore[operator]
        text_of(client, reverse("people"))


def test_somebody_is_engaged_by_form(client: Client) -> None:
    answer = client.post(reverse("people"), factories.with_key(code="noor", name="Noor Estevane"))
    assert (answer.status_code, answer["Location"]) == (303, reverse("person", args=["noor"]))
    assert "Noor Estevane is engaged." in text_of(client, answer["Location"])


def test_a_refused_form_says_so_at_its_field_and_keeps_the_rest(client: Client, rusk: Person) -> None:
    answer = client.post(reverse("people"), factories.with_key(code="rusk", name="Another Rusk"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert re.search(r'id="engage-code_error">rusk is the code of Rusk Testwell already', page)
    assert 'value="Another Rusk"' in page


# One person


def test_a_badge_code_is_shown_once_and_works(client: Client, rusk: Person) -> None:
    fields = factories.with_key()
    url = reverse("badge_issue", args=["rusk"])
    first = client.post(url, fields)
    found = re.search(r'<b class="serial">(\w{16})</b>', first.content.decode())
    assert found is not None
    assert Badge.objects.get().code_hash == badges.code_hash(found[1])
    again = client.post(url, fields, follow=True)
    assert found[1] not in again.content.decode()
    assert "shown once" in again.content.decode()
    assert Badge.objects.count() == 1
    assert found[1] not in str(Submission.objects.values_list("result", flat=True))


def test_a_double_press_shows_no_code_that_opens_nothing(
    client: Client, rusk: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The slower of two presses finds the key free, makes a code, and is void when it keeps the key."""
    url, fields = reverse("badge_issue", args=["rusk"]), factories.with_key()
    shown = re.compile(r'<b class="serial">(\w{16})</b>')
    first = shown.findall(client.post(url, fields).content.decode())
    real, looks = submission.earlier, [None]
    monkeypatch.setattr(submission, "earlier", lambda *given: looks.pop() if looks else real(*given))
    slower = client.post(url, fields)
    assert (slower.status_code, looks, shown.findall(slower.content.decode())) == (303, [], [])
    # Control: the code on the first answer is the badge's.
    assert [badges.code_hash(code) for code in first] == [Badge.objects.get().code_hash]


@pytest.mark.parametrize(
    ("name", "args", "fields", "said"),
    [
        ("role_give", ["rusk"], {"role": "welder"}, "The role is given."),
        ("pin_set", ["rusk"], {"new_pin": "314159", "again": "314159"}, "The PIN is set."),
        (
            "password_set",
            ["rusk"],
            {"new_password": "nine copper rivets", "again": "nine copper rivets"},
            "The password is set.",
        ),
        ("skill_give", ["rusk"], {"process": ARC, "valid_from": "2025-01-10"}, "The skill is written down."),
        ("retire", ["rusk"], {}, "Left the shop."),
    ],
)
def test_a_change_is_made_and_said(
    client: Client, rusk: Person, name: str, args: list[str], fields: dict[str, str], said: str
) -> None:
    answer = client.post(reverse(name, args=args), factories.with_key(**fields))
    assert (answer.status_code, answer["Location"]) == (303, reverse("person", args=["rusk"]))
    assert said in text_of(client, answer["Location"])


@pytest.mark.parametrize(
    ("name", "fields", "kept", "said"),
    [
        ("role_give", {"role": "king", "valid_from": "2025-01-10"}, "2025-01-10", "valid choice"),
        ("role_give", {"role": "welder", "valid_from": "10.1.2025"}, "10.1.2025", "year-month-day"),
        ("skill_give", {"process": ARC, "valid_from": "9999-12-31"}, ARC, "Check the year"),
        ("skill_give", {"process": ARC, "valid_from": "", "continuity_months": "6,5"}, "6,5", "whole number"),
        ("pin_set", {"new_pin": "314159", "again": "314158"}, "", "not the same"),
        ("pin_set", {"new_pin": "123456", "again": "123456"}, "", "too easy to guess"),
        ("password_set", {"new_password": "short", "again": "short"}, "", "at least 12 characters"),
        ("badge_revoke", {"reason": ""}, "", "required"),
        ("badge_revoke", {"reason": "lost"}, "", "holds no badge"),
    ],
)
def test_a_refused_change_is_said_on_the_page(
    client: Client, rusk: Person, name: str, fields: dict[str, str], kept: str, said: str
) -> None:
    factories.people.issue_badge(person=rusk, by=SYSTEM)
    if said == "holds no badge":
        people.revoke_badge(person=rusk, reason="worn", by=SYSTEM)
    answer = client.post(reverse(name, args=["rusk"]), factories.with_key(**fields))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert said in page
    assert kept in page
    assert "314159" not in page


def test_roles_and_skills_are_ended_by_form(client: Client, rusk: Person) -> None:
    skill = skills.give_skill(person=rusk, skill=Qualification(ARC, factories.LONG_AGO), by=SYSTEM)
    held = RoleHeld.objects.get(person=rusk)
    client.post(reverse("role_end", args=["rusk", held.pk]), factories.with_key())
    client.post(reverse("skill_end", args=["rusk", skill.pk]), factories.with_key(reason="eyes"))
    assert RoleHeld.objects.get(pk=held.pk).valid_until is not None
    assert Skill.objects.get(pk=skill.pk).valid_until is not None


def test_another_persons_role_is_404_under_this_one(client: Client, rusk: Person, dovie: Person) -> None:
    held = RoleHeld.objects.get(person=dovie)
    answer = client.post(reverse("role_end", args=["rusk", held.pk]), factories.with_key())
    assert answer.status_code == 404
    assert RoleHeld.objects.get(pk=held.pk).valid_until is None


def test_quality_sees_skills_and_no_badges(rusk: Person) -> None:
    client = factories.signed_in_client(factories.person("ingrith", Role.QUALITY))
    page = text_of(client, reverse("person", args=["rusk"]))
    assert "Write down a qualification" in page
    assert "Issue a new badge" not in page
    assert "Set the PIN" not in page


# What is mine


def test_mine_shows_roles_and_the_day_a_skill_lapses(rusk: Person) -> None:
    skills.give_skill(
        person=rusk,
        skill=Qualification(ARC, factories.LONG_AGO, valid_until=factories.LONG_AGO.replace(2199)),
        by=SYSTEM,
    )
    page = text_of(factories.signed_in_client(rusk), reverse("mine"))
    assert "assembler" in page
    assert "1 Jan 2199" in page


def test_a_new_pin_needs_the_old_one(rusk: Person) -> None:
    client = factories.signed_in_client(rusk)
    fields = {"new_pin": "314159", "again": "314159"}
    wrong = client.post(reverse("my_pin"), factories.with_key(pin="000001", **fields))
    assert wrong.status_code == 422
    assert f"This is not the PIN of {rusk.name}. Nothing was changed; type the old one again." in wrong.content.decode()
    assert Person.objects.get(pk=rusk.pk).pin_hash == rusk.pin_hash
    assert client.post(reverse("my_pin"), factories.with_key(pin=factories.PIN, **fields)).status_code == 303
    assert Person.objects.get(pk=rusk.pk).pin_hash != rusk.pin_hash


def test_a_new_password_needs_the_old_one(rusk: Person) -> None:
    client = factories.signed_in_client(rusk)
    fields = {"new_password": "nine copper rivets", "again": "nine copper rivets"}
    wrong = client.post(reverse("my_password"), factories.with_key(password="wrong", **fields))
    assert wrong.status_code == 422
    right = factories.with_key(password=factories.PASSWORD, **fields)
    assert client.post(reverse("my_password"), right).status_code == 303
    assert client.get("/mine/").status_code == 200


def test_a_repeated_press_of_a_new_pin_gives_the_same_answer(rusk: Person) -> None:
    """The old PIN is not right any more at the second press; the answer is still the first one's."""
    client = factories.signed_in_client(rusk)
    fields = factories.with_key(pin=factories.PIN, new_pin="314159", again="314159")
    first, second = (client.post(reverse("my_pin"), fields) for _ in range(2))
    assert (first.status_code, second.status_code) == (303, 303)


@pytest.mark.parametrize(
    ("page", "field", "own", "first", "second"),
    [
        ("my_pin", "new_pin", {"pin": factories.PIN}, "314159", "161803"),
        ("my_password", "new_password", {"password": factories.PASSWORD}, "nine copper rivets", "ten copper rivets"),
        ("pin_set", "new_pin", {}, "314159", "161803"),
        ("password_set", "new_password", {}, "nine copper rivets", "ten copper rivets"),
    ],
)
def test_another_secret_under_the_same_key_is_not_told_as_changed(
    page: str, field: str, own: dict[str, str], first: str, second: str
) -> None:
    """Control: the same secret again gets the first answer again."""
    one = factories.person("dovie", Role.MANAGER, password=factories.PASSWORD)
    client, url = factories.signed_in_client(one), reverse(page, args=[] if own else ["dovie"])
    form = factories.with_key(**own)
    same = [client.post(url, form | {field: first, "again": first}) for _ in range(2)]
    assert [answer.status_code for answer in same] == [303, 303]
    kept = Person.objects.get(pk=one.pk)
    other = client.post(url, form | {field: second, "again": second})
    assert other.status_code == 422
    assert "Nothing more was saved" in other.content.decode()
    now = Person.objects.get(pk=one.pk)
    assert (now.pin_hash, now.password) == (kept.pin_hash, kept.password)


# The first page


def test_the_first_page_of_a_terminal_is_its_waiting_list(rusk: Person) -> None:
    at = factories.terminal("T-1", "WELD")
    assert factories.at_terminal_client(rusk, at).get("/")["Location"] == reverse("waiting", args=["WELD"])


def test_the_first_page_of_an_inspector_is_the_holds() -> None:
    calla = factories.person("calla", Role.INSPECTOR)
    assert factories.signed_in_client(calla).get("/")["Location"] == reverse("holds")


def test_the_first_page_is_what_is_mine_when_nothing_else_is(rusk: Person) -> None:
    assert factories.signed_in_client(rusk).get("/")["Location"] == reverse("mine")


@pytest.mark.parametrize("of", ["dovie", "rusk"])
def test_a_manager_who_sets_a_password_stays_signed_in(client: Client, dovie: Person, rusk: Person, of: str) -> None:
    """Their own too; every other seat of the person whose password it is ends (the control)."""
    elsewhere = factories.signed_in_client(Person.objects.get(code=of))
    fields = {"new_password": "nine copper rivets", "again": "nine copper rivets"}
    assert client.post(reverse("password_set", args=[of]), factories.with_key(**fields)).status_code == 303
    stays = [one.get(reverse("mine")).status_code for one in (client, elsewhere)]
    assert stays == [200, 302]
