"""Limits that the card has worked out tell how they came about: at the bench and in the card, light, dark and small."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Browser, BrowserContext, Page, expect

from builds.scenario.driver import Builder
from tests.browser.desk import desk_of
from tests.browser.test_every_page import WCAG
from tests.shopfloor import Floor, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(600), pytest.mark.long(90)]
LOOKS = (("light", 1280, 800), ("dark", 1280, 800), ("light", 1600, 1000), ("dark", 390, 844), ("light", 390, 844))
ENTRY, COMPUTED = "How these limits came about", "How its limits came about"
PRESS = (
    "modulus of elasticity 29 000 000 psi; Poisson's ratio 0.29; friction 0.08 to 0.15;"
    " interference 0.001 to 0.0029 in, the limits of 50.7. F = π d L p μ"
)
#: Where a window stands, its words, its limits as worked out by hand in tests/builds/definitions, and its grounds.
WINDOWS = (
    ("70/left", "70.1", ENTRY, "3520 to 19100 lbf", f"spindle bore 1.625 in; length 3.75 in; {PRESS}"),
    ("80/left", "", COMPUTED, "20.1 to 41.4 kJ/in", "the limits of 80.3; amps 190 to 230 A, the limits of 80.4"),
    (
        "110/",
        "110.1",
        ENTRY,
        "2890 to 14300 lbf",
        "interference 0.0014 to 0.0037 in, the limits of 40.3. F = π d L p μ",
    ),
    ("130/", "", COMPUTED, "20.1 to 41.4 kJ/in", "the limits of 130.5; amps 190 to 230 A, the limits of 130.6"),
    ("150/", "", COMPUTED, "kJ/in", "E = 60 U I / (1000 v)"),
)


@pytest.fixture
def floor(transactional_db: None) -> Floor:
    return open_shop()


@pytest.fixture
def looking(browser: Browser, live_server: Any, floor: Floor) -> Iterator[list[Page]]:
    """The engineer's pages, one for each look."""
    contexts: list[BrowserContext] = []
    for scheme, width, height in LOOKS:
        size, wenzel = (width, height), floor.people["wenzel"]
        contexts.append(desk_of(wenzel, browser, live_server.url, scheme=scheme, size=size))
    yield [made.new_page() for made in contexts]
    for made in contexts:
        made.close()


def faults_of(page: Page, name: str) -> list[str]:
    found = [f"{name}: {one['id']}" for one in Axe().run(page, options=WCAG).response["violations"]]
    if page.evaluate("document.documentElement.scrollWidth > window.innerWidth + 1"):
        found.append(f"{name}: wider than the window")
    return found


def opened(page: Page, address: str, summary: str, limits: str, grounds: str) -> None:
    page.goto(address)
    (beside,) = page.locator("details").filter(has=page.get_by_text(summary, exact=True)).all()[:1]
    expect(beside.locator("p")).to_be_hidden()
    beside.locator("summary").click()
    expect(beside.locator("p")).to_be_visible()
    expect(beside.locator("p")).to_contain_text(grounds)
    expect(page.locator("main")).to_contain_text(limits)


def test_every_window_tells_how_it_came_about(floor: Floor, live_server: Any, looking: list[Page]) -> None:
    builder: Builder = floor.builder(floor.axle())
    builder.kit()
    faults = []
    for key, code, summary, limits, grounds in WINDOWS:
        number, _, side = key.partition("/")
        builder.run(until=int(number))
        visit = builder.begin(key)
        here = live_server.url + reverse("station", args=[builder.axle.serial, number, side or "-"])
        for look, page in zip(LOOKS, looking, strict=True):
            opened(page, f"{here}?characteristic={code}" if code else here, summary, limits, grounds)
            faults += faults_of(page, f"{key} {look}")
        for page in looking:  # a page left open asks by itself, and follows the pass when that is done
            page.goto("about:blank")
        builder.fill(visit)
        builder.sign(visit)
    revision = builder.axle.revision
    card = live_server.url + reverse("card", args=[revision.model.code, revision.letter])
    for look, page in zip(LOOKS, looking, strict=True):
        page.goto(card)
        expect(page.locator("#op-70")).to_contain_text("3520 to 19100 lbfWorked out from tube outside 3.625 in")
        expect(page.locator("#op-80")).to_contain_text("20.1 to 41.4 kJ/inWorked out from volts 23 to 27 V")
        faults += faults_of(page, f"the card {look}")
    assert faults == []
