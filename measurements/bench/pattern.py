"""At the gear bench: what the contact pattern of this cut of gear means, and the one next move.

Never one chart for both cuts. Charts and sources: measurements.engineering.gears.pattern and .pattern_charts.
"""

from __future__ import annotations

from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone, unknown
from measurements.bench.depth import DepthStep, depth_step
from measurements.bench.given import Given, in_mm
from measurements.bench.marks import CUTS, mark_of
from measurements.engineering.gears.pattern import CAUTION, read_pattern
from measurements.engineering.gears.pattern_terms import GearCut, Move, PatternAdvice
from measurements.engineering.gears.pinion import PinionMove, ShimSeat, shim_for_move

_PINION = {Move.PINION_IN: PinionMove.IN, Move.PINION_OUT: PinionMove.OUT}


def tooth_pattern(given: Given) -> Answer:
    """Roles: cut (face-milled or face-hobbed) and mark at drive and coast, as choices; may have head, the head shim
    pack (in), and of the tries before this one action ("pinion in", "pinion out") and amount (in).
    Figures: thicker_is_in, 1 where a thicker head shim moves the pinion in and 0 where it moves it out; depth_step, the
    first step of depth (in); card_cut may be left out: 1 for a face-hobbed set, 0 for a milled one. Tries: this
    axle's own, the one in hand the last.
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
    step = _step(given, found)
    return Answer(
        _said(found),
        _tone(found),
        (Line("means", found.means), *_shim_lines(step)),
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
            *_moved(step),
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


def _step(given: Given, found: PatternAdvice) -> tuple[DepthStep, ShimSeat] | None:
    """The next step of depth and where this product's head shim sits; None where the pinion stays."""
    if found.move not in _PINION:
        return None
    seat = ShimSeat.UNDER_HEAD_CUP if given.figures["thicker_is_in"] else ShimSeat.UNDER_CAGE_FLANGE
    return depth_step(given, found.move, seat), seat


def _shim_lines(step: tuple[DepthStep, ShimSeat] | None) -> tuple[Line, ...]:
    """The new head shim of this product; add or take only because its seat is known."""
    if step is None:
        return ()
    found, seat = step
    if found.move is None:
        return (Line("head shim", "no step", "", found.says),)
    shim = None if found.pack is None else shim_for_move(found.pack, found.move, found.amount, seat)
    thicker = (found.move is PinionMove.IN) is (seat is ShimSeat.UNDER_HEAD_CUP)
    way = f"{'add' if thicker else 'take out'} {_three(found.amount)} in"
    lines = (
        Line("head shim", way, in_mm(found.amount), f"it sits {seat.value}; {found.says[:1].lower()}{found.says[1:]}"),
    )
    if shim is None or found.pack is None:
        return lines
    return (*lines, Line("head shim pack", f"{_three(found.pack)} -> {_three(shim.new)} in", in_mm(shim.new)))


def _moved(step: tuple[DepthStep, ShimSeat] | None) -> tuple[str, ...]:
    """What was entered as done at the tries before: the pack that is in now is no longer the one that was read."""
    if step is None or step[0].moved == 0:
        return ()
    moved = step[0].moved
    way = "in" if moved > 0 else "out"
    return (f"The pinion was moved {way} by {_three(abs(moved))} in since the head shim pack was read, as entered.",)


def _three(value: Fraction) -> str:
    return f"{float(value):.3f}"


def _other_cut(given: Given, seen: GearCut) -> tuple[str, ...]:
    stated = given.figures.get("card_cut")
    if stated is None or (seen is GearCut.FACE_HOBBED) == bool(stated):
        return ()
    return ("The card's set is cut the other way: look at the gears again before anything is moved.",)
