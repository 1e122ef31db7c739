"""Stations, terminals and shifts."""

from __future__ import annotations

from datetime import time

import pytest

from shop.actions import stations
from shop.errors import Refusal
from shop.http.seat import fingerprint
from shop.models import Person, Role, Shift, SignIn, Station, Terminal
from shop.record.models import Event
from shop.record.who import SYSTEM, Who
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def rusk() -> Person:
    return factories.person("rusk", Role.ASSEMBLER)


def test_a_station_is_added() -> None:
    made = stations.add_station(code="weld", name="Weld bay", order=3, by=SYSTEM)
    assert (made.code, made.name, made.order) == ("WELD", "Weld bay", 3)


@pytest.mark.parametrize(
    ("code", "name", "order", "field"),
    [
        ("", "Weld", 0, "code"),
        ("A/B", "Weld", 0, "code"),
        ("TOOLONGCODE", "Weld", 0, "code"),
        ("WELD", "", 0, "name"),
        ("WELD", "Weld", -1, "order"),
        ("WELD", "Weld", 1000, "order"),
    ],
)
def test_a_senseless_station_is_rejected(code: str, name: str, order: int, field: str) -> None:
    with pytest.raises(Refusal) as refused:
        stations.add_station(code=code, name=name, order=order, by=SYSTEM)
    assert refused.value.field == field
    assert not Station.objects.exists()


def test_a_station_code_stands_once() -> None:
    factories.station("WELD")
    with pytest.raises(Refusal, match="a station WELD already"):
        stations.add_station(code="weld", name="Other", by=SYSTEM)


def test_a_terminal_keeps_only_the_hash_of_its_key() -> None:
    at = factories.terminal()
    assert at.terminal.key_hash == fingerprint(at.key)
    assert len(at.key) >= 43
    for event in Event.objects.all():
        assert at.key.encode() not in bytes(event.content)


def test_all_of_it_requires_a_manager(rusk: Person) -> None:
    at, by = factories.terminal(), Who(rusk)
    tries = (
        lambda: stations.add_station(code="WELD", name="Weld", by=by),
        lambda: stations.register_terminal(code="T-9", station=factories.station(), by=by),
        lambda: stations.revoke_terminal(terminal=at.terminal, reason="x", by=by),
        lambda: stations.set_shift(name="early", starts=time(6), ends=time(14), by=by),
    )
    for attempt in tries:
        with pytest.raises(Refusal, match="needs the role manager"):
            attempt()


def test_a_terminal_code_is_never_used_twice() -> None:
    at = factories.terminal("T-1")
    stations.revoke_terminal(terminal=at.terminal, reason="broken", by=SYSTEM)
    with pytest.raises(Refusal, match="never used twice"):
        stations.register_terminal(code="t-1", station=factories.station(), by=SYSTEM)


def test_revoking_ends_who_sits_there(rusk: Person) -> None:
    at = factories.terminal()
    factories.at_terminal_client(rusk, at)
    desk = factories.signed_in_client(rusk)
    stations.revoke_terminal(terminal=at.terminal, reason="broken", by=SYSTEM)
    assert Terminal.objects.get().revoked_at is not None
    assert [row.terminal for row in SignIn.objects.standing()] == [None]
    assert desk.get("/mine/").status_code == 200
    with pytest.raises(Refusal, match="revoked already"):
        stations.revoke_terminal(terminal=at.terminal, reason="broken", by=SYSTEM)


def test_a_shift_is_set_and_set_anew() -> None:
    stations.set_shift(name="early", starts=time(6), ends=time(14), by=SYSTEM)
    stations.set_shift(name="early", starts=time(5, 30), ends=time(13, 30), by=SYSTEM)
    assert [(shift.name, shift.starts, shift.ends) for shift in Shift.objects.all()] == [
        ("early", time(5, 30), time(13, 30))
    ]
    with pytest.raises(Refusal, match="another time"):
        stations.set_shift(name="late", starts=time(6), ends=time(6), by=SYSTEM)
