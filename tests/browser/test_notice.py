"""A notice in the browser, from the reach list to its signature; each page of it accessible, light and dark."""

from __future__ import annotations

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Page

from builds.models import Axle, Notice, NoticeClosing, Phase, RedTag, Shipment
from shop.clock import shop_day
from shop.models import Person, Role
from shop.record.models import Signature
from tests import factories
from tests.browser.desk import desk_of
from tests.browser.test_every_page import WCAG
from tests.builds.floor import lot, released
from tests.builds.notices.shop import sent, with_bearing

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(600)]


@pytest.fixture
def omni(transactional_db: None) -> Person:
    """Everybody's roles in one person. A bearing lot went into an axle on the floor and into one that is gone."""
    made = factories.person("omni", *Role)
    revision = released()
    lot("bearing", "PB-1")
    with_bearing(revision, "PB-1")
    sent(with_bearing(revision, "PB-1"), "Nordhof Yard")
    return made


@pytest.fixture
def page(browser: Browser, live_server: Any, omni: Person) -> Any:
    context = desk_of(omni, browser, live_server.url, scheme="dark")
    yield context.new_page()
    context.close()


def looked_at(page: Page, name: str) -> None:
    """Nothing that a reader with another eye would miss, dark and light, and no wider than a phone."""
    for scheme, width in (("light", 1440), ("dark", 390)):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        page.set_viewport_size({"width": width, "height": 900})
        # Colours go over to the other scheme in a moment, and are looked at when they have.
        page.evaluate("Promise.all(document.getAnimations().map((one) => one.finished))")
        found = Axe().run(page, options=WCAG).response["violations"]
        assert [(one["id"], [node["target"] for node in one["nodes"]][:2]) for one in found] == [], f"{name}, {scheme}"
    assert not page.evaluate("document.documentElement.scrollWidth > window.innerWidth + 1"), name
    page.set_viewport_size({"width": 1280, "height": 800})


def step(page: Page, kind: str, note: str) -> None:
    page.get_by_text("Put a step on record for the chosen lines of Nordhof Yard").click()
    page.locator("input[name=lines]").check()
    page.get_by_label(kind, exact=True).check()
    page.get_by_label("On which day").fill(str(shop_day(timezone.now())))
    page.get_by_label("Note").fill(note)
    page.get_by_role("button", name="Put it on record").click()
    page.get_by_text("On record for 1 line.").wait_for()


def decide(page: Page, number: int) -> None:
    page.get_by_role("link", name=f"Red tag {number}").click()
    page.locator("input[name=decision][value=use_as_is]").check()
    page.get_by_label("Why", exact=False).first.fill("measured: it is hard")
    page.locator("input[name=pin]").fill(factories.PIN)
    page.get_by_role("button", name="Sign").first.click()
    page.get_by_text(f"Red tag {number} is decided.").wait_for()


def test_from_the_cause_to_the_signature(page: Page, live_server: Any, omni: Person) -> None:
    page.goto(f"{live_server.url}{reverse('reach')}?cause=PB-1")
    page.get_by_role("link", name="Put it on record as a notice").click()
    looked_at(page, "notice_new")
    page.get_by_label("What was found").fill("One lot of bearings is too soft.")
    page.get_by_label("What consignees are asked to do").fill("Please turn the hub by hand and tell us what you hear.")
    page.get_by_role("button", name="Put it on record and stop").click()
    page.get_by_text("3 of 3 open").wait_for()
    assert RedTag.objects.open().count() == 2
    looked_at(page, "notice")
    step(page, "told", "by letter")
    step(page, "closed", "bearing exchanged and measured")
    here = page.url
    for tag in RedTag.objects.open().order_by("number"):
        decide(page, tag.number)
        page.goto(here)
    page.get_by_label("How it ended").fill("All looked at.")
    page.locator("#f-close-pin").fill(factories.PIN)
    page.get_by_role("button", name="Sign and close").click()
    page.get_by_text("Notice 1 is closed.").wait_for()
    assert NoticeClosing.objects.get().signature.person == omni
    looked_at(page, "a closed notice")


def test_the_other_pages_of_it(page: Page, live_server: Any, omni: Person) -> None:
    page.goto(f"{live_server.url}{reverse('notice_new')}?cause=PB-1")
    page.get_by_label("What was found").fill("Too soft.")
    page.get_by_label("What consignees are asked to do").fill("Call us.")
    page.get_by_role("button", name="Put it on record and stop").click()
    page.get_by_text("3 of 3 open").wait_for()
    away = Shipment.objects.get().axle
    Axle.objects.filter(pk=away.pk).update(phase=Phase.BACK)
    page.goto(live_server.url + reverse("notice_again", args=[Notice.objects.get().number]))
    looked_at(page, "notice_again")
    page.goto(live_server.url + reverse("notices"))
    looked_at(page, "notices")
    page.goto(live_server.url + reverse("axle_inside", args=[away.serial]))
    looked_at(page, "axle_inside")
    assert Signature.objects.exists()
