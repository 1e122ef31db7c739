"""What is no reading, by hands at a keyboard and a scanner; each refusal with the case that is accepted."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from playwright.sync_api import expect

from builds.models import Axle
from builds.scenario.people import badge_code
from measurements.actions.gauges import Calibrated, NewGauge, calibrate, take_in_gauge
from shop.clock import shop_day
from shop.codes import ScanKind
from tests.browser.hands import PINS, Bench, label
from tests.browser.refused.walk import (
    WRENCH,
    Walk,
    by_hand,
    enter,
    error,
    open_adhesive,
    read,
    sign,
)
from tests.shopfloor import SMALLEST_PNG

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(300), pytest.mark.long(100)]

BOLTS = 12


def test_one_blank_bolt_is_named_and_cannot_be_signed(walk: Walk, gears: Axle, tmp_path: Path) -> None:
    bench = walk.bench("GB")
    page = walk.at_the_bolts(bench, "rusk", gears)
    for number in (found for found in range(1, BOLTS + 1) if found != 7):
        if number > 7:  # past the blank one, by the list; the page itself would ask for bolt 7
            bench.press(page.locator("details.readings summary"))
            bench.press_on(page.get_by_role("link", name=str(number), exact=True))
        enter(bench, "105")
    bench.scan(label(ScanKind.GAUGE, "G-034"))
    bench.open(walk.at(gears, 220) + "?characteristic=220.2")
    enter(bench, "0.0020")
    open_adhesive(walk.floor)
    for kind, mark in ((ScanKind.LOT, "RG-40"), (ScanKind.DRUM, "TA-9")):
        bench.scan(label(kind, mark))
        expect(page.locator("#f-scan-error")).to_have_count(0)
    expect(page.locator(".progress")).to_contain_text("220.1: 7")
    assert page.locator("button.key-sign[disabled]").count() == 1
    said = by_hand(page, walk.at(gears, 220) + "finish/", pin=PINS["rusk"], meaning="did")
    assert said["status"] == 422
    assert "position 7: no reading" in said["text"]
    bench.open(walk.at(gears, 220))
    expect(page.locator("h2.place")).to_have_text("Bolt 7 of 12")
    enter(bench, "106")
    photo = tmp_path / "stripe.png"
    photo.write_bytes(SMALLEST_PNG)
    if page.locator("form.put input[type=file]").count():
        page.locator("form.put input[type=file]").set_input_files(photo)
        bench.sends(lambda: bench.press(page.get_by_role("button", name="Keep this photo")))
    sign(bench, "rusk")
    expect(page.locator("body")).to_contain_text(f"Operation 220 of {gears.serial} is done.")


def test_a_gauge_retired_meanwhile_refuses_the_next_reading_on_the_open_page(walk: Walk, gears: Axle) -> None:
    floor = walk.floor
    own = take_in_gauge(
        gauge=NewGauge("G-742", "torque_wrench", "wrench, short-lived", "ft-lb", Decimal(1), None, None),
        by=floor.who("calla"), now=floor.now,
    )  # fmt: skip
    good = Calibrated(shop_day(floor.now), shop_day(floor.now) + timedelta(days=300), "LAB-742")
    calibrate(gauge=own, calibrated=good, by=floor.who("calla"), now=floor.now)
    bench = walk.bench("GB")
    page = walk.at_the_bolts(bench, "rusk", gears)
    bench.scan(label(ScanKind.GAUGE, "G-742"))
    enter(bench, "105")
    assert len(read(page)) == 1
    desk = Bench(walk.browser, walk.address, "")
    shelf = desk.office("calla", "/gauges/G-742/")
    desk.press(shelf.get_by_text("Retire it", exact=True))
    form = shelf.locator("form", has=shelf.get_by_role("button", name="Retire it now"))
    form.locator("[name=reason]").fill("dropped on the floor")
    desk.press_on(form.get_by_role("button", name="Retire it now"))
    shelf.context.close()
    enter(bench, "106")
    assert error(page) == "Gauge G-742 is retired. Take another torque wrench."
    expect(page.locator("#f-value")).to_have_value("106")
    assert len(read(page)) == 1
    bench.scan(WRENCH)
    enter(bench, "106")
    assert len(read(page)) == 2


def test_an_overdue_gauge_is_refused_when_it_is_scanned(walk: Walk, gears: Axle) -> None:
    floor = walk.floor
    late = take_in_gauge(
        gauge=NewGauge("G-743", "torque_wrench", "wrench, overdue", "ft-lb", Decimal(1), None, None),
        by=floor.who("calla"), now=floor.now,
    )  # fmt: skip
    ended = Calibrated(shop_day(floor.now) - timedelta(days=365), shop_day(floor.now) - timedelta(days=1), "LAB-743")
    calibrate(gauge=late, calibrated=ended, by=floor.who("calla"), now=floor.now)
    bench = walk.bench("GB")
    page = walk.at_the_bolts(bench, "rusk", gears)
    bench.scan(label(ScanKind.GAUGE, "G-743"))
    expect(page.locator("#f-scan-error")).to_contain_text(
        "Gauge G-743 is overdue: its calibration ran out on 27 Feb 2026"
    )
    bench.scan(label(ScanKind.GAUGE, "G-034"))
    expect(page.locator("#f-scan-error")).to_have_count(0)
    bench.scan(label(ScanKind.GAUGE, "G-061"))
    expect(page.locator("#f-scan-error")).to_contain_text("G-061 is a magnetic film gauge. This operation asks for")
    enter(bench, "105")
    assert len(read(page)) == 1


def test_a_figure_that_cannot_be_one_is_refused_and_stays_as_typed(walk: Walk, gears: Axle) -> None:
    bench = walk.bench("GB")
    page = walk.at_the_bolts(bench, "rusk", gears)
    for typed, said in (("", "Nothing was typed"), ("105,5", "has a comma"), ("105.5", "finer than the gauge reads")):
        if typed:
            page.locator("#f-value").fill("")
        enter(bench, typed)
        assert said in error(page), typed
        expect(page.locator("#f-value")).to_have_value(typed)
    assert read(page) == []
    page.locator("#f-value").fill("")
    enter(bench, "105")
    assert len(read(page)) == 1


def test_a_figure_far_off_is_asked_about_once_and_then_kept(walk: Walk, gears: Axle) -> None:
    bench = walk.bench("GB")
    page = walk.at_the_bolts(bench, "rusk", gears)
    bench.scan(label(ScanKind.GAUGE, "G-034"))
    bench.open(walk.at(gears, 220) + "?characteristic=220.2")
    enter(bench, "0.02")
    ask = page.locator(".ask")
    expect(ask).to_contain_text("0.002")
    assert read(page) == []
    bench.press_on(ask.get_by_role("link", name="No, enter it again"))
    bench.open(walk.at(gears, 220) + "?characteristic=220.2")
    enter(bench, "0.02")
    bench.sends(lambda: bench.press(ask.get_by_role("button", name="Yes, it reads 0.02")))
    expect(page.locator(".latest")).to_contain_text("is high: 0.0200")
    bench.open(walk.at(gears, 220) + "?characteristic=220.2")
    assert [line for line in read(page) if "0.02" in line]


def test_a_figure_out_of_limits_but_near_is_not_asked_about(walk: Walk, gears: Axle) -> None:
    bench = walk.bench("GB")
    page = walk.at_the_bolts(bench, "rusk", gears)
    enter(bench, "98")
    expect(page.locator(".ask")).to_have_count(0)
    expect(page.locator(".latest")).to_contain_text("98")
    assert len(read(page)) == 1


def test_strange_codes_and_a_badge_in_a_figure_field_are_no_readings(walk: Walk, gears: Axle) -> None:
    bench = walk.bench("GB")
    page = walk.at_the_bolts(bench, "rusk", gears)
    page.keyboard.type("10")
    bench.scan("~P:NOWHERE-77")
    expect(page.locator("#f-scan-error")).to_contain_text("Nothing here carries the mark")
    bench.scan("QX-17-ZZ")
    expect(page.locator("#f-scan-error")).to_be_visible()
    assert read(page) == []
    page.locator("#f-value").focus()
    bench.scan(label(ScanKind.BADGE, badge_code("noor")))
    expect(page.locator("h1")).to_have_text("Noor E.")
    with page.expect_navigation():
        bench.type_in(PINS["noor"])
    bench.who = "noor"
    expect(page.locator("h2.place")).to_have_text("Bolt 1 of 12")
    assert read(page) == []
    page.locator("#f-value").fill("")
    enter(bench, "105")
    assert "Noor" in read(page)[0]
