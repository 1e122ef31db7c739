"""What the weld bench, the paint shop and the test stand are told: a reading missing, a reading wrong.

One axle goes through; the actions bring it from bench to bench, and what an advice turns on is typed at the screen.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from builds.actions.receiving import NewLot, open_drum, take_in_lot
from builds.scenario.driver import Builder
from shop.codes import ScanKind
from shop.models import PartKind, Supplier
from tests.browser.hands import label
from tests.browser.refused.seen import begin
from tests.browser.refused.walk import Walk

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(300), pytest.mark.long(100)]


def an_expired_spool(walk: Walk) -> str:
    """Taken in on its last day, two days before the axle is welded; the action refuses it."""
    floor, kind, supplier = walk.floor, PartKind.objects.get(code="weld_wire"), Supplier.objects.get(code="AGF")
    day = floor.now.date()
    new = NewLot("W-OLD", kind, supplier, day, 9, expires_on=day)
    lot = take_in_lot(lot=new, by=floor.who("jory"), now=floor.now)
    open_drum(lot=lot, mark="SP-OLD", by=floor.who("jory"), now=floor.now)
    return "SP-OLD"


def test_the_weld_is_told_its_preheat_its_hands_and_its_arc(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "WB", "80/left")
    heat, arc, hands = (seen.says(name) for name in ("Preheat", "Arc energy", "Welder and wire"))
    expect(heat).to_have_text("Do this. Heat to at least 300 °F (149 °C), measured on both sides.")
    expect(arc).to_contain_text("Not known.")
    expect(hands).to_contain_text("Do this. No wire is scanned yet")
    expect(seen.page.locator(".drawn.advised svg")).to_have_count(1)
    seen.types("G-081", "280")
    expect(heat).to_contain_text("Wait. 280 °F (138 °C) is measured, 300 °F (149 °C) is needed.")
    expect(seen.page.locator('.drawn.advised text:has-text("280 °F, outside")')).to_have_count(1)
    seen.repeats("80.1", "310")
    seen.bench.scan(label(ScanKind.DRUM, an_expired_spool(walk)))
    expect(seen.page.locator("main")).to_contain_text("W-OLD expired on")
    expect(hands).to_contain_text("Do this. No wire is scanned yet")
    seen.builder.fit(seen.visit)
    seen.enters(("80.2", "320"), ("80.3", "25.0"), ("80.4", "210"), ("80.a", "9.60"))
    expect(heat).to_contain_text("Go. 310 °F")
    expect(hands).to_contain_text("Go. ")
    expect(arc).to_contain_text("Travel 9.0 to 13.0 in/min at 25 V and 210 A: the arc time is not read yet.")
    seen.types("G-007", "52")
    expect(arc).to_contain_text("Go. The arc energy of 28.4 kJ/in is in its window.")
    seen.is_accessible()
    seen.signs()


def test_the_paint_is_told_what_would_make_it_go(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "WP", "180/")
    expect(seen.says("Wet film")).to_contain_text("Lay 5.5 to 9.2 mil wet")
    expect(seen.says("Paint now, or wait")).to_contain_text("Not known.")
    seen.enters(("180.a", "WX-1"), ("180.b", "now"), ("180.c", "now"), ("180.d", "68"), ("180.e", "60"))
    expect(seen.says("Paint now, or wait")).to_contain_text("Not known.")
    seen.types("G-012", "80")
    expect(seen.says("Paint now, or wait")).to_contain_text(
        "It goes with the steel at 66.6 °F or more, or with the humidity at 63 % or less."
    )
    seen.is_accessible()
    seen.repeats("180.e", "70")
    expect(seen.says("Paint now, or wait")).to_contain_text("Go. The steel is 8.4 °F above the dew point.")
    seen.signs()


def test_a_thin_spot_is_told_although_the_mean_is_in_its_limits(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "WP", "190/")
    expect(seen.says("Film by spots")).to_contain_text("Not known.")
    texts = ["2.0"] * 3 + ["4.4"] * 11
    seen.enters(("190.a", *texts))
    expect(seen.says("Film by spots")).to_contain_text("Not accepted: Spot 1 is outside")
    expect(seen.page.locator(".drawn.advised svg")).to_have_count(1)
    seen.is_accessible()
    seen.signs()


def test_the_ring_gear_is_told_how_warm(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "GB", "210/")
    expect(seen.says("Warm the ring gear")).to_contain_text("Do this. Warm the gear to 199 °F")
    seen.types("G-081", "180")
    expect(seen.says("Warm the ring gear")).to_contain_text(
        "Wait. 180 °F (82 °C) is measured, 199 °F (93 °C) is needed."
    )
    seen.is_accessible()
    seen.signs()


def test_the_test_stand_is_told_the_energy_before_and_the_leak_after(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "FT", "410/")
    expect(seen.says("Leak, or the weather")).to_contain_text(
        "Fill to 4.5 to 5.5 psi, never above 8 psi: there the housing holds 553 J of energy."
    )
    seen.enters(("410.a", "14.70"), ("410.1", "5.00"), ("410.b", "72.0"), ("410.c", "300"), ("410.d", "4.50"))
    expect(seen.says("Leak, or the weather")).to_contain_text("the gas temperature at the end is not read yet")
    seen.types("G-074", "72.0")
    expect(seen.says("Leak, or the weather")).to_contain_text("Stop. It leaks: 0.500 psi lost in 300 s")
    expect(seen.page.locator(".panel.advice")).to_contain_text("Look in this order: test fitting and breather port")
    seen.is_accessible()
    assert seen.bench.complaints == []


def test_an_arc_too_hot_is_told_with_the_speed_that_brings_it_in(walk: Walk) -> None:
    """On an axle of its own: the card stops it."""
    builder = walk.floor.builder(walk.floor.axle())
    builder.kit()
    seen = begin(walk, builder, "WB", "80/left")
    builder.fit(seen.visit)
    seen.enters(("80.1", "310"), ("80.2", "320"), ("80.3", "27.0"), ("80.4", "230"), ("80.a", "9.60"))
    seen.types("G-007", "80")
    expect(seen.says("Arc energy")).to_contain_text(
        "Stop. 51.8 kJ/in is above 41.4: too hot. Travel 9.0 to 13.0 in/min"
    )
    assert seen.bench.complaints == []
