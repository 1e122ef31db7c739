"""Hunting tooth: number theory; the classes agree with a general gear library."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.gears.hunting import Hunting, tooth_meeting
from measurements.engineering.validity import OutsideValidity


@pytest.mark.parametrize(
    ("pinion", "ring", "common", "turns", "kind"),
    [
        (10, 41, 1, 41, Hunting.HUNTING),
        (9, 36, 9, 4, Hunting.NOT),
        (12, 42, 6, 7, Hunting.PARTLY),
        (10, 36, 2, 18, Hunting.PARTLY),
    ],
)
def test_pairs(pinion: int, ring: int, common: int, turns: int, kind: Hunting) -> None:
    found = tooth_meeting(pinion, ring)
    assert (found.common, found.pinion_turns, found.kind) == (common, turns, kind)
    assert found.ring_turns == pinion // common
    assert {type(found.pinion_turns), type(found.ring_turns)} == {int}  # whole turns
    assert found.align_marks is (common > 1)
    assert ("no marks" in found.says) is (common == 1)
    assert ("if it has any" in found.says) is (kind is Hunting.PARTLY)


@pytest.mark.parametrize(("pinion", "ring"), [(10, 37), (10, 43), (8, 39), (11, 43), (9, 41)])
def test_every_set_of_the_demo_axles_hunts(pinion: int, ring: int) -> None:
    assert tooth_meeting(pinion, ring).kind is Hunting.HUNTING


@given(st.integers(5, 60), st.integers(0, 60))
def test_repeat_agrees_with_rolling_the_pair(pinion: int, more: int) -> None:
    """Counted: roll tooth by tooth until tooth 0 meets tooth 0 again, and count who met whom."""
    ring = pinion + more
    found = tooth_meeting(pinion, ring)
    met, step = {0}, 1
    while (step % pinion, step % ring) != (0, 0):
        if step % pinion == 0:
            met.add(step % ring)
        step += 1
    assert (step // pinion, step // ring) == (found.pinion_turns, found.ring_turns)
    assert len(met) == found.pinion_turns
    assert (len(met) == ring) is (found.kind is Hunting.HUNTING)
    assert found.ratio == ring / pinion


@pytest.mark.parametrize(("pinion", "ring"), [(4, 41), (10, 121), (41, 10), (10, 4)])
def test_outside_validity(pinion: int, ring: int) -> None:
    with pytest.raises(OutsideValidity, match="tooth count must be from"):
        tooth_meeting(pinion, ring)


def test_edges_are_inside() -> None:
    assert tooth_meeting(5, 120).pinion_turns == 24
    assert tooth_meeting(5, 5).kind is Hunting.NOT
