"""The sister of the set-up story on the other axle: face-milled gears, and shims under a pinion cage."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.refused.gear_story import Setting
from tests.browser.refused.walk import Walk
from tests.shopfloor import TEASEL

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.timeout(300),
    pytest.mark.xdist_group("gear_set_up_sister"),
]


@pytest.fixture(scope="module")
def card_file() -> Path:
    return TEASEL


def test_the_same_move_takes_shim_out_of_a_cage(walk: Walk, tmp_path: Path) -> None:
    """Drive high heel with coast high toe is pinion in on this cut; thicker is out under a cage flange."""
    setting = Setting.brought_to(walk, 270, tmp_path)
    setting.takes_up(270)
    setting.fills(270, c270_a="face-milled", c270_b_drive="high heel", c270_b_coast="high toe", c270_c="pinion in")
    setting.says("Contact pattern", "Pinion in: pinion too far out.")
    expect(setting.advice("Contact pattern")).to_contain_text("take out 0.004 in")
    expect(setting.advice("Contact pattern")).to_contain_text("0.035 -> 0.031 in")
    setting.signs()
    setting.sent_back(270, "Pinion in: remove .004 under the cage flange, then read the pattern again.")
    setting.does(270, c270_a="face-milled", c270_b="centre", c270_c="none")
    setting.does(280, c280_a="0.031", c280_b="0.062", c280_1="16")
    setting.does(290)
    setting.takes_up(300)
    setting.fills(300, c300_1="0.0060", c300_a="centre")
    setting.says("Backlash round the gear", "Go. The round is even. Spread 0.0000 in")
    setting.signs()
    assert setting.kept("280.a") == ["0.031"]
    assert setting.bench.complaints == []
