"""One shop for a whole module of browser tests: a server and a database that outlive the single test."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.management import call_command
from playwright.sync_api import Browser
from pytest_django.live_server_helper import LiveServer

from builds.models import Axle
from builds.scenario.driver import Builder
from shop.actions.people import set_password, set_pin
from shop.record import triggers
from shop.record.who import SYSTEM
from tests.browser.hands import PASSWORDS, PINS
from tests.browser.refused.walk import BEGIN, Walk
from tests.shopfloor import SORREL, open_shop


@pytest.fixture(scope="module")
def standing_server(django_db_setup: None, django_db_blocker: Any) -> Iterator[str]:
    """The address of a live server; what a module writes is committed, and is emptied when the module is over.

    The plain `live_server` empties the database after each test, and a shop takes longer to set up than to test.
    """
    with django_db_blocker.unblock():
        server = LiveServer("localhost")
        with server._live_server_modified_settings:
            try:
                yield server.url
            finally:
                server.stop()
                with triggers.lifted("default"):
                    call_command("flush", verbosity=0, interactive=False)


@pytest.fixture
def _django_db_helper() -> None:
    """Nothing is emptied between these tests: `standing_server` does it when they are over."""


@pytest.fixture(scope="module")
def clock() -> Iterator[time_machine.Traveller]:
    with time_machine.travel(BEGIN, tick=True) as traveller:
        yield traveller


@pytest.fixture(scope="module")
def card_file() -> Path:
    """The card that the shop of a module builds from; a module may name another."""
    return SORREL


@pytest.fixture(scope="module")
def standing_walk(
    standing_server: str, clock: time_machine.Traveller, browser: Browser, card_file: Path
) -> Iterator[Walk]:
    """A shop with its people, its card and a clock of its own, for a module that has it to itself."""
    floor = open_shop(card_file, begin=BEGIN - timedelta(days=2))
    for code in PINS:
        set_pin(person=floor.people[code], pin=PINS[code], by=SYSTEM, now=floor.now)
        set_password(person=floor.people[code], password=PASSWORDS[code], by=SYSTEM, now=floor.now)
    made = Walk(floor, browser, standing_server, clock)
    yield made
    for bench in made.benches.values():
        bench.page.context.close()


@pytest.fixture
def walk(standing_walk: Walk) -> Walk:
    """Each test begins with nobody signed in: the terminals have locked themselves."""
    standing_walk.clock.shift(timedelta(minutes=3))
    return standing_walk


@pytest.fixture
def gears(walk: Walk) -> Axle:
    """An axle whose ring gear is on its case, ready for the bolts."""
    return walk.axle_before("10/", "200/", "210/")


@pytest.fixture(scope="module")
def builder(standing_walk: Walk) -> Builder:
    """Takes the one axle of a module from operation to operation by the actions."""
    made = standing_walk.floor.builder(standing_walk.floor.axle())
    made.kit()
    return made
