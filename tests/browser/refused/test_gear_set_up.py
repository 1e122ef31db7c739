"""Backlash that runs out, from the eight points to the last look: story (c) of the invented shop, at the screen.

The figures are the story's (invented); what the bench answers to them is calculated, and the two charts of the
contact pattern are those of measurements.engineering.gears.pattern_charts, with their sources.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.refused.gear_story import Setting
from tests.browser.refused.walk import Walk

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.timeout(300),
    pytest.mark.xdist_group("gear_set_up"),
]
BURR = ("0.0072", "0.0081", "0.0096", "0.0104", "0.0101", "0.0089", "0.0078", "0.0070")
RESEATED = ("0.0079", "0.0082", "0.0086", "0.0087", "0.0085", "0.0083", "0.0080", "0.0079")
ROUND, PATTERN, PRELOAD = "Backlash round the gear", "Contact pattern", "Pinion preload"


def test_a_burr_is_found_the_pinion_goes_in_and_every_try_is_kept(walk: Walk, tmp_path: Path) -> None:
    told = {"c220_2": "0.0020", "c280_1": "24", "c280_a": "0.035", "c280_b": "0.062", "c260_a": "0.120"}
    setting = Setting.brought_to(walk, 300, tmp_path, **told)
    setting.takes_up(300)
    setting.types(*BURR, gauge="G-034")
    setting.says(ROUND, "once per turn: the ring gear runs out, it is not a bad tooth. Spread 0.0034 in")
    expect(setting.advice(ROUND)).to_contain_text("0.00014 in")
    expect(setting.advice(ROUND)).to_contain_text("The spread asks for 0.0049 in of back-face runout.")
    expect(setting.advice(ROUND)).to_contain_text("The bench read 0.002 in: dial the back face in the housing.")
    setting.opens("300.c")
    setting.types("0.0045")
    expect(setting.advice(ROUND)).to_contain_text("runs out in the housing: not the gear. Look for a burr")
    setting.ends_this_try("End this try, back to 260")
    setting.takes_up(260)
    setting.sets_down("Burr under the left side-bearing cone. Cone off, stoned, re-seated.")
    setting.does(260, c260_a="0.120", **{f"c260_1_{n}": RESEATED[2 * n - 2] for n in range(1, 5)})
    setting.takes_up(270)
    setting.fills(270, c270_a="face-hobbed", c270_b_drive="high toe", c270_b_coast="high heel", c270_c="pinion in")
    setting.says(PATTERN, "Pinion in: pinion too far out.")
    expect(setting.advice(PATTERN)).to_contain_text("add 0.004 in")
    expect(setting.advice(PATTERN)).to_contain_text("0.035 -> 0.039 in")
    setting.signs()
    setting.sent_back(270, "Pinion in: head shim .035 to .039, then read the pattern again.")
    setting.does(270, c270_a="face-hobbed", c270_b="centre slanted", c270_c="none")
    setting.takes_up(280)
    setting.fills(280, c280_a="0.039", c280_b="0.062", c280_1="34")
    setting.says(PRELOAD, "34 in-lb is not in 20 to 30 in-lb: make the preload pack 0.001 in thicker, 0.063 in.")
    setting.ends_this_try("End this try, begin 280 again")
    setting.does(280, c280_a="0.039", c280_b="0.063", c280_1="26")
    setting.does(290)
    setting.takes_up(300)
    setting.fills(300, **{f"c300_1_{n}": text for n, text in enumerate(RESEATED, 1)}, c300_a="centre slanted")
    setting.says(ROUND, "Go. The round is even. Spread 0.0008 in")
    setting.signs()
    assert setting.passes() == [250, 260, 270, 280, 290, 300, 260, 270, 270, 280, 280, 290, 300]
    assert setting.kept("300.1") == [*BURR, *RESEATED]
    assert (setting.kept("280.a"), setting.kept("280.1")) == (["0.035", "0.039", "0.039"], ["24", "34", "26"])
    assert [says.split(":")[0].split(".")[0] for says in setting.advised("tooth_pattern")] == [
        "The pattern is right", "Pinion in", "The pattern is right",
    ]  # fmt: skip
    again = setting.bench.open(f"/axles/{setting.axle.serial}/").locator("section[aria-labelledby=again]")
    for words in (
        "Operation 300, pass 1: ",
        "Operation 270, pass 2: hold not given. Pinion in: head shim .035 to .039",
        "Operation 280, pass 2: ",
    ):
        expect(again).to_contain_text(words)
    assert setting.bench.complaints == []
