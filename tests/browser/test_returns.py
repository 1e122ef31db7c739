"""A return in the browser: put on record, photographed, found out about, and compared; its pages accessible."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Page

from builds.models import Axle, Finding, Returned, ReturnPhoto
from shop.clock import shop_day
from shop.models import Person, Role
from shop.record.who import Who
from tests import factories
from tests.browser.desk import desk_of
from tests.browser.test_notice import looked_at
from tests.builds.bench import open_bench
from tests.builds.test_photos import picture

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(600)]


@pytest.fixture
def gone(transactional_db: None) -> Axle:
    """The first of two axles that have left."""
    bench = open_bench(begin=timezone.now() - timedelta(days=1))
    bench.people["omni"] = omni = Who(factories.person("omni", *Role))
    gone, _ = (bench.sent(omni) for _ in range(2))
    return gone


@pytest.fixture
def page(browser: Browser, live_server: Any, gone: Axle) -> Iterator[Page]:
    context = desk_of(Person.objects.get(code="omni"), browser, live_server.url)
    yield context.new_page()
    context.close()


def test_from_the_report_to_what_it_shares(page: Page, live_server: Any, gone: Axle) -> None:
    page.goto(live_server.url + reverse("returns"))
    page.get_by_label("Axle", exact=True).fill(gone.serial)
    page.get_by_role("button", name="Open its page").click()
    page.get_by_label("What the customer reports").fill("Oil at the shaft.")
    page.get_by_label("Part said to have failed").select_option("shaft")
    page.get_by_label("Reported on").fill(str(shop_day(timezone.now())))
    page.get_by_role("button", name="Put it on record").click()
    page.get_by_text("Return 1 is on record.").wait_for()
    page.get_by_text("Add a photo to return 1").click()
    looked_at(page, "the form of a photo")
    page.get_by_label("What it shows").fill("The lip, cut")
    page.locator("input[type=file][name=photo]").set_input_files(
        {"name": "lip.png", "mimeType": "image/png", "buffer": picture(60, 40)}
    )
    page.get_by_role("button", name="Keep this photo").click()
    page.get_by_text("The photo of return 1 is kept.").wait_for()
    assert ReturnPhoto.objects.get().name == "The lip, cut"
    page.get_by_text("What was read where it went in").click()
    page.get_by_text("Say what was found on return 1").click()
    page.get_by_label("a fault of the axle", exact=True).check()
    page.get_by_label("What was found", exact=True).fill("Cut lip.")
    looked_at(page, "a return with everything open")
    page.get_by_role("button", name="Keep the finding").click()
    page.get_by_text("The finding on return 1 is kept.").wait_for()
    assert (Returned.objects.count(), Finding.objects.get().says) == (1, "fault")
    page.get_by_role("link", name="What it shares with other returns").click()
    page.get_by_text("1 of 2 axles that left came back").wait_for()
    looked_at(page, "what returns share")
