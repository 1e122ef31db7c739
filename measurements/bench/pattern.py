"""At the gear bench: what the contact pattern of this cut of gear means, and the one next move.

Never one chart for both cuts. Charts and sources: measurements.engineering.gears.pattern and .pattern_charts.
"""

from __future__ import annotations

from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone, unknown
from measurements.bench.given import Given, in_mm
from measurements.engineering.gears.pattern import CAUTION, read_pattern
from measurements.engineering.gears.pattern_terms import Fault, GearCut, Height, Length, Mark, Move, PatternAdvice
from measurements.engineering.gears.pinion import PinionMove, ShimSeat, shim_for_move
from measurements.engineering.limits import plain

CUTS = {"face-milled": GearCut.FACE_MILLED, "face-hobbed": GearCut.FACE_HOBBED}
EDGE = "edge line or double mark"
_HEIGHTS = {"high": Height.HIGH, "low": Height.LOW}
_LENGTHS = {"toe": Length.TOE, "heel": Length.HEEL, "middle": Length.CENTRE, "centre": Length.CENTRE}
_PINION = {Move.PINION_IN: PinionMove.IN, Move.PINION_OUT: PinionMove.OUT}


def mark_of(words: str) -> Mark | None:
    """The mark that a card's choice names: "high toe", "heel", "centre slanted"; None for other words."""
    if words == EDGE:
        return Mark(Height.MIDDLE, Length.CENTRE, frozenset({Fault.HARD_EDGE}))
    first, _, rest = words.removesuffix(" slanted").partition(" ")
    height, length = (_HEIGHTS[first], rest) if first in _HEIGHTS else (Height.MIDDLE, first)
    return Mark(height, _LENGTHS[length]) if length in _LENGTHS else None


def tooth_pattern(given: Given) -> Answer:
    """Roles: cut (face-milled or face-hobbed) and mark at drive and coast, as choices; may have head, the head shim
    pack (in). Figures: thicker_is_in, 1 where a thicker head shim moves the pinion in and 0 where it moves it out;
    depth_step, the first step of depth (in); card_cut may be left out: 1 for a face-hobbed set, 0 for a milled one.
    """
    cut = CUTS.get(given.word("cut"))
    words = {flank: str(given.readings.get("mark", {}).get(flank, "")) for flank in ("drive", "coast")}
    drive, coast = mark_of(words["drive"]), mark_of(words["coast"])
    missing = [f"The {flank} side is not read yet." for flank, text in words.items() if not text]
    if cut is None:
        missing.insert(0, "How the gears are cut is not said yet: the two cuts read differently.")
    if cut is None or drive is None or coast is None:
        return unknown("The pattern: not to be told yet.", *missing)
    found = read_pattern(cut, drive, coast)
    return Answer(
        _said(found),
        _tone(found),
        (Line("means", found.means), *_shim_lines(given, found)),
        reason=(
            found.reason,
            *((f"It also does this: {found.side_effect}.",) if found.side_effect else ()),
            *(("Ask the lead builder.",) if found.ask_lead_builder else ()),
            *_other_cut(given, cut),
        ),
        worked=(f"{cut.value}: drive {words['drive']}, coast {words['coast']} -> {found.move.value}",),
        assumed=(
            "Gears clean, thin compound at several places, caps at torque, preload present, backlash in its limits,"
            " turned both ways under drag.",
            f"Founded on {found.basis.value}.",
        ),
        source=found.source,
        validity=f"spiral bevel and hypoid sets, {cut.value}, in ordinary use",
        caution=(CAUTION,),
        picture=Picture("teeth", {"cut": given.word("cut"), **words}),
    )


def _said(found: PatternAdvice) -> str:
    if found.move is Move.NONE:
        return "The pattern is right: leave the shims."
    if found.move is Move.NOT_SHIMS:
        return f"Not a shim matter: {found.means}."
    return f"{found.move.value.capitalize()}: {found.means}."


def _tone(found: PatternAdvice) -> Tone:
    return {Move.NONE: Tone.GO, Move.NOT_SHIMS: Tone.STOP, Move.READ_AGAIN: Tone.WAIT}.get(found.move, Tone.DO)


def _shim_lines(given: Given, found: PatternAdvice) -> tuple[Line, ...]:
    """The new head shim of this product for a first step of depth; add or take only because its seat is known."""
    move, step = _PINION.get(found.move), given.figures["depth_step"]
    if move is None:
        return ()
    seat = ShimSeat.UNDER_HEAD_CUP if given.figures["thicker_is_in"] else ShimSeat.UNDER_CAGE_FLANGE
    thicker = (move is PinionMove.IN) is (seat is ShimSeat.UNDER_HEAD_CUP)
    way = f"{'add' if thicker else 'take out'} {plain(step)} in"
    lines = (Line("head shim", way, in_mm(step), f"it sits {seat.value}; a first step, then halve"),)
    head = given.one("head")
    if head is None:
        return lines
    new = shim_for_move(head, move, step, seat).new
    return (*lines, Line("head shim pack", f"{plain(head)} -> {_three(new)} in", in_mm(new)))


def _three(value: Fraction) -> str:
    return f"{float(value):.3f}"


def _other_cut(given: Given, seen: GearCut) -> tuple[str, ...]:
    stated = given.figures.get("card_cut")
    if stated is None or (seen is GearCut.FACE_HOBBED) == bool(stated):
        return ()
    return ("The card's set is cut the other way: look at the gears again before anything is moved.",)
