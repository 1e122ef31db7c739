"""The bench book in a browser: what it looks for, picks, lists and draws, light and dark, wide and on a phone."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Browser

from measurements.bench.entries import BOOK
from shop.models import Role
from tests.browser.desk import desk_of
from tests.browser.test_every_page import WCAG
from tests.builds.floor import person

SHOWN = (
    "joint_angle", "tube_section", "contact_pattern", "backlash_round", "tightening_order", "side_shims",
    "film_readings", "assembly_heat",
)  # fmt: skip
pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(600), pytest.mark.long(60)]


@pytest.mark.parametrize(("scheme", "width", "height"), [("light", 1440, 900), ("dark", 390, 844)])
def test_the_book_is_accessible_and_fits(
    browser: Browser, live_server: Any, scheme: Any, width: int, height: int
) -> None:
    welder = person(Role.WELDER).person
    context = desk_of(welder, browser, live_server.url, scheme=scheme, size=(width, height))
    page = context.new_page()
    addresses = {name: f"{reverse('bench_entry', args=[name])}?{urlencode(BOOK[name].example)}" for name in SHOWN}
    addresses |= {"all": reverse("bench_book"), "found": f"{reverse('bench_book')}?q=torque"}
    addresses |= {"none": f"{reverse('bench_book')}?q=gold", "blank": reverse("bench_entry", args=["contact_pattern"])}
    addresses["wrong"] = f"{reverse('bench_entry', args=['shim_pack'])}?target=0.88&sizes=0.08+0.13+0,25"
    found = []
    for name, address in addresses.items():
        answer = page.goto(live_server.url + address)
        assert answer is not None
        assert answer.status == 200, name
        found += [f"{name}: {one['id']}" for one in Axe().run(page, options=WCAG).response["violations"]]
        if page.evaluate("document.documentElement.scrollWidth > window.innerWidth + 1"):
            found.append(f"{name}: wider than the window")
    context.close()
    assert found == []
