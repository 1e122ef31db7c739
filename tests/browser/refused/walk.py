"""The shop of the refusal walks: its axles, its terminals and its clock, and what a person sees on a page."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

import pytest
import time_machine
from playwright.sync_api import Browser, Page, expect
from playwright.sync_api import Error as PlaywrightError

from builds.actions.receiving import NewLot, open_drum, take_in_lot
from builds.models import Axle
from shop.clock import shop_day
from shop.codes import ScanKind
from shop.models import PartKind, Supplier
from tests.browser.hands import PINS, SCREEN, Bench, label
from tests.shopfloor import Floor

BEGIN = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)
WRENCH = label(ScanKind.GAUGE, "G-042")


@dataclass
class Walk:
    """The shop, its browsers and its clock."""

    floor: Floor
    browser: Browser
    address: str
    clock: time_machine.Traveller
    benches: dict[tuple[str, int], Bench] = field(default_factory=dict)

    def bench(self, station: str, terminal: int = 1) -> Bench:
        """A registered terminal of that station; a second one has a number of its own."""
        if (station, terminal) not in self.benches:
            self.benches[station, terminal] = self.new_bench(self.browser, station, terminal)
        return self.benches[station, terminal]

    def new_bench(self, browser: Browser, station: str, terminal: int) -> Bench:
        name = next(found.name for found in self.floor.revision.card.stations if found.code == station)
        made = Bench(browser, self.address, station, name, terminal=terminal)
        made.register("dovie")
        return made

    def axle_before(self, *keys: str) -> Axle:
        """An axle with its kit aside and these operations done."""
        builder = self.floor.builder(self.floor.axle())
        builder.kit()
        for key in keys:
            builder.do(key)
        return builder.axle

    def at(self, axle: Axle, number: int, side: str = "-") -> str:
        return f"/axles/{axle.serial}/operations/{number}/{side}/"

    def take_up(self, bench: Bench, code: str, axle: Axle, number: int, side: str = "-") -> Page:
        """Badge, PIN, and Enter on the key that takes it up."""
        bench.sign_in(code, self.at(axle, number, side))
        with bench.page.expect_navigation():
            bench.page.keyboard.press("Enter")
        return bench.page

    def at_the_bolts(self, bench: Bench, code: str, axle: Axle) -> Page:
        """Operation 220 taken up, the gear cold, the wrench scanned: the first bolt is next."""
        page = self.take_up(bench, code, axle, 220)
        bench.scan(label(ScanKind.GAUGE, "G-081"))
        enter(bench, "72")
        bench.scan(WRENCH)
        expect(page.locator("h2.place")).to_have_text("Bolt 1 of 12")
        return page


def enter(bench: Bench, text: str) -> None:
    bench.sends(lambda: bench.type_in(text))


def readings(page: Page) -> list[str]:
    """The list of readings by position, one line each."""
    rows = page.locator("table.places tbody tr").all()
    return [" ".join((row.text_content() or "").split()) for row in rows]


def read(page: Page) -> list[str]:
    return [line for line in readings(page) if "not yet" not in line and not line.endswith("next")]


def error(page: Page) -> str:
    return page.locator("#entry-error").inner_text()


def by_hand(page: Page, path: str, **fields: str) -> dict[str, Any]:
    """A post made by hand, past the keys of the page, with the page's own form token."""
    answer: dict[str, Any] = page.evaluate(
        """async ([path, fields]) => {
          const own = document.querySelector("form.put [name=submission]")?.value ?? crypto.randomUUID();
          const body = new URLSearchParams(fields);
          body.set("csrfmiddlewaretoken", document.querySelector("[name=csrfmiddlewaretoken]").value);
          body.set("submission", fields.submission ?? own);
          const answer = await fetch(path, { method: "POST", body });
          return { status: answer.status, text: (await answer.text()).replace(/<[^>]*>/g, " ").replace(/\\s+/g, " ") };
        }""",
        [path, fields],
    )
    return answer


def sign(bench: Bench, code: str) -> None:
    bench.press(bench.page.locator("summary.key-sign"))
    bench.page.locator("#f-pin").focus()
    with bench.page.expect_navigation():
        bench.type_in(PINS[code])


def plain(bench: Bench, path: str) -> Page:
    """The same person at the same terminal in a browser without scripts."""
    context = bench.browser.new_context(java_script_enabled=False, viewport=SCREEN)  # type: ignore[arg-type]
    context.add_cookies(bench.page.context.cookies())  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(bench.address + path)
    return page


def kill(browser: Browser) -> None:
    """The program is gone at once; no page is asked whether it has something to save."""
    with pytest.raises(PlaywrightError, match="closed"):
        browser.new_browser_cdp_session().send("Browser.crash")
    assert not browser.is_connected()


def open_adhesive(floor: Floor) -> None:
    kind, supplier = PartKind.objects.get(code="thread_adhesive"), Supplier.objects.get(code="AGF")
    lot = take_in_lot(lot=NewLot("TA-9L", kind, supplier, shop_day(floor.now), 9), by=floor.who("jory"), now=floor.now)
    open_drum(lot=lot, mark="TA-9", by=floor.who("jory"), now=floor.now)
