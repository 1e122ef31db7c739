"""A hub in the browser before there is an axle for it: begun at a desk, taken up and set down at its station, put in
stock and put into an axle; each page accessible, light and dark, and no wider than a phone."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Page

from builds.models import Axle, Unit, Visit
from builds.reports.facts import standing
from builds.scenario.driver import Builder
from builds.scenario.values import VALUES
from tests.browser.desk import desk_of
from tests.browser.test_notice import looked_at
from tests.shopfloor import Floor, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(600), pytest.mark.long(30)]
Opens = Callable[[str], Page]


@pytest.fixture
def floor(transactional_db: None) -> Floor:
    return open_shop()


@pytest.fixture
def opens(browser: Browser, live_server: Any, floor: Floor) -> Iterator[Opens]:
    """A browser of this person's own."""
    contexts = []

    def open_as(code: str) -> Page:
        contexts.append(desk_of(floor.people[code], browser, live_server.url))
        return contexts[-1].new_page()

    yield open_as
    for context in contexts:
        context.close()


def test_a_hub_before_its_axle(opens: Opens, live_server: Any, floor: Floor) -> None:
    lead, noor = opens("ingrith"), opens("noor")
    lead.goto(live_server.url + reverse("units"))
    looked_at(lead, "no unit in no axle")
    lead.get_by_role("link", name=f"hub, {floor.revision}").click()
    looked_at(lead, "a unit is begun")
    lead.get_by_label("How many").fill("1")
    lead.get_by_role("button", name="Begin").click()
    lead.get_by_text("Their first operations wait at their stations.").wait_for()
    looked_at(lead, "units in no axle")
    hub = Unit.objects.select_related("item", "revision__model").get(axle=None)

    noor.goto(live_server.url + reverse("waiting", args=["HB"]))
    noor.get_by_role("link", name=hub.serial).first.click()
    looked_at(noor, "its operation before it is taken up")
    noor.get_by_role("button", name="Take it up").click()
    noor.get_by_text("Parts to scan").wait_for()
    looked_at(noor, "a unit at its station")
    noor.get_by_text("Set down here").click()
    noor.get_by_label("Note for the next person").fill("cups are in the oven")
    noor.get_by_role("button", name="Set it down").click()
    noor.wait_for_url("**/stations/HB/")
    assert Visit.objects.get(item=hub.item).state == "set_down"

    made = Builder(floor.shop, hub, timezone.now() + timedelta(seconds=1), VALUES)
    made.run()
    noor.goto(live_server.url + reverse("unit", args=[hub.pk]))
    looked_at(noor, "a unit that is done")
    noor.get_by_label("Where it lies").fill("shelf 4")
    noor.get_by_role("button", name="Put it in stock").click()
    noor.get_by_text(f"{hub} is in stock.").wait_for()
    axle = floor.axle()
    noor.get_by_label("Which axle").fill(axle.serial)
    noor.get_by_label("Side", exact=True).select_option("left")
    noor.get_by_label("Why it goes in").fill("Built ahead.")
    noor.get_by_role("button", name="Put it in", exact=True).click()
    noor.get_by_text("What was done on it counts there.").wait_for()
    looked_at(noor, "a unit that was built ahead")
    slots = standing(Axle.objects.get(pk=axle.pk), timezone.now()).slots
    assert [str(slots[f"{number}/left"].state) for number in (340, 350, 360)] == ["done"] * 3
    assert str(slots["340/right"].state) != "done"
