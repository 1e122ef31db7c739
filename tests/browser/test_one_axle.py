"""One axle of each model through every operation, from booking to the customer's download, by keyboard and scanner.

What the shop has (people, gauges, material) is set up through actions; from the booking on only pages are touched.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.management import call_command
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from builds.actions.receiving import (
    NewBar,
    NewLot,
    NewPart,
    open_drum,
    take_in_bar,
    take_in_lot,
    take_in_part,
)
from builds.definitions.card import Card
from builds.definitions.plan import BuildPlan, for_options
from builds.definitions.words import Tracking
from builds.scenario.people import log_ins
from shop.actions.people import set_password, set_pin
from shop.clock import shop_day
from shop.codes import ScanKind
from shop.models import Heat, PartKind, Supplier
from shop.record.who import SYSTEM
from tests.browser.hands import PINS, Bench, Hands, label, persons_with
from tests.shopfloor import SMALLEST_PNG, SORREL, TEASEL, Floor, open_shop

# A whole axle is some 450 entries by hand: minutes on a loaded machine.
pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(900), pytest.mark.long(300)]

BEGIN = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)


@dataclass
class Material:
    """Marks to scan: for the kit, and by the kind's name at the stations."""

    kit: list[str]
    station: dict[str, str]
    labels: dict[str, str]


KIND_OF = {
    Tracking.HEAT: ScanKind.HEAT,
    Tracking.PIECE: ScanKind.PIECE,
    Tracking.LOT: ScanKind.LOT,
    Tracking.BULK: ScanKind.DRUM,
    Tracking.SERIAL: ScanKind.PART,
}


@pytest.fixture
def clock() -> Iterator[time_machine.Traveller]:
    with time_machine.travel(BEGIN, tick=True) as traveller:
        yield traveller


def take_in(floor: Floor, plan: BuildPlan) -> Material:
    """One of everything the plan needs; gear sets with one set mark."""
    kit: dict[str, None] = {}
    station: dict[str, str] = {}
    made: dict[str, str] = {}
    labels: dict[str, str] = {}
    for slot in plan.slots:
        for planned in slot.needs:
            kind = plan.card.part_kind(planned.need.part_kind)
            for number in range(int(planned.need.quantity) if kind.tracking is Tracking.SERIAL else 1):
                key = (
                    f"{kind.code}-{slot.side or planned.side}-{number}"
                    if kind.tracking is Tracking.SERIAL
                    else kind.code
                )
                mark = made.get(key) or _take_in_one(
                    floor, kind.code, kind.tracking, len(made), planned.need.matched_set
                )
                made[key] = mark
                if planned.need.kit:
                    kit[mark] = None
                station[kind.name] = mark
                labels[mark] = label(KIND_OF[kind.tracking], mark)
    return Material(list(kit), station, labels)


def _take_in_one(floor: Floor, code: str, tracking: Tracking, number: int, matched_set: str) -> str:
    kind, supplier = PartKind.objects.get(code=code), Supplier.objects.get(code="AGF")
    receiver, now, mark = floor.who("jory"), floor.now, f"M{number:03d}"
    if tracking is Tracking.HEAT:
        return "Q7714"
    if tracking is Tracking.PIECE:
        take_in_bar(bar=NewBar(mark, kind, Heat.objects.get(item__mark="Q7714")), by=receiver, now=now)
    elif tracking is Tracking.LOT:
        take_in_lot(lot=NewLot(mark, kind, supplier, shop_day(now), 900), by=receiver, now=now)
    elif tracking is Tracking.BULK:
        lot = take_in_lot(lot=NewLot(f"{mark}L", kind, supplier, shop_day(now), 9), by=receiver, now=now)
        open_drum(lot=lot, mark=mark, by=receiver, now=now)
    else:
        facts = {fact: "0" for fact in floor.revision.card.part_kind(code).facts if fact != "set_mark"}
        part = NewPart(mark, kind, supplier, set_mark="SET1" if matched_set else "", facts=facts)
        take_in_part(part=part, by=receiver, now=now)
    return mark


def work_off_jobs() -> None:
    """What the worker process does beside the web server."""
    call_command("worker", "--once")


def give_secrets(floor: Floor) -> None:
    for given in log_ins():
        person = floor.people[given.code]
        set_pin(person=person, pin=given.pin, by=SYSTEM, now=floor.now)
        set_password(person=person, password=given.password, by=SYSTEM, now=floor.now)


@pytest.mark.parametrize(
    "card_file",
    [pytest.param(file, id=name, marks=pytest.mark.xdist_group(f"axle {name}"))
     for file, name in ((SORREL, "sorrel"), (TEASEL, "teasel"))],
)  # fmt: skip
def test_from_booking_to_the_customers_download(
    card_file: Path, browser: Browser, live_server: Any, clock: time_machine.Traveller, tmp_path: Path
) -> None:
    floor = open_shop(card_file, begin=BEGIN - timedelta(days=1))
    give_secrets(floor)
    card = floor.revision.card
    plan = for_options(card, {})
    material = take_in(floor, plan)
    photo = tmp_path / "photo.png"
    photo.write_bytes(SMALLEST_PNG)
    with closing(Walk(browser, live_server.url, card, plan, material, photo, clock)) as walk:
        walk.open_benches()
        walk.book(f"{card.code}", card.revision)
        walk.set_the_kit_aside()
        walk.build()
        walk.close_and_ship()
        pdf = walk.download(tmp_path / "certificate.pdf")
    assert pdf.startswith(b"%PDF-")
    assert walk.serial in PdfReader(tmp_path / "certificate.pdf").pages[0].extract_text()
    assert walk.complaints() == []
    assert walk.hosts() == {live_server.url.split("//")[1]}


@dataclass
class Walk:
    browser: Browser
    address: str
    card: Card
    plan: BuildPlan
    material: Material
    photo: Path
    clock: time_machine.Traveller
    serial: str = ""

    def __post_init__(self) -> None:
        self.benches = {
            found.code: Bench(self.browser, self.address, found.code, found.name) for found in self.card.stations
        }
        self.desk = Bench(self.browser, self.address, "")

    def close(self) -> None:
        for bench in (*self.benches.values(), self.desk):
            bench.close()

    def open_benches(self) -> None:
        for bench in self.benches.values():
            bench.register("dovie")

    def book(self, model: str, letter: str) -> None:
        """The office places an order, adds a line, books one axle; the serial is read from the page."""
        page = self.desk.office("mirelle", "/orders/")
        _fill(page, number="O-3001", customer="LRRC", placed_on="2026-03-01")
        self.desk.press_on(page.get_by_role("button", name="Place the order"))
        self.desk.open("/orders/O-3001/")
        self.desk.press_on(page.locator(f'a[href*="/lines/{model}/{letter}/"]'))
        _fill(page, quantity="1", promised_from="2026-03-20", promised_to="2026-03-27")
        self.desk.press_on(page.get_by_role("button", name="Add the line"))
        _fill(page, count="1")
        self.desk.press_on(page.get_by_role("button", name="Book axles"))
        found = re.search(r"TBK-\d\d-\d{4}-[0-9A-Z]", page.content())
        assert found is not None
        self.serial = found[0]

    def set_the_kit_aside(self) -> None:
        bench = self.benches["KR"]
        bench.sign_in("jory", f"/kits/{self.serial}/")
        for mark in self.material.kit:
            if "The kit is whole" in bench.page.content():
                break
            bench.scan(self.material.labels[mark])
        assert "The kit is whole" in bench.page.content()

    def build(self) -> None:
        """Every operation of the card as the stations' waiting lists offer them; waits pass by the clock."""
        for slot in self.plan.slots:
            if not slot.operation.closing:
                continue
            if self.plan.waits(slot.operation.number):
                self.clock.shift(timedelta(minutes=max(w.minutes for w in self.plan.waits(slot.operation.number)) + 1))
            self._operate(slot)

    def _operate(self, slot: Any) -> None:
        operation, bench = slot.operation, self.benches[slot.operation.station]
        hands = Hands(bench, self.card, self.serial, self.material.station, self.material.labels, self.photo)
        doer = persons_with(operation.signs)[0]
        if "inspector" in operation.signs:
            doer = "calla" if operation.hold and operation.hold.looks_at_all else "wenzel"
        hands.work(operation, slot.side, doer)
        here = f"/axles/{self.serial}/operations/{operation.number}/{slot.side or '-'}/"
        for _ in range(3):
            bench.open(here)
            text = bench.page.locator("body").inner_text()
            if "Sign beside" in text:
                hands.sign_second(operation, slot.side, doer, beside=True)
            elif "Sign the hold" in text:
                hands.sign_second(operation, slot.side, doer, beside=False)
            else:
                break

    def close_and_ship(self) -> None:
        """Close, certify, ship; then the customer's link, the order page, the download."""
        here = f"/axles/{self.serial}/closing/"
        bench = self.benches["FT"]
        bench.sign_in("calla", here)
        bench.press_on(bench.page.get_by_role("button", name="Close the record"))
        bench.sign_in("ingrith", here)
        self._sign(bench, "ingrith")
        work_off_jobs()
        bench.sign_in("jory", here)
        assert "Issue 1" in bench.page.content()
        bench.page.locator("[name=consignee]").fill("Lumen Ridge Rescue Cooperative")
        bench.page.locator("[name=carrier]").fill("Greyholt Carriers")
        self._sign(bench, "jory")
        assert "Shipped" in bench.page.content()

    def _sign(self, bench: Bench, code: str) -> None:
        bench.page.locator("#f-pin").focus()
        with bench.page.expect_navigation():
            bench.type_in(PINS[code])

    def download(self, to: Path) -> bytes:
        """The office makes a link; the customer opens it in a browser of their own."""
        page = self.desk.office("mirelle", "/orders/O-3001/links/")
        self.desk.press_on(page.get_by_role("button", name="Make a link"))
        address = page.locator("#link-address").inner_text()
        with closing(Bench(self.browser, self.address, "customer")) as phone:
            phone.page.goto(address)
            phone.press_on(phone.page.get_by_role("button", name="Show my order"))
            assert self.serial in phone.page.content()
            with phone.page.expect_download() as got:
                phone.press(phone.page.get_by_role("link", name="Issue 1"))
            got.value.save_as(to)
        assert phone.complaints == []
        return to.read_bytes()

    def complaints(self) -> list[str]:
        return [text for bench in (*self.benches.values(), self.desk) for text in bench.complaints]

    def hosts(self) -> set[str]:
        return {host for bench in (*self.benches.values(), self.desk) for host in bench.hosts}


def _fill(page: Page, **fields: str) -> None:
    for name, value in fields.items():
        where = page.locator(f"[name={name}]").last
        if where.evaluate("found => found.tagName") == "SELECT":
            option = where.locator("option", has_text=re.compile("Lumen" if value == "LRRC" else value)).first
            where.select_option(value=option.get_attribute("value"))
        else:
            where.fill(value)
