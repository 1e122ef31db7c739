"""What the gear bench and the assembly bench are told at bolts, shims, pattern, preload and round: a reading missing, a
reading wrong, and what the answer was before and after.

One axle goes through; the actions bring it from operation to operation, and what an advice turns on is typed.
"""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import expect

from builds.models import VisitState
from builds.scenario.driver import Builder
from measurements.models import Advised, Reading
from tests.browser.hands import PINS
from tests.browser.refused.seen import again, begin
from tests.browser.refused.walk import Walk

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.timeout(300),
    pytest.mark.xdist_group("gear_answers"),
]


def test_the_bolts_are_told_their_order_and_a_loose_one_does_not_move_it(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "GB", "220/")
    seen.enters(("220.3", "70"))
    order = "Do this. Set 105 ft-lb. Tighten in this order: 1 7 4 10 2 8 3 9 5 11 6 12."
    expect(seen.says("Bolts: order and wrench")).to_have_text(order)
    seen.types("G-042", "98")
    expect(seen.page.locator(".latest").first).to_contain_text("Bolt 1 is low: 98")
    expect(seen.says("Bolts: order and wrench")).to_have_text(order)
    seen.is_accessible()
    seen.repeats("220.1", "105")


def test_the_first_passes_are_ticked_bolt_by_bolt_in_their_order(walk: Walk, builder: Builder) -> None:
    seen = again(walk, builder, "GB", "220/")
    seen.opens("220.b")
    for bolt in ("1", "7", "4"):
        expect(seen.page.locator("h2.place")).to_have_text(f"Bolt {bolt} of 12")
        seen.bench.sends(lambda: seen.page.keyboard.press("Enter"))
    expect(seen.page.locator("h2.place")).to_have_text("Bolt 10 of 12")
    expect(seen.page.locator(".picture .drawn").first).to_contain_text("✓")
    ticks = Reading.objects.filter(sheet__visit_links__visit=seen.visit, characteristic__code="220.b").order_by("pk")
    assert builder.doer is not None
    assert [(tick.position, tick.typed, tick.person_id) for tick in ticks] == [
        (bolt, "pulled", builder.doer.pk) for bolt in ("1", "7", "4")
    ]


def test_another_lubricant_is_told_and_moves_no_limit(walk: Walk, builder: Builder) -> None:
    seen = again(walk, builder, "GB", "220/")
    seen.opens("220.a")
    seen.bench.sends(lambda: seen.bench.press(seen.page.get_by_role("button", name="anti-seize")))
    expect(seen.says("Bolts: order and wrench")).to_contain_text("Stop. With anti-seize the same clamp takes 74 to 93")
    expect(seen.page.locator("#entry-limits")).to_contain_text("100 to 110 ft-lb")
    seen.types("G-042", "90")
    expect(seen.page.locator(".latest").first).to_contain_text("Bolt 2 is low: 90")
    seen.is_accessible()
    seen.repeats("220.1", "105", "2")
    seen.repeats("220.a", "as the card says")
    expect(seen.says("Bolts: order and wrench")).to_contain_text("Do this. Set 105 ft-lb.")
    kept = Advised.objects.filter(sheet__visit_links__visit=seen.visit, name="bolt_circle").order_by("pk")
    assert [json.loads(row.answer)["tone"] for row in kept] == ["do", "stop", "do"]


def test_who_signs_is_asked_about_the_ticks_left_out(walk: Walk, builder: Builder) -> None:
    seen = again(walk, builder, "GB", "220/")
    builder.fill(seen.visit)
    seen.looks()
    seen.bench.press(seen.page.locator("summary.key-sign"))
    left_out = seen.page.locator(".left-out")
    expect(left_out).to_contain_text("220.b First pass, 30 %: bolts ticked: all but 10, 2, 8, 3, 9, 5, 11, 6, 12.")
    expect(left_out).to_contain_text("220.d Third pass, full torque: bolts ticked: none.")
    expect(seen.page.get_by_role("button", name="Sign and finish")).to_be_in_viewport()
    seen.is_accessible(grounds=False)
    assert builder.doer is not None
    seen.page.locator("#f-pin").focus()
    with seen.page.expect_navigation():
        seen.bench.type_in(PINS[builder.doer.code])
    seen.visit.refresh_from_db()
    assert seen.visit.state == VisitState.DONE
    assert seen.bench.complaints == []


def test_the_side_shims_wait_for_their_readings_and_not_for_a_slip(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "AX", "260/")
    expect(seen.says("Side shims")).to_contain_text("Not known.")
    seen.enters(("260.1", *[".0125"] * 3, ".0126"))
    expect(seen.says("Side shims")).to_contain_text("Move 0.007 in so that the ring gear goes toward the pinion")
    expect(seen.panel("Side shims")).to_contain_text("not read yet")
    seen.types("G-022", "12.1")
    expect(seen.page.locator(".latest.refused, .ask").first).to_be_visible()
    expect(seen.panel("Side shims")).to_contain_text("not read yet")
    seen.enters(("260.a", "0.121", "0.117"))
    expect(seen.panel("Side shims")).to_contain_text("0.121 -> 0.128 in")
    seen.is_accessible()
    builder.send_back(seen.visit)
    again = begin(walk, builder, "AX", "260/")
    again.signs()


def test_the_pattern_is_told_for_both_flanks_of_the_cut_that_is_seen(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "AX", "270/")
    says, panel = seen.says("Contact pattern"), seen.panel("Contact pattern")
    expect(panel).to_contain_text("How the gears are cut is not said yet: the two cuts read differently.")
    seen.enters(("270.a", "face-milled"), ("270.b", "high toe", "low heel"))
    expect(says).to_contain_text("Stop. Not a shim matter")
    expect(panel).to_contain_text("The card's set is cut the other way: look at the gears again")
    seen.repeats("270.a", "face-hobbed")
    expect(says).to_contain_text("Stop. Not a shim matter")
    expect(panel).not_to_contain_text("cut the other way")
    seen.is_accessible()
    seen.repeats("270.b", "centre slanted", "drive")
    seen.repeats("270.b", "centre slanted", "coast")
    expect(says).to_contain_text("Go. The pattern is right: leave the shims.")
    seen.signs()


def test_the_preload_is_told_when_its_pack_is_known(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "AX", "280/")
    builder.fit(seen.visit)
    expect(seen.says("Pinion preload")).to_contain_text("Not known.")
    seen.enters(("280.1", "34"))
    expect(seen.panel("Pinion preload")).to_contain_text("The preload shim pack is not read yet.")
    seen.enters(("280.a", "0.035"))
    seen.types("G-022", "0.062")
    expect(seen.says("Pinion preload")).to_contain_text("make the preload pack 0.001 in thicker, 0.063 in.")
    seen.is_accessible()
    builder.send_back(seen.visit)
    builder.values = {**builder.values, "280.1": "25"}
    begin(walk, builder, "AX", "280/").signs()


def test_the_bolts_of_a_cap_are_told_by_side(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "AX", "290/")
    for side in ("left", "right"):
        said = "Do this. Set 85 ft-lb. Tighten in this order: 1 2."
        expect(seen.says(f"Bolts: order and wrench, {side}")).to_have_text(said)
    seen.is_accessible()
    seen.signs()


def test_the_round_waits_for_its_last_point_and_names_a_bad_tooth(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "AX", "300/")
    says, panel = seen.says("Backlash round the gear"), seen.panel("Backlash round the gear")
    expect(panel).to_contain_text("Not read yet: 1, 2, 3, 4, 5, 6, 7, 8.")
    for place in seen.places("300.1")[:7]:
        builder.enter(seen.visit, place, ".0070")
    seen.looks()
    expect(panel).to_contain_text("Not read yet: 8.")
    seen.types("G-034", ".0095")
    expect(says).to_contain_text("Stop. Point 8 stands out from an otherwise even round. Spread 0.0025 in")
    seen.is_accessible()
    seen.repeats("300.1", ".0072", "8")
    expect(says).to_contain_text("Go. The round is even.")
    share = seen.says("Carrier's share")
    expect(seen.panel("Carrier's share")).to_contain_text("300.b Total rotating torque is not read yet.")
    seen.enters(("300.b", "33"))
    expect(share).to_contain_text("Go. The carrier adds 8 in-lb at the pinion, 4 to 12 in-lb is wanted.")
    seen.enters(("300.3", "9"))
    expect(share).to_contain_text("Stop. 33 less 25 is 8 in-lb and 9 is entered: look at the three figures again.")
    seen.repeats("300.3", "8")
    expect(share).to_contain_text("Go. The carrier adds 8 in-lb")
    seen.signs()


def test_the_anchor_bolts_are_told_by_side(walk: Walk, builder: Builder) -> None:
    seen = begin(walk, builder, "AX", "370/")
    for side in ("left", "right"):
        said = "Do this. Set 95 ft-lb. Tighten in this order: 1 3 2 4."
        expect(seen.says(f"Bolts: order and wrench, {side}")).to_have_text(said)
    seen.is_accessible()
    seen.types("G-042", "80")
    expect(seen.page.locator(".latest").first).to_contain_text("Bolt left 1 is low: 80")
    for side in ("left", "right"):
        expect(seen.says(f"Bolts: order and wrench, {side}")).to_have_text(said)
    seen.repeats("370.1", "95", "left 1")
    seen.signs()
