"""A unit out of one axle and into another in the browser, scrapped with a word for every part, and an exchange after an
axle has left; each page accessible, light and dark, and no wider than a phone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Page

from builds.actions.joining import Spot, own_unit
from builds.models import Axle, Fitted, Joined, Parted, Unit
from tests.browser.desk import desk_of
from tests.browser.test_notice import looked_at
from tests.shopfloor import THIRD, Floor, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(600), pytest.mark.long(60)]


@dataclass
class House:
    """A shop with an axle whose gear is on its carrier, and another one that waits for it."""

    floor: Floor
    donor: Axle
    taker: Axle

    @property
    def core(self) -> Unit:
        return own_unit(Spot(self.donor), "core")


@pytest.fixture
def house(transactional_db: None) -> House:
    floor = open_shop(THIRD)
    builder = floor.builder(floor.axle())
    builder.kit()
    for key in ("7/", "47/"):
        builder.do(key)
    floor.now = builder.now
    return House(floor, builder.axle, floor.axle())


@pytest.fixture
def page(browser: Browser, live_server: Any, house: House) -> Iterator[Page]:
    context = desk_of(house.floor.people["calla"], browser, live_server.url)
    yield context.new_page()
    context.close()


def test_out_and_in(page: Page, live_server: Any, house: House) -> None:
    core = house.core
    page.goto(live_server.url + reverse("axle", args=[house.donor.serial]))
    page.get_by_role("link", name="Its units: take one out, put one in").click()
    looked_at(page, "units")
    page.get_by_role("link", name="Take it out: core").click()
    looked_at(page, "a unit in its axle")
    page.get_by_label("Why it comes out").fill("The other one is wanted first.")
    page.get_by_label("Where it goes", exact=True).select_option("stock")
    page.get_by_label("What happened to it", exact=True).fill("used: run by hand")
    page.get_by_role("button", name="Take it out").click()
    page.get_by_text(f"{core.item.mark} is out of {house.donor.serial}.").wait_for()
    page.get_by_role("heading", name="Formerly in it").wait_for()
    looked_at(page, "units of the donor")
    page.goto(live_server.url + reverse("axle_units", args=[house.taker.serial]))
    page.get_by_role("link", name=f"Put {core.item.mark} in").click()
    looked_at(page, "a unit in stock")
    assert page.get_by_label("Which axle").input_value() == house.taker.serial
    page.get_by_label("Why it goes in").fill("It is wanted here first.")
    page.get_by_role("button", name="Put it in").click()
    page.get_by_text("What was done on it counts there.").wait_for()
    looked_at(page, "a unit's life")
    assert Joined.objects.get().axle == house.taker
    page.goto(live_server.url + reverse("axle", args=[house.donor.serial]))
    page.get_by_text("as a whole").wait_for()
    looked_at(page, "the donor's file")


def test_scrapped_with_a_word_for_every_part(page: Page, live_server: Any, house: House) -> None:
    core = house.core
    page.goto(live_server.url + reverse("unit", args=[core.pk]))
    page.get_by_label("Why it comes out").fill("It fell from the bench.")
    page.get_by_label("Where it goes", exact=True).select_option("scrap")
    page.get_by_role("button", name="Take it out").click()
    page.get_by_text("Say where each part in it goes.").wait_for()
    looked_at(page, "a scrapped unit with its parts")
    for select in page.locator("select[name^=part-]").all():
        select.select_option("scrap")
    page.get_by_role("button", name="Take it out").click()
    page.get_by_text(f"{core.item.mark} is out of {house.donor.serial}.").wait_for()
    assert Parted.objects.get().to == "scrap"
    assert not Fitted.objects.now().filter(host=core.item).exists()
