"""Contact pattern: every row of both charts, the rules around them, and the two cuts against each other.

Rows: face-milled TM 9-2320-266-34 ch. 19 and a gear maker's public summary; face-hobbed the same summary and
TM 5-3805-260-24; cross bearing TM 10-3930-643-34. Rows marked inference are no printed row.
"""

import re
from itertools import product

import pytest

from measurements.engineering.gears.pattern import CAUTION, read_pattern
from measurements.engineering.gears.pattern_terms import (
    Basis,
    Fault,
    GearCut,
    Height,
    Length,
    Mark,
    Move,
    Precondition,
)

MILLED, HOBBED = GearCut.FACE_MILLED, GearCut.FACE_HOBBED
HEIGHTS = {"high": Height.HIGH, "mid": Height.MIDDLE, "low": Height.LOW}
LENGTHS = {"toe": Length.TOE, "near": Length.TOWARD_TOE, "centre": Length.CENTRE, "heel": Length.HEEL}
PLACES = [f"{h} {n}" for h in HEIGHTS for n in LENGTHS]


def mark(text: str, *faults: Fault) -> Mark:
    height, length = text.split()
    return Mark(HEIGHTS[height], LENGTHS[length], frozenset(faults))


def move(cut: GearCut, drive: str, coast: str) -> Move:
    return read_pattern(cut, mark(drive), mark(coast)).move


MILLED_CHART = [
    ("mid centre", "mid centre", Move.NONE, Basis.CHART),
    ("mid centre", "mid near", Move.NONE, Basis.CHART),
    ("mid near", "mid near", Move.NONE, Basis.CHART),
    ("high heel", "high toe", Move.PINION_IN, Basis.CHART),
    ("low toe", "low heel", Move.PINION_OUT, Basis.CHART),
    ("mid heel", "mid heel", Move.RING_IN, Basis.CHART),
    ("high heel", "mid heel", Move.RING_IN, Basis.CHART),
    ("mid heel", "high heel", Move.RING_IN, Basis.CHART),
    ("mid toe", "mid toe", Move.RING_OUT, Basis.CHART),
    ("low toe", "mid toe", Move.RING_OUT, Basis.CHART),
    ("mid toe", "low toe", Move.RING_OUT, Basis.CHART),
    ("high centre", "high centre", Move.PINION_IN, Basis.INFERENCE),
    ("low centre", "low centre", Move.PINION_OUT, Basis.INFERENCE),
    ("high heel", "high heel", Move.RING_IN, Basis.INFERENCE),
    ("low toe", "low toe", Move.RING_OUT, Basis.INFERENCE),
]
HOBBED_CHART = [
    ("mid centre", "mid centre", Move.NONE, Basis.CHART),
    ("mid near", "mid centre", Move.NONE, Basis.CHART),
    ("high toe", "high heel", Move.PINION_IN, Basis.CHART),
    ("low heel", "low toe", Move.PINION_OUT, Basis.CHART),
    ("high heel", "high toe", Move.RING_IN, Basis.CHART),
    ("low toe", "low heel", Move.RING_OUT, Basis.CHART),
]
CHARTS = [(MILLED, *row) for row in MILLED_CHART] + [(HOBBED, *row) for row in HOBBED_CHART]


@pytest.mark.parametrize(("cut", "drive", "coast", "wanted", "basis"), CHARTS)
def test_every_row_of_the_charts(cut: GearCut, drive: str, coast: str, wanted: Move, basis: Basis) -> None:
    advice = read_pattern(cut, mark(drive), mark(coast))
    assert (advice.move, advice.basis) == (wanted, basis)
    assert not advice.ask_lead_builder
    assert advice.means
    assert advice.reason
    assert advice.source
    assert ("no chart shows this pair" in advice.source) is (basis is Basis.INFERENCE)


CLOSES = {Move.NONE: "", Move.PINION_IN: "less", Move.RING_IN: "less", Move.PINION_OUT: "more", Move.RING_OUT: "more"}


@pytest.mark.parametrize(("cut", "drive", "coast", "wanted"), [row[:4] for row in CHARTS])
def test_the_words_of_a_row_are_about_its_own_pair(cut: GearCut, drive: str, coast: str, wanted: Move) -> None:
    """In closes the mesh and out opens it (2 tan phi sin gamma, calculated); the reason names where both marks lie."""
    advice = read_pattern(cut, mark(drive), mark(coast))
    assert [word for word in ("less", "more") if word in advice.side_effect] == [CLOSES[wanted]] * bool(CLOSES[wanted])
    for side, place in (("drive", drive), ("coast", coast)):
        for named in re.findall(rf"{side} (?:to|high at|low at) the (toe|heel)", advice.reason.lower()):
            assert place.endswith(named)
    for named in re.findall(r"^both (?:flanks )?(high|low)", advice.reason.lower()):
        assert {drive.split()[0], coast.split()[0]} == {named}


def test_same_pair_means_the_pinion_on_one_cut_and_the_ring_on_the_other() -> None:
    assert move(MILLED, "high heel", "high toe") is Move.PINION_IN
    assert move(HOBBED, "high heel", "high toe") is Move.RING_IN
    assert move(MILLED, "low toe", "low heel") is Move.PINION_OUT
    assert move(HOBBED, "low toe", "low heel") is Move.RING_OUT


def test_demo_story_and_its_sister() -> None:
    """Face-hobbed drive high toe, coast high heel; face-milled drive high heel, coast high toe: pinion in."""
    hobbed = read_pattern(HOBBED, mark("high toe"), mark("high heel"))
    milled = read_pattern(MILLED, mark("high heel"), mark("high toe"))
    for advice in (hobbed, milled):
        assert (advice.move, advice.means) == (Move.PINION_IN, "pinion too far out")
        assert "backlash a little less" in advice.side_effect
    assert "misprint" in hobbed.source
    assert "TM 9-2320-266-34" in milled.source


def test_side_effects_of_ring_moves() -> None:
    assert "backlash less" in read_pattern(MILLED, mark("mid heel"), mark("mid heel")).side_effect
    assert "backlash more" in read_pattern(MILLED, mark("mid toe"), mark("mid toe")).side_effect
    assert read_pattern(HOBBED, mark("high heel"), mark("high toe")).side_effect == "backlash less"
    assert read_pattern(HOBBED, mark("low toe"), mark("low heel")).side_effect == "backlash more"
    assert "backlash a little more" in read_pattern(MILLED, mark("low toe"), mark("low heel")).side_effect


def test_depth_and_backlash_together_do_backlash_first() -> None:
    for drive, ring in (("high heel", "in"), ("low toe", "out")):
        advice = read_pattern(MILLED, mark(drive), mark(drive))
        assert advice.means == "depth and backlash together"
        assert f"backlash first (ring gear {ring})" in advice.reason


def test_slanted_mark_of_a_hobbed_set_is_not_squared() -> None:
    advice = read_pattern(HOBBED, mark("mid centre"), mark("mid centre"))
    assert "do not try to square it" in advice.reason


@pytest.mark.parametrize("cut", GearCut)
@pytest.mark.parametrize(("drive", "coast"), list(product(PLACES, PLACES)))
def test_rules_that_hold_for_every_pair(cut: GearCut, drive: str, coast: str) -> None:
    advice = read_pattern(cut, mark(drive), mark(coast))
    heights = {drive.split()[0], coast.split()[0]}
    assert advice.reason
    assert advice.source
    if heights == {"high", "low"}:
        assert (advice.move, advice.means) == (Move.NOT_SHIMS, "cross bearing")
        assert "reject" in advice.reason
        return
    assert advice.move is not Move.NOT_SHIMS
    # Never the wrong way: a high pair is never told out, a low pair never in, on either cut.
    if heights == {"high"}:
        assert advice.move in (Move.PINION_IN, Move.RING_IN)
    if heights == {"low"}:
        assert advice.move in (Move.PINION_OUT, Move.RING_OUT)
    # "Leave it" only when neither flank is high or low.
    if advice.move is Move.NONE:
        assert heights == {"mid"}
    # What no chart shows goes to the lead builder.
    on_chart = (drive.replace("near", "centre"), coast.replace("near", "centre")) in [
        (d.replace("near", "centre"), c.replace("near", "centre")) for k, d, c, *_ in CHARTS if k is cut
    ]
    assert advice.ask_lead_builder is not on_chart


@pytest.mark.parametrize("cut", GearCut)
def test_off_the_chart_height_alone_decides(cut: GearCut) -> None:
    high = read_pattern(cut, mark("high toe"), mark("high toe"))
    assert (high.move, high.basis, high.means) == (
        Move.PINION_IN,
        Basis.RULE,
        "by height alone: pinion too far out",
    )
    assert "backlash a little less" in high.side_effect
    low = read_pattern(cut, mark("low heel"), mark("low heel"))
    assert (low.move, low.means) == (Move.PINION_OUT, "by height alone: pinion too deep")
    assert "backlash a little more" in low.side_effect
    assert "Backlash into limits first" in low.reason


@pytest.mark.parametrize("cut", GearCut)
@pytest.mark.parametrize(
    ("drive", "coast"), [("mid heel", "mid toe"), ("high toe", "mid toe"), ("mid toe", "low heel")]
)
def test_off_the_chart_without_a_common_height(cut: GearCut, drive: str, coast: str) -> None:
    advice = read_pattern(cut, mark(drive), mark(coast))
    assert (advice.move, advice.basis) == (Move.BACKLASH_FIRST, Basis.INFERENCE)
    assert "judge the height only" in advice.reason


def test_a_row_of_the_other_cut_is_pointed_out() -> None:
    milled = read_pattern(MILLED, mark("high toe"), mark("high heel"))
    assert "row of the face-hobbed (even depth) chart: check how this set is cut" in milled.reason
    hobbed = read_pattern(HOBBED, mark("mid heel"), mark("mid heel"))
    assert "row of the face-milled (tapered depth) chart" in hobbed.reason
    neither = read_pattern(HOBBED, mark("mid heel"), mark("mid toe"))
    assert "chart: check" not in neither.reason


@pytest.mark.parametrize("fault", Fault)
@pytest.mark.parametrize("cut", GearCut)
def test_a_fault_on_either_flank_is_not_a_shim_matter(cut: GearCut, fault: Fault) -> None:
    for drive, coast in (
        (mark("high heel", fault), mark("high toe")),
        (mark("high heel"), mark("high toe", fault)),
    ):
        advice = read_pattern(cut, drive, coast)
        assert (advice.move, advice.basis) == (Move.NOT_SHIMS, Basis.RULE)
        assert fault.value in advice.reason
        assert advice.ask_lead_builder
    assert move(cut, "high heel", "high toe") is not Move.NOT_SHIMS


@pytest.mark.parametrize("missing", Precondition)
def test_not_read_before_it_is_ready(missing: Precondition) -> None:
    advice = read_pattern(MILLED, mark("high heel", Fault.DOUBLE), mark("low toe"), [missing])
    assert (advice.move, advice.basis) == (Move.READ_AGAIN, Basis.RULE)
    assert missing.value in advice.reason


def test_everything_missing_is_told_once_in_order() -> None:
    advice = read_pattern(HOBBED, mark("mid centre"), mark("mid centre"), [*reversed(Precondition), Precondition.CAPS])
    assert advice.reason == "Before a pattern is read: " + "; ".join(p.value for p in Precondition) + "."


def test_mark_in_words_and_caution() -> None:
    assert mark("high near").says() == "high, a little to the toe"
    for word in ("pinch", "Support", "solvent", "gear maker's sheet"):
        assert word in CAUTION


def test_a_coast_mark_at_the_toe_itself_is_asked_about_and_a_little_to_the_toe_is_right() -> None:
    """The sheet says "centre or a little to toe": what lies at the toe is more than that."""
    at_the_toe = read_pattern(MILLED, mark("mid centre"), mark("mid toe"))
    assert at_the_toe.ask_lead_builder
    assert move(MILLED, "mid centre", "mid near") is Move.NONE, "the control"
