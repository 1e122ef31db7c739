"""People, stations, terminals and clients for tests, made by calling the same actions as the pages."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.utils import timezone

from shop.actions import people, stations
from shop.actions.signing import GRANT_LASTS, Grant
from shop.http.seat import bind_terminal, take_seat
from shop.models import Person, Role, Station, Terminal
from shop.record.who import SYSTEM, Who

PIN = "271828"
PASSWORD = "seven brass washers"
LONG_AGO = date(2020, 1, 1)


@dataclass(frozen=True)
class AtTerminal:
    """A registered terminal and the key that its browser holds."""

    terminal: Terminal
    key: str


def person(
    code: str = "rusk", *roles: Role, name: str = "", pin: str = PIN, password: str = "", badge: str = ""
) -> Person:
    """Somebody engaged, with a PIN, the roles since long ago, and a badge or password when asked for."""
    made = people.engage(code=code, name=name or f"{code.title()} Testwell", by=SYSTEM)
    for role in roles:
        people.give_role(person=made, role=role, valid_from=LONG_AGO, by=SYSTEM)
    if pin:
        people.set_pin(person=made, pin=pin, by=SYSTEM)
    if password:
        people.set_password(person=made, password=password, by=SYSTEM)
    if badge:
        people.issue_badge(person=made, code=badge, by=SYSTEM)
    return Person.objects.get(pk=made.pk)


def station(code: str = "AXLE", name: str = "") -> Station:
    return Station.objects.filter(code=code).first() or stations.add_station(
        code=code, name=name or f"{code.title()} bench", by=SYSTEM
    )


def terminal(code: str = "T-1", at: str = "AXLE") -> AtTerminal:
    made, key = stations.register_terminal(code=code, station=station(at), by=SYSTEM)
    return AtTerminal(made, key)


def who(somebody: Person, at: AtTerminal | None = None) -> Who:
    return Who(somebody, at.terminal if at else None)


def grant(somebody: Person, meaning: str = "did", at: AtTerminal | None = None) -> Grant:
    """The grant that a right PIN yields, without waiting for its hash."""
    return Grant(somebody, at.terminal if at else None, meaning, timezone.now() + GRANT_LASTS)


def terminal_client(at: AtTerminal) -> Client:
    """The browser of a terminal, nobody signed in."""
    client, response = Client(), HttpResponse()
    bind_terminal(response, at.key)
    client.cookies.update(response.cookies)
    return client


def at_terminal_client(somebody: Person, at: AtTerminal) -> Client:
    """The browser of a terminal, this person signed in."""
    client, response = terminal_client(at), HttpResponse()
    take_seat(HttpRequest(), response, person=somebody, terminal=at.terminal)
    client.cookies.update(response.cookies)
    return client


def signed_in_client(somebody: Person) -> Client:
    """A desk's browser, this person signed in."""
    client, response = Client(), HttpResponse()
    take_seat(HttpRequest(), response, person=somebody, terminal=None)
    client.cookies.update(response.cookies)
    return client


def with_key(**fields: Any) -> dict[str, Any]:
    """What a form posts: its fields and a fresh submission key."""
    return {"submission": str(uuid.uuid4()), **fields}
