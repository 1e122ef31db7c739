"""Engaging, badges, PINs, passwords, roles and leaving: what works, what is required, what is refused."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.contrib.auth.hashers import check_password
from django.utils import timezone

from shop import badges
from shop.actions import people
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Badge, Person, Role, RoleHeld, SignIn
from shop.permissions import holds_role
from shop.record.models import Event
from shop.record.who import SYSTEM, Who
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def dovie() -> Person:
    return factories.person("dovie", Role.MANAGER)


@pytest.fixture
def rusk() -> Person:
    return factories.person("rusk", Role.ASSEMBLER)


def last_event(person: Person) -> Event:
    return Event.objects.filter(subject=f"person:{person.code}").latest("sequence")


# Engaging


def test_a_manager_engages_somebody(dovie: Person) -> None:
    made = people.engage(code=" Noor ", name=" Noor  Estevane ", by=Who(dovie))
    assert (made.code, made.name, made.retired_at) == ("noor", "Noor Estevane", None)
    event = last_event(made)
    assert (event.kind, event.person) == ("person.engaged", dovie)


def test_engaging_requires_a_manager(rusk: Person) -> None:
    with pytest.raises(Refusal, match="needs the role manager"):
        people.engage(code="noor", name="Noor Estevane", by=Who(rusk))
    assert not Person.objects.filter(code="noor").exists()


@pytest.mark.parametrize(
    ("code", "name", "field"),
    [
        ("", "Noor", "code"),
        ("n", "Noor", "code"),
        ("9noor", "Noor", "code"),
        ("no or", "Noor", "code"),
        ("nóor", "Noor", "code"),
        ("n" * 21, "Noor", "code"),
        ("noor", " ", "name"),
        ("noor", "N" * 81, "name"),
        ("noor", "No\x07or", "name"),
    ],
)
def test_engaging_rejects(dovie: Person, code: str, name: str, field: str) -> None:
    with pytest.raises(Refusal) as refused:
        people.engage(code=code, name=name, by=Who(dovie))
    assert refused.value.field == field


def test_a_code_is_never_used_twice_not_even_after_leaving(dovie: Person, rusk: Person) -> None:
    people.retire(person=rusk, by=Who(dovie))
    with pytest.raises(Refusal, match="rusk is the code of Rusk Testwell already"):
        people.engage(code="rusk", name="Another Rusk", by=Who(dovie))


def test_a_name_may_change_and_the_old_one_stays_in_the_record(dovie: Person, rusk: Person) -> None:
    people.rename(person=rusk, name="Rusk Adeholm", by=Who(dovie))
    assert Person.objects.get(code="rusk").name == "Rusk Adeholm"
    assert last_event(rusk).notes == {"was": "Rusk Testwell", "name": "Rusk Adeholm"}


# Badges


def test_a_badge_is_kept_as_a_keyed_hash_only(dovie: Person, rusk: Person) -> None:
    badge, code = people.issue_badge(person=rusk, by=Who(dovie))
    assert len(code) == badges.CODE_LENGTH
    assert badge.code_hash == badges.code_hash(code)
    for event in Event.objects.all():
        assert code.encode() not in bytes(event.content)


def test_another_key_makes_another_hash(settings: pytest.FixtureRequest) -> None:
    first = badges.code_hash("RUSKBADGE22")
    settings.BADGE_KEY = "another key"  # type: ignore[attr-defined]
    assert badges.code_hash("RUSKBADGE22") != first


def test_a_new_badge_ends_the_old_one(dovie: Person, rusk: Person) -> None:
    old, _ = people.issue_badge(person=rusk, by=Who(dovie))
    new, _ = people.issue_badge(person=rusk, by=Who(dovie))
    assert [badge.pk for badge in Badge.objects.filter(person=rusk, revoked_at=None)] == [new.pk]
    assert Badge.objects.get(pk=old.pk).revoked_at is not None


def test_a_badge_code_is_never_used_twice(dovie: Person, rusk: Person) -> None:
    people.issue_badge(person=rusk, code="RUSKBADGE22", by=Who(dovie))
    people.revoke_badge(person=rusk, reason="lost", by=Who(dovie))
    with pytest.raises(Refusal, match="used before"):
        people.issue_badge(person=dovie, code="ruskbadge22", by=Who(dovie))


def test_badges_require_a_manager(rusk: Person) -> None:
    with pytest.raises(Refusal, match="manager"):
        people.issue_badge(person=rusk, by=Who(rusk))
    factories.people.issue_badge(person=rusk, by=SYSTEM)
    with pytest.raises(Refusal, match="manager"):
        people.revoke_badge(person=rusk, reason="lost", by=Who(rusk))
    assert Badge.objects.get().revoked_at is None


def test_revoking_needs_a_badge_and_a_reason(dovie: Person, rusk: Person) -> None:
    with pytest.raises(Refusal, match="holds no badge"):
        people.revoke_badge(person=rusk, reason="lost", by=Who(dovie))
    people.issue_badge(person=rusk, by=Who(dovie))
    with pytest.raises(Refusal, match="reason is empty"):
        people.revoke_badge(person=rusk, reason=" ", by=Who(dovie))


# PIN and password


def test_a_person_sets_their_own_pin(rusk: Person) -> None:
    people.set_pin(person=rusk, pin="314159", by=Who(rusk))
    assert check_password("314159", Person.objects.get(code="rusk").pin_hash)


def test_somebody_elses_pin_is_set_by_a_manager_only(dovie: Person, rusk: Person) -> None:
    with pytest.raises(Refusal, match="manager"):
        people.set_pin(person=dovie, pin="314159", by=Who(rusk))
    people.set_pin(person=rusk, pin="314159", by=Who(dovie))
    assert last_event(rusk).person == dovie


@pytest.mark.parametrize(
    "pin",
    [
        "",
        "12345",
        "1234567890123",
        "31415a",
        "314 159",
        "-31415",
        "３１４１５９",
        "000000",
        "123456",
        "654321",
    ],
)
def test_a_weak_pin_is_rejected(rusk: Person, pin: str) -> None:
    with pytest.raises(Refusal) as refused:
        people.set_pin(person=rusk, pin=pin, by=Who(rusk))
    assert refused.value.field == "pin"
    assert Person.objects.get(code="rusk").pin_hash == rusk.pin_hash


@pytest.mark.parametrize("password", ["", "elevenchars", "password1234", "a" * 201, "long enough\x00 this"])
def test_a_weak_password_is_rejected(rusk: Person, password: str) -> None:
    with pytest.raises(Refusal) as refused:
        people.set_password(person=rusk, password=password, by=Who(rusk))
    assert refused.value.field == "password"


def test_no_credential_enters_the_record(dovie: Person, rusk: Person) -> None:
    people.set_pin(person=rusk, pin="314159", by=Who(dovie))
    people.set_password(person=rusk, password="nine copper rivets", by=Who(dovie))
    hashes = Person.objects.values_list("pin_hash", "password").get(code="rusk")
    whole = b"".join(bytes(event.content) for event in Event.objects.all())
    for secret in (*hashes, "314159", "nine copper rivets"):
        assert secret.encode() not in whole


def test_a_new_pin_ends_other_sign_ins_and_keeps_ones_own(rusk: Person) -> None:
    at = factories.terminal()
    bench, desk = factories.at_terminal_client(rusk, at), factories.signed_in_client(rusk)
    here = SignIn.objects.standing().get(terminal=at.terminal)
    people.set_pin(person=rusk, pin="314159", by=factories.who(rusk, at), here=here)
    assert bench.get("/mine/").status_code == 200
    assert desk.get("/mine/").status_code == 302


def test_a_new_password_at_one_desk_ends_the_other_desks(rusk: Person) -> None:
    """Through the page, which knows the seat. Control: the desk itself stays."""
    people.set_password(person=rusk, password="nine copper rivets", by=SYSTEM)
    here, other = factories.signed_in_client(rusk), factories.signed_in_client(rusk)
    mine = {"password": "nine copper rivets", "new_password": "ten copper rivets", "again": "ten copper rivets"}
    assert here.post("/mine/password/", factories.with_key(**mine)).status_code == 303
    assert here.get("/mine/").status_code == 200
    assert other.get("/mine/").status_code == 302


# Roles


def test_a_role_is_held_from_today_when_no_day_is_given(dovie: Person, rusk: Person) -> None:
    today = shop_day(timezone.now())
    people.give_role(person=rusk, role=Role.INSPECTOR, by=Who(dovie))
    assert holds_role(rusk, Role.INSPECTOR, today + timedelta(days=1))


def test_giving_a_role_requires_a_manager(rusk: Person) -> None:
    with pytest.raises(Refusal, match="manager"):
        people.give_role(person=rusk, role=Role.MANAGER, by=Who(rusk))


@pytest.mark.parametrize(
    ("begin", "end", "said"),
    [
        (date(2025, 5, 1), date(2025, 5, 1), "ends after the day it begins"),
        (date(2025, 5, 1), date(2025, 4, 1), "ends after the day it begins"),
        (date(1, 1, 1), None, "Check the year"),
        (date(9999, 12, 31), None, "Check the year"),
        (factories.LONG_AGO, None, "on that day already"),
    ],
)
def test_giving_a_role_rejects(dovie: Person, rusk: Person, begin: date, end: date | None, said: str) -> None:
    with pytest.raises(Refusal, match=said):
        people.give_role(person=rusk, role=Role.ASSEMBLER, valid_from=begin, valid_until=end, by=Who(dovie))
    assert RoleHeld.objects.filter(person=rusk).count() == 1


def test_an_ended_role_is_not_held_any_more(dovie: Person, rusk: Person) -> None:
    today = shop_day(timezone.now())
    held = RoleHeld.objects.get(person=rusk)
    people.end_role(held=held, by=Who(dovie))
    assert not holds_role(rusk, Role.ASSEMBLER, today + timedelta(days=1))
    assert holds_role(rusk, Role.ASSEMBLER, today - timedelta(days=7))
    with pytest.raises(Refusal, match="already"):
        people.end_role(held=held, by=Who(dovie))


def test_the_last_manager_stays_manager(dovie: Person) -> None:
    held = RoleHeld.objects.get(person=dovie)
    with pytest.raises(Refusal, match="the only manager"):
        people.end_role(held=held, by=Who(dovie))
    factories.person("ingrith", Role.MANAGER)
    people.end_role(held=held, by=Who(dovie))


@pytest.mark.parametrize("in_days", [1, 400])
def test_the_last_managers_role_does_not_end_later_either(dovie: Person, in_days: int) -> None:
    """Control: with another manager who has no last day it may."""
    held, on = RoleHeld.objects.get(person=dovie), shop_day(timezone.now()) + timedelta(days=in_days)
    with pytest.raises(Refusal, match="the only manager"):
        people.end_role(held=held, on=on, by=SYSTEM)
    factories.person("ingrith", Role.MANAGER)
    assert people.end_role(held=held, on=on, by=SYSTEM).valid_until == on


def test_a_manager_with_a_last_day_is_not_one_who_stays(dovie: Person) -> None:
    """Control: the one with the last day may go."""
    ingrith, today = factories.person("ingrith"), shop_day(timezone.now())
    last = today + timedelta(days=30)
    people.give_role(person=ingrith, role=Role.MANAGER, valid_from=today, valid_until=last, by=SYSTEM)
    with pytest.raises(Refusal, match="without a last day"):
        people.retire(person=dovie, by=SYSTEM)
    with pytest.raises(Refusal, match="without a last day"):
        people.end_role(held=RoleHeld.objects.get(person=dovie), by=SYSTEM)
    people.retire(person=ingrith, by=SYSTEM)


def test_who_was_retired_after_being_read_does_nothing_more(dovie: Person, rusk: Person) -> None:
    """The author was read when the request began. Control: the same act a moment earlier."""
    ingrith = factories.person("ingrith", Role.MANAGER)
    people.rename(person=rusk, name="Rusk One", by=Who(ingrith))
    people.retire(person=Person.objects.get(pk=ingrith.pk), by=Who(dovie))
    assert ingrith.retired_at is None
    with pytest.raises(Refusal, match="manager"):
        people.rename(person=rusk, name="Rusk Two", by=Who(ingrith))
    assert Person.objects.get(pk=rusk.pk).name == "Rusk One"


# Leaving


def test_leaving_deletes_nothing_and_ends_everything(dovie: Person, rusk: Person) -> None:
    people.issue_badge(person=rusk, by=Who(dovie))
    factories.signed_in_client(rusk)
    people.retire(person=rusk, by=Who(dovie))
    left = Person.objects.get(code="rusk")
    assert left.retired_at is not None
    assert not Badge.objects.filter(person=rusk, revoked_at=None).exists()
    assert not SignIn.objects.standing().exists()
    assert RoleHeld.objects.filter(person=rusk).exists()
    assert not holds_role(left, Role.ASSEMBLER, shop_day(timezone.now()))


def test_leaving_rejects(dovie: Person, rusk: Person) -> None:
    with pytest.raises(Refusal, match="manager"):
        people.retire(person=dovie, by=Who(rusk))
    with pytest.raises(Refusal, match="Nobody retires themselves"):
        people.retire(person=dovie, by=Who(dovie))
    with pytest.raises(Refusal, match="the only manager"):
        people.retire(person=dovie, by=SYSTEM)
    people.retire(person=rusk, by=Who(dovie))
    with pytest.raises(Refusal, match="left on"):
        people.retire(person=rusk, by=Who(dovie))


def test_nothing_changes_for_somebody_who_left(dovie: Person, rusk: Person) -> None:
    people.retire(person=rusk, by=Who(dovie))
    tries = (
        lambda: people.rename(person=rusk, name="X", by=Who(dovie)),
        lambda: people.issue_badge(person=rusk, by=Who(dovie)),
        lambda: people.set_pin(person=rusk, pin="314159", by=Who(dovie)),
        lambda: people.set_password(person=rusk, password="nine copper rivets", by=Who(dovie)),
        lambda: people.give_role(person=rusk, role=Role.WELDER, by=Who(dovie)),
    )
    for attempt in tries:
        with pytest.raises(Refusal, match="left on"):
            attempt()
