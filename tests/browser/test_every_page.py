"""Every page with real data: accessible (axe, WCAG 2.2 AA) light and dark, quiet, and of no other host."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Browser

from builds.actions.materials import load_material
from builds.actions.papers import NewDelivery, take_delivery
from builds.definitions.material import SHIPPED as MATERIALS
from builds.models import RedTag, Unit
from measurements.actions.gauges import Calibrated, calibrate
from measurements.models import Reading
from shop.clock import shop_day
from shop.models import Heat, Part, Supplier
from tests.browser.desk import desk_of
from tests.shopfloor import Floor, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(600), pytest.mark.long(120)]
WCAG = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
#: Who opens it, the address, its arguments.
PAGES: tuple[tuple[str, str, tuple[object, ...]], ...] = (
    ("dovie", "floor", ()), ("dovie", "axles", ()), ("dovie", "axle", ("SERIAL",)), ("calla", "closing", ("SERIAL",)),
    ("dovie", "labels", ("SERIAL",)), ("calla", "holds", ()), ("calla", "red_tags", ()),
    ("wenzel", "red_tag", ("TAG",)),
    ("dovie", "orders", ()), ("dovie", "order", ("ORDER",)), ("mirelle", "links", ("ORDER",)), ("jory", "kits", ()),
    ("jory", "kit", ("SERIAL",)), ("jory", "stock", ()), ("jory", "deliveries", ()), ("wenzel", "materials", ()),
    ("jory", "heat", ("HEAT",)), ("jory", "delivery", ("CAME",)), ("jory", "cutting", ()), ("tam", "bench_book", ()),
    ("tam", "bench_entry", ("press_fit",)), ("wenzel", "cards", ()),
    ("calla", "gauges", ()),
    ("calla", "gauge", ("G-017",)), ("wenzel", "procedures", ()), ("dovie", "people", ()), ("dovie", "terminals", ()),
    ("dovie", "record", ()), ("calla", "reach", ()), ("mirelle", "returns", ()), ("calla", "returns_share", ()),
    ("calla", "returns_of", ("SERIAL",)),
    ("jory", "item", ("ITEM",)), ("tam", "station", ("PRESS", 70, "left")),
    ("calla", "look_back", ("FOUND",)), ("calla", "look_back_ask", ("G-017",)),
    ("dovie", "partners", ()), ("dovie", "mine", ()), ("rusk", "waiting", ("GB",)),
    ("rusk", "station", ("SERIAL", 220, "-")), ("tam", "station", ("SERIAL", 50, "left")),
    ("tam", "blank_card", ("SERIAL", 50, "left")), ("dovie", "verify", ()),
    ("jory", "heat_new", ("MODEL", "LETTER", "tube_stock")), ("jory", "bar_new", ()), ("jory", "lot_new", ()),
    ("jory", "drum_new", ()), ("jory", "part_new", ("differential",)), ("dovie", "person", ("rusk",)),
    ("mirelle", "customer", ("LRRC",)), ("wenzel", "card", ("MODEL", "LETTER")),
    ("mirelle", "line_add", ("ORDER", "MODEL", "LETTER")), ("calla", "axle_inside", ("SERIAL",)),
    ("rusk", "axle_units", ("SERIAL",)), ("rusk", "unit", ("UNIT",)), ("calla", "notices", ()),
)  # fmt: skip


@dataclass
class Quiet:
    """What went wrong on a page, and which hosts it asked."""

    said: list[str]
    hosts: set[str]


@pytest.fixture
def floor(transactional_db: None) -> Floor:
    made = open_shop()
    slip = NewDelivery("PS-4471", Supplier.objects.get(code="QTM"), shop_day(made.now))
    made.came = take_delivery(delivery=slip, by=made.who("jory"), now=made.now)  # type: ignore[attr-defined]
    content = (MATERIALS / "astm_a519_4130.toml").read_bytes()
    load_material(content=content, name="a519.toml", by=made.who("wenzel"), now=made.now)
    builder = made.builder(made.axle())
    builder.kit()
    builder.run(until=40)
    for key in ("200/", "210/"):
        builder.do(key)
    visit = builder.begin("220/")
    builder.enter_code(visit, "220.3")
    builder.enter_code(visit, "220.1", "105", "112")
    press = made.builder(made.axle())
    press.kit()
    press.run(until=70)
    press.begin("70/left")
    day = shop_day(press.now) + timedelta(days=1)
    gauge = Reading.objects.filter(characteristic__code="50.3")[0].gauge
    assert gauge is not None
    off = Calibrated(day, day + timedelta(days=365), "LAB-2", Decimal("0.0006"), Decimal(0))
    made.found = calibrate(gauge=gauge, calibrated=off, by=made.who("wenzel"), now=press.now + timedelta(days=1))  # type: ignore[attr-defined]
    made.press = press.axle.serial  # type: ignore[attr-defined]
    made.serial = builder.axle.serial  # type: ignore[attr-defined]
    return made


@pytest.fixture
def contexts(browser: Browser, live_server: Any, floor: Floor) -> Iterator[Any]:
    opened = []

    def open_as(code: str, scheme: str, width: int) -> Any:
        opened.append(desk_of(floor.people[code], browser, live_server.url, scheme=scheme, size=(width, 900)))
        return opened[-1]

    yield open_as
    for context in opened:
        context.close()


@pytest.mark.parametrize(("scheme", "width"), [("light", 1440), ("dark", 390)])
def test_every_page_is_accessible_and_quiet(
    floor: Floor, live_server: Any, contexts: Any, scheme: str, width: int
) -> None:
    quiet = Quiet([], set())
    tag = RedTag.objects.order_by("number")[0].number
    names = {"SERIAL": floor.serial, "TAG": tag, "ORDER": floor.orders[0].number}  # type: ignore[attr-defined]
    names |= {"FOUND": floor.found.pk, "PRESS": floor.press, "ITEM": Part.objects.order_by("pk")[0].pk}  # type: ignore[attr-defined]
    names |= {"HEAT": Heat.objects.order_by("pk")[0].pk, "CAME": floor.came.pk}  # type: ignore[attr-defined]
    names |= {"MODEL": floor.revision.model.code, "LETTER": floor.revision.letter}
    names |= {"UNIT": Unit.objects.filter(role="carrier").order_by("pk")[0].pk}
    found: list[str] = []
    people: dict[str, Any] = {}
    for code, name, given in PAGES:
        if code not in people:
            people[code] = contexts(code, scheme, width).new_page()
            people[code].on("console", lambda m: quiet.said.append(m.text) if m.type == "error" else None)
            people[code].on("request", lambda asked: quiet.hosts.add(asked.url.split("/")[2]))
        page = people[code]
        answer = page.goto(live_server.url + reverse(name, args=[names.get(str(one), one) for one in given]))
        assert answer is not None
        assert answer.status == 200, name
        result = Axe().run(page, options=WCAG)
        found += [
            f"{name}: {one['id']} {[node['target'] for node in one['nodes']][:2]}"
            for one in result.response["violations"]
        ]
        if width < 400 and page.evaluate("document.documentElement.scrollWidth > window.innerWidth + 1"):
            found.append(f"{name}: wider than a phone")
    if width > 1000:  # the manager has the most ways to go: they stay on one line
        people["dovie"].set_viewport_size({"width": 1100, "height": 800})
        tops = "new Set([...document.querySelectorAll('.ways a')].map((one) => one.offsetTop)).size"
        assert people["dovie"].evaluate(tops) == 1
    assert found == []
    assert quiet.said == []
    assert quiet.hosts == {live_server.url.split("//")[1]}
