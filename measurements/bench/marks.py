"""The words that a card has for a contact pattern, and what they mean."""

from __future__ import annotations

from measurements.engineering.gears.pattern_terms import Fault, GearCut, Height, Length, Mark

CUTS = {"face-milled": GearCut.FACE_MILLED, "face-hobbed": GearCut.FACE_HOBBED}
EDGE = "edge line or double mark"
_HEIGHTS = {"high": Height.HIGH, "low": Height.LOW}
_LENGTHS = {"toe": Length.TOE, "heel": Length.HEEL, "middle": Length.CENTRE, "centre": Length.CENTRE}


def mark_of(words: str) -> Mark | None:
    """The mark that a card's choice names: "high toe", "heel", "centre slanted"; None for other words."""
    if words == EDGE:
        return Mark(Height.MIDDLE, Length.CENTRE, frozenset({Fault.HARD_EDGE}))
    first, _, rest = words.removesuffix(" slanted").partition(" ")
    height, length = (_HEIGHTS[first], rest) if first in _HEIGHTS else (Height.MIDDLE, first)
    return Mark(height, _LENGTHS[length]) if length in _LENGTHS else None
