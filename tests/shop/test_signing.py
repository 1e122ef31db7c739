"""A PIN gives a grant, a grant gives one signature: whose, where, in which sense, and for how long."""

from __future__ import annotations

import contextlib
from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from shop.actions import people
from shop.actions.signing import GRANT_LASTS, Grant, check_pin, signature
from shop.errors import Refusal
from shop.models import Person, SignInTry, Terminal
from shop.record.act import act
from shop.record.models import Signature
from shop.record.who import SYSTEM, Who
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def rusk() -> Person:
    return factories.person("rusk")


@pytest.fixture
def at() -> factories.AtTerminal:
    return factories.terminal()


def sign(grant: Grant, by: Who, meaning: str = "") -> Signature:
    """In the sense of the grant, unless another is asked for."""
    with act("work.signed", subject="axle:X", by=by) as a:
        return signature(a, grant, Signature.Meaning(meaning or grant.meaning))


def test_the_right_pin_signs_with_its_meaning(rusk: Person, at: factories.AtTerminal) -> None:
    grant = check_pin(person=rusk, pin=factories.PIN, terminal=at.terminal, meaning="checked")
    row = sign(grant, factories.who(rusk, at))
    assert (row.person, row.terminal, row.meaning) == (rusk, at.terminal, "checked")


@pytest.mark.parametrize("pin", ["", "000001", "2718281", "9" * 500, "\x00"])
def test_a_wrong_pin_gives_no_grant(rusk: Person, pin: str) -> None:
    with pytest.raises(Refusal, match=f"not the PIN of {rusk.name}\\. Nothing was signed; type it again"):
        check_pin(person=rusk, pin=pin, terminal=None, meaning="did")
    assert [row.good for row in SignInTry.objects.all()] == [False]


@pytest.mark.parametrize("meaning", ["", "approved", "DID"])
def test_a_signature_has_one_of_four_meanings(rusk: Person, meaning: str) -> None:
    with pytest.raises(Refusal, match="did, checked, released or agreed"):
        check_pin(person=rusk, pin=factories.PIN, terminal=None, meaning=meaning)


def test_without_a_pin_nobody_signs() -> None:
    noor = factories.person("noor", pin="")
    with pytest.raises(Refusal, match="has no PIN yet"):
        check_pin(person=noor, pin="", terminal=None, meaning="did")


def test_who_left_signs_nothing(rusk: Person) -> None:
    people.retire(person=rusk, by=SYSTEM)
    left = Person.objects.get(pk=rusk.pk)
    with pytest.raises(Refusal, match="no longer works here"):
        check_pin(person=left, pin=factories.PIN, terminal=None, meaning="did")


def test_a_grant_is_its_persons_only(rusk: Person) -> None:
    noor = factories.person("noor")
    grant = check_pin(person=rusk, pin=factories.PIN, terminal=None, meaning="did")
    for by in (Who(noor), SYSTEM):
        with pytest.raises(Refusal, match="by the person who acts"):
            sign(grant, by)
    assert not Signature.objects.exists()


def test_a_grant_is_its_terminals_only(rusk: Person, at: factories.AtTerminal) -> None:
    grant = check_pin(person=rusk, pin=factories.PIN, terminal=at.terminal, meaning="did")
    for by in (Who(rusk), factories.who(rusk, factories.terminal("T-2"))):
        with pytest.raises(Refusal, match="at another terminal"):
            sign(grant, by)


@pytest.mark.parametrize("asked", ["did", "released", "agreed"])
def test_a_grant_signs_in_its_own_sense_only(rusk: Person, asked: str) -> None:
    """Control: what was refused has not used the grant up, and in its own sense it signs."""
    grant = check_pin(person=rusk, pin=factories.PIN, terminal=None, meaning="checked")
    with pytest.raises(Refusal, match=f"signed as “{Signature.Meaning(asked).label}”"):
        sign(grant, Who(rusk), asked)
    assert not Signature.objects.exists()
    assert sign(grant, Who(rusk), "checked").meaning == "checked"


def test_a_grant_signs_once(rusk: Person) -> None:
    """Control: another PIN given signs again."""
    grant = check_pin(person=rusk, pin=factories.PIN, terminal=None, meaning="did")
    first = sign(grant, Who(rusk))
    with pytest.raises(Refusal, match="has signed already"):
        sign(grant, Who(rusk))
    assert list(Signature.objects.all()) == [first]
    assert sign(check_pin(person=rusk, pin=factories.PIN, terminal=None, meaning="did"), Who(rusk)).pk


@pytest.mark.parametrize(("after", "signs"), [(0, True), (60, True), (61, False), (3600, False)])
def test_a_grant_lasts_a_minute(rusk: Person, after: int, signs: bool) -> None:
    start = timezone.now()
    with time_machine.travel(start, tick=False):
        grant = check_pin(person=rusk, pin=factories.PIN, terminal=None, meaning="did")
    assert grant.expires == start + GRANT_LASTS
    with time_machine.travel(start + timedelta(seconds=after), tick=False):
        if signs:
            assert sign(grant, Who(rusk)).pk
        else:
            with pytest.raises(Refusal, match="more than a minute ago"):
                sign(grant, Who(rusk))


def test_wrong_signatures_are_throttled_and_the_right_pin_waits_too(rusk: Person) -> None:
    start = timezone.now()
    for second in range(5):
        with pytest.raises(Refusal, match="not the PIN"):
            check_pin(person=rusk, pin="000001", terminal=None, meaning="did", now=start + timedelta(seconds=second))
    with pytest.raises(Refusal, match=r"Too many wrong tries\. Wait 10 minutes"):
        check_pin(person=rusk, pin=factories.PIN, terminal=None, meaning="did", now=start + timedelta(seconds=5))
    later = start + timedelta(minutes=10, seconds=1)
    assert check_pin(person=rusk, pin=factories.PIN, terminal=None, meaning="did", now=later)


def test_a_right_pin_between_clears_the_count(rusk: Person) -> None:
    for pin in ("000001",) * 4 + (factories.PIN,) + ("000001",) * 4:
        if pin == factories.PIN:
            check_pin(person=rusk, pin=pin, terminal=None, meaning="did")
        else:
            with pytest.raises(Refusal, match="not the PIN"):
                check_pin(person=rusk, pin=pin, terminal=None, meaning="did")
    assert check_pin(person=rusk, pin=factories.PIN, terminal=None, meaning="did")


def test_a_right_pin_is_noted_only_where_it_ends_a_count(rusk: Person, at: factories.AtTerminal) -> None:
    """A note is a commit of its own; with nothing wrong before it, it would say nothing."""

    def press(pin: str, terminal: Terminal | None = None) -> None:
        with contextlib.suppress(Refusal):
            check_pin(person=rusk, pin=pin, terminal=terminal, meaning="did")

    def noted() -> list[bool]:
        return list(SignInTry.objects.order_by("pk").values_list("good", flat=True))

    press(factories.PIN)
    assert noted() == []
    for pin in ("000001", factories.PIN):
        press(pin, at.terminal)
    assert noted() == [False, True]
    noor = factories.person("noor")  # another's wrong tries at this terminal count too
    SignInTry.objects.create(person=noor, terminal=at.terminal, good=False, at=timezone.now())
    press(factories.PIN, at.terminal)
    assert noted() == [False, True, False, True]


def test_one_persons_wrong_tries_do_not_stop_another(rusk: Person, at: factories.AtTerminal) -> None:
    noor = factories.person("noor")
    for _ in range(5):
        with pytest.raises(Refusal):
            check_pin(person=rusk, pin="000001", terminal=at.terminal, meaning="did")
    assert check_pin(person=noor, pin=factories.PIN, terminal=at.terminal, meaning="did")
