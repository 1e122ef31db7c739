"""Who may not, what may not and when not yet, by hands; each refusal with the case that is accepted."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import Page, expect

from builds.actions.claiming import take_up
from builds.actions.receiving import NewPart, take_in_part
from builds.models import Axle, Fitted, Weld
from shop.actions.people import give_role, issue_badge
from shop.clock import shop_day
from shop.codes import ScanKind
from shop.models import PartKind, Role, Supplier
from shop.record.who import SYSTEM
from tests.browser.hands import NAMES, PINS, Bench, label
from tests.browser.refused.walk import (
    Walk,
    by_hand,
    read,
    sign,
)

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(300), pytest.mark.long(100)]

SECOND_BADGE = "TB-WENZEL-SECOND"


def locked_with(walk: Walk, bench: Bench, axle: Axle, figure: str) -> Page:
    """Rusk typed a figure, the terminal locked itself, and Enter was pressed: the page asks who is there."""
    page = walk.at_the_bolts(bench, "rusk", axle)
    page.keyboard.type(figure)
    walk.clock.shift(timedelta(seconds=95))
    bench.sends(lambda: page.keyboard.press("Enter"))
    expect(page.locator("body")).to_contain_text("Not saved yet")
    expect(page.locator("dl.facts")).to_contain_text(figure)
    expect(page.get_by_label("Badge")).to_be_focused()
    return page


def test_an_entry_into_a_locked_page_is_kept_and_sent_after_the_pin(walk: Walk, gears: Axle) -> None:
    bench = walk.bench("GB")
    page = locked_with(walk, bench, gears, "107")
    bench.say_who("rusk")
    expect(page.locator("h1")).to_have_text("Not saved yet")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    bench.open(walk.at(gears, 220))
    assert [("107" in line, "Rusk" in line) for line in read(page)] == [(True, True)]


def test_another_person_does_not_send_what_was_typed_before_the_lock(walk: Walk, gears: Axle) -> None:
    bench = walk.bench("GB")
    page = locked_with(walk, bench, gears, "107")
    bench.say_who("noor")
    expect(page.locator("body")).to_contain_text("was not saved")
    bench.open(walk.at(gears, 220))
    assert read(page) == []


def test_the_doer_cannot_sign_the_hold_even_as_inspector_with_a_second_badge(walk: Walk) -> None:
    wenzel, floor = walk.floor.people["wenzel"], walk.floor
    give_role(person=wenzel, role=Role.TUBE_PREP, valid_from=shop_day(floor.now), by=SYSTEM, now=floor.now)
    axle = walk.axle_before("10/", "20/", "30/left", "40/left")
    builder = floor.builder(axle)
    builder.now += timedelta(hours=8)
    visit = take_up(bench=axle, key="50/left", by=floor.who("wenzel", "TP"), now=builder.now)
    builder.slot_key, builder.doer = "50/left", wenzel
    builder.fill(visit)
    bench, here = walk.bench("TP"), walk.at(axle, 50, "left")
    bench.sign_in("wenzel", here)
    sign(bench, "wenzel")
    expect(bench.page.locator("body")).to_contain_text("waits for its second signature")
    issue_badge(person=wenzel, code=SECOND_BADGE, by=SYSTEM, now=datetime.now(UTC))
    bench.press_on(bench.page.get_by_role("button", name=re.compile("^(Leave|Sign out)$")))
    bench.open(here)
    for text in (label(ScanKind.BADGE, SECOND_BADGE), PINS["wenzel"]):
        with bench.page.expect_navigation():
            bench.type_in(text)
    bench.who = "wenzel"
    sign(bench, "wenzel")
    expect(bench.page.locator("#f-pin-error")).to_contain_text("did some of the work")
    bench.sign_in("calla", here)
    sign(bench, "calla")
    expect(bench.page.locator("body")).to_contain_text(f"Operation 50 of {axle.serial} is done.")


def test_a_part_that_is_elsewhere_and_a_gear_of_another_set_are_refused(walk: Walk, gears: Axle) -> None:
    """One ring gear is fitted already; another is of a set that the pinion in the kit is not of."""
    second = walk.floor.axle()
    ring = fitted_ring(gears)
    receiver, now = walk.floor.who("jory"), walk.floor.now
    for mark, code, of_set in (
        ("PN-1", "pinion", "SET-1"),
        ("RG-1", "ring_gear", "SET-1"),
        ("RG-2", "ring_gear", "SET-2"),
    ):
        kind = PartKind.objects.get(code=code)
        facts = {fact: "0" for fact in walk.floor.revision.card.part_kind(code).facts if fact != "set_mark"}
        new = NewPart(mark, kind, Supplier.objects.get(code="AGF"), set_mark=of_set, facts=facts)
        take_in_part(part=new, by=receiver, now=now)
    bench = walk.bench("KR")
    bench.sign_in("jory", f"/kits/{second.serial}/")
    refusal = bench.page.locator("#f-scan-error")
    bench.scan(label(ScanKind.PART, ring))
    expect(refusal).to_contain_text("is already fitted in")
    expect(refusal).to_contain_text(gears.serial)
    bench.scan(label(ScanKind.PART, "PN-1"))
    assert refusal.count() == 0, refusal.inner_text()
    bench.scan(label(ScanKind.PART, "RG-2"))
    expect(refusal).to_contain_text("is of set SET-2; the")
    expect(refusal).to_contain_text("here is of set SET-1")
    expect(bench.page.locator("table")).not_to_contain_text("RG-2")
    bench.scan(label(ScanKind.PART, "RG-1"))
    expect(refusal).to_have_count(0)
    expect(bench.page.locator("table")).to_contain_text("RG-1")


def fitted_ring(axle: Axle) -> str:
    return str(Fitted.objects.now().get(axle=axle, part__sort="ring_gear").part.mark)


def test_a_wrong_link_opens_nothing_and_the_right_one_only_its_own_order(walk: Walk) -> None:
    mine, other = walk.floor.axle(), walk.floor.axle()
    number, theirs = walk.floor.orders[-2].number, walk.floor.orders[-1].number
    desk = Bench(walk.browser, walk.address, "")
    page = desk.office("mirelle", f"/orders/{number}/links/")
    desk.press_on(page.get_by_role("button", name="Make a link"))
    address = page.locator("#link-address").inner_text()
    stranger, guest = Bench(walk.browser, walk.address, ""), Bench(walk.browser, walk.address, "")
    wrong = address.rstrip("/")[:-1] + ("A" if not address.rstrip("/").endswith("A") else "B") + "/"
    stranger.page.goto(wrong)
    stranger.press_on(stranger.page.get_by_role("button", name="Show my order"))
    said = stranger.page.content()
    assert stranger.page.locator("h1").inner_text() == "Not here"
    assert [word for word in (number, theirs, mine.serial, other.serial, "Lumen") if word in said] == []
    assert stranger.page.goto(address.split("/yours/")[0] + "/yours/order/").status == 404  # type: ignore[union-attr]
    guest.page.goto(address)
    guest.press_on(guest.page.get_by_role("button", name="Show my order"))
    seen = guest.page.content()
    assert (mine.serial in seen, other.serial in seen, theirs in seen) == (True, False, False)
    assert [name for name in NAMES.values() if name in seen or f">{name.split()[0]}<" in seen] == []
    desk.open(f"/orders/{number}/links/")
    desk.press_on(page.get_by_role("button", name="Revoke"))
    gone = guest.page.reload()
    assert gone is not None
    assert (gone.status, mine.serial in guest.page.content()) == (404, False)
    for bench in (desk, stranger, guest):
        bench.page.context.close()


def test_the_second_look_waits_48_hours_from_the_last_weld(walk: Walk) -> None:
    """The last of this module: it moves the clock by days."""
    builder = walk.floor.builder(walk.floor.axle())
    builder.kit()
    builder.run(until=165)
    last = Weld.objects.filter(visit__axle=builder.axle).latest("ended_at").ended_at
    bench, here = walk.bench("WB"), walk.at(builder.axle, 165)
    take = bench.page.get_by_role("button", name="Take it up", exact=True)
    walk.clock.move_to(last + timedelta(hours=47, minutes=50))
    bench.sign_in("calla", here)
    expect(take).to_have_count(0)
    expect(bench.page.locator("main")).to_contain_text("Not before")
    said = by_hand(bench.page, here + "take-up/")
    assert said["status"] == 422
    assert "10 min are left" in said["text"]
    walk.clock.move_to(last + timedelta(hours=48))
    bench.sign_in("calla", here)
    expect(take).to_have_count(1)
    with bench.page.expect_navigation():
        bench.page.keyboard.press("Enter")
    expect(bench.page.locator("form.put")).to_have_count(1)
