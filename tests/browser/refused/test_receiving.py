"""Receiving and cutting by hands: slip, certificate, the inspector's look, a bar, and what the saw leaves of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from builds.actions.materials import load_material
from builds.definitions.material import SHIPPED
from builds.models import Material
from shop.codes import ScanKind
from shop.models import Heat, Piece, Place
from tests.browser.hands import PINS, Bench, label
from tests.browser.refused.walk import Walk, enter, error
from tests.shopfloor import SMALLEST_PNG

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(300), pytest.mark.long(100)]
WCAG = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
#: What the mill states; chromium in per cent, as all of them.
STATED = {
    "20.1": "0.300", "20.2": "0.490", "20.3": "0.011", "20.4": "0.006", "20.5": "0.240", "20.6": "0.960",
    "20.7": "0.190", "20.8": "112", "20.9": "94", "20.10": "16", "Ni": "0.05", "Cu": "0.12",
}  # fmt: skip


def clean(page: Page) -> None:
    found = Axe().run(page, options=WCAG).response["violations"]
    assert [(one["id"], [node["target"] for node in one["nodes"]][:2]) for one in found] == []


def take_in(bench: Bench, mark: str, scan: Path) -> Page:
    """A slip, and the heat that came with it; nothing but keyboard."""
    page = bench.page
    bench.sign_in("jory", "/stock/deliveries/")
    if page.locator("details:not([open])").count():
        bench.press(page.locator("summary", has_text="A delivery has come"))
    page.locator("select[name=supplier]").select_option(label="Quernmoss Tube Mill")
    page.locator("input[name=slip]").fill(f"PS-{mark}")
    bench.press_on(page.get_by_role("button", name="Write down the delivery"))
    clean(page)
    bench.press_on(page.locator("a[href*='/heats/new/'][href*='tube_stock']").first)
    page.locator("input[name=mark]").fill(mark)
    page.locator("select[name=supplier]").select_option(label="Quernmoss Tube Mill")
    page.locator("input[name=certificate]").fill(f"C-{mark}")
    page.locator("input[name=scan]").set_input_files(scan)
    for code, value in STATED.items():
        page.locator(f"[name='value-{code}']").fill(value)
    return page


def test_from_the_slip_to_the_remnant(walk: Walk, tmp_path: Path) -> None:
    scan = tmp_path / "certificate.png"
    scan.write_bytes(SMALLEST_PNG)
    if not Material.objects.exists():
        a519 = SHIPPED / "astm_a519_4130.toml"
        load_material(content=a519.read_bytes(), name=a519.name, by=walk.floor.who("wenzel"))
    bench = walk.bench("KR")
    page = take_in(bench, "Q9350", scan)
    page.locator("[name='value-20.4']").fill("60")  # ppm, where per cent is asked
    bench.press_on(page.get_by_role("button", name="Take it in"))
    expect(page.locator("body")).to_contain_text("60 ppm is 0.006 %: does the certificate state ppm?")
    assert page.locator("[name='value-20.6']").input_value() == "0.960"
    assert not Heat.objects.filter(item__mark="Q9350").exists()
    clean(page)
    page.locator("[name='value-20.4']").fill("0.006")
    page.locator("input[name=scan]").set_input_files(scan)
    bench.press_on(page.get_by_role("button", name="Take it in"))
    expect(page.locator("body")).to_contain_text("waits for the inspector's first look")
    heat = Heat.objects.get(item__mark="Q9350")
    bench.sign_in("calla", f"/stock/heats/{heat.pk}/")
    expect(page.locator("body")).to_contain_text("V not stated")
    clean(page)
    page.locator("#f-pin").focus()
    with page.expect_navigation():
        bench.type_in(PINS["calla"])
    expect(page.locator("body")).to_contain_text("Heat Q9350 is free for use.")
    bench.sign_in("jory", "/stock/bars/new/")
    page.locator("input[name=mark]").fill("Q9350-B1")
    page.locator("select[name=kind]").select_option(index=1)
    page.locator("select[name=heat]").select_option(value=str(heat.pk))
    page.locator("input[name=length]").fill("60")
    bench.press_on(page.get_by_role("button", name="Take it in"))
    assert Place.objects.get(item__mark="Q9350-B1").where == "stock"
    assert bench.complaints == []


def test_a_remnant_that_cannot_be_is_refused_and_an_empty_bar_leaves_the_rack(walk: Walk) -> None:
    walk.floor.stock.take_in_bar("Q7714", "SAW-1", walk.floor.now)
    bar = Piece.objects.get(item__mark="SAW-1")
    axle = walk.axle_before("10/", "20/")
    bench = walk.bench("TP")
    page = walk.take_up(bench, "tam", axle, 30, "left")
    bench.scan(label(ScanKind.PIECE, "SAW-1"))
    expect(page.locator("#f-scan-error")).to_have_count(0)
    bench.scan(label(ScanKind.GAUGE, walk.floor.gauges["tape_or_rule"][0].item.mark))
    enter(bench, "24.86")
    enter(bench, "230")
    assert "more than that" in error(page)
    clean(page)
    page.locator("#f-value").fill("")
    enter(bench, "0")
    assert Place.objects.get(pk=bar.pk).where == "cut_up"
    bench.open(f"/stock/items/{bar.pk}/")
    expect(page.locator("body")).to_contain_text("cut up, nothing is left of it")
    expect(page.locator("body")).to_contain_text("Difference")
    clean(page)
    assert bench.complaints == []
