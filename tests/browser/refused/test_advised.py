"""What the bench advises stands beside the entry, and is in nobody's way."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from shop.codes import ScanKind
from tests.browser.hands import label
from tests.browser.refused.walk import Walk, enter

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(300), pytest.mark.long(100)]


def test_the_press_is_told_what_this_pair_should_take(walk: Walk) -> None:
    """Before the ram moves, and after a peak that is inside the card's window but not this pair's."""
    builder = walk.floor.builder(walk.floor.axle())
    builder.kit()
    builder.run(until=70)
    assert builder.doer is not None
    walk.clock.move_to(builder.now)
    bench = walk.bench("TP")
    for side, peak, word in (("left", "15000", "Stop."), ("right", "9000", "Go.")):
        page = walk.take_up(bench, builder.doer.code, builder.axle, 70, side)
        advice = page.locator(".panel.advice")
        expect(advice).to_contain_text("This pair should take")
        expect(page.locator(".drawn.advised svg")).to_have_count(1)
        bench.sends(lambda page=page: bench.press(page.get_by_role("button", name="press oil")))  # type: ignore[misc]
        bench.scan(label(ScanKind.GAUGE, "G-090"))
        enter(bench, peak)
        expect(page.locator(".latest").first).to_contain_text("Peak press force is in")
        expect(advice.locator(".says")).to_contain_text(word)
        expect(page.locator(f'.drawn.advised text:has-text("peak {peak}")')).to_have_count(1)
        expect(page.locator("form.put")).to_have_count(1)
    assert bench.complaints == []
