"""The command that opens an empty shop: one manager, once."""

from __future__ import annotations

import io
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.actions import people
from shop.clock import shop_day
from shop.models import Person, Role, RoleHeld
from shop.permissions import holds_role
from shop.record.replay import check
from tests import factories

pytestmark = pytest.mark.django_db
PASSWORD = "nine copper rivets"


def command(monkeypatch: pytest.MonkeyPatch, password: str = PASSWORD, code: str = "dovie") -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{password}\n"))
    call_command("first_manager", code, "Dovie Testwell")


def test_who_is_engaged_is_manager_and_can_sign_in(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    command(monkeypatch)
    dovie = Person.objects.get(code="dovie")
    assert holds_role(dovie, Role.MANAGER, shop_day(timezone.now()))
    assert RoleHeld.objects.get().valid_until is None
    assert dovie.check_password(PASSWORD)
    assert PASSWORD not in capsys.readouterr().out
    assert check()[1] == []
    assert factories.signed_in_client(dovie).get(reverse("people")).status_code == 200
    assert Client().get(reverse("people")).status_code == 302


def test_there_is_one_first_manager(monkeypatch: pytest.MonkeyPatch) -> None:
    command(monkeypatch)
    with pytest.raises(CommandError, match="has a manager already"):
        command(monkeypatch, code="ingrith")
    assert Person.objects.count() == 1


def test_a_manager_who_has_left_or_is_still_to_begin_is_one_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever may run commands could otherwise make a second one behind the shop's back."""
    factories.person("ingrith", Role.MANAGER)
    Person.objects.update(retired_at=timezone.now())
    with pytest.raises(CommandError, match="has a manager already"):
        command(monkeypatch)


@pytest.mark.parametrize("password", ["", "short", "password1234"])
def test_a_weak_password_leaves_nothing_behind(monkeypatch: pytest.MonkeyPatch, password: str) -> None:
    with pytest.raises(CommandError):
        command(monkeypatch, password)
    assert not Person.objects.exists()
    assert not RoleHeld.objects.exists()


def test_people_without_a_manager_are_no_hindrance() -> None:
    """Control of the refusals above."""
    factories.person("rusk", Role.ASSEMBLER)
    people.first_manager(code="dovie", name="Dovie Testwell", password=PASSWORD)
    assert RoleHeld.objects.filter(role=Role.MANAGER).count() == 1
