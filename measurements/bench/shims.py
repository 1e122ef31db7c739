"""At the gear bench: from the trial backlash, which way the ring gear goes, how much, and what to expect.

Arithmetic and sources: measurements.engineering.gears.shims and .drawer.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Tone, unknown
from measurements.bench.given import Given, Value, figure, in_mm, mean
from measurements.engineering.gears.drawer import choose_pack
from measurements.engineering.gears.shims import (
    START,
    RingMove,
    ShimFactor,
    ShimMove,
    ShimTry,
    SideShims,
    learnt_factor,
    shim_move,
)
from measurements.engineering.limits import Limits, plain
from measurements.engineering.validity import OutsideValidity

SOURCE = (
    "ratio 0.5 and 0.667 of two public truck manuals, 0.63 to 0.81 by bevel geometry (calculated); 0.65 to start with"
    " is a proposal of this shop; more shim on the ring side is less backlash: TM 9-2320-289-34"
)
CAUTION = ("Hands clear of the mesh. Lift the carrier with an aid; spread the housing no more than its limit.",)
SIZES = ("size_1", "size_2", "size_3", "size_4")


def shim_advice(given: Given) -> Answer:
    """Roles: backlash (in, each point of the trial); may have packs (left and right side shim pack, in) and head (head
    shim pack, in). Figures: step of the drawer (in), read_to of the dial (in), ring_on_left 1 or 0; size_1 to size_4
    of the drawer may be left out. Tries: this axle's own, the one in hand the last.
    """
    limits = given.limits.get("backlash", Limits())
    if limits.low is None or limits.high is None:
        return unknown("Side shims: not to be told.", "No two limits are given for the backlash.")
    points = given.values("backlash")
    have, want = mean(points), (Fraction(limits.low) + Fraction(limits.high)) / 2
    factor = _factor(given)
    move = shim_move(have, want, factor, given.figures["step"])
    inside = all(limits.low <= point <= limits.high for point in points)
    if inside:
        says, tone = f"Leave the side shims: backlash {figure(have, 4, 'in')} lies in its limits.", Tone.GO
    else:
        says, tone = _said(move, have, want)
    return Answer(
        says,
        tone,
        _lines(given, move, have, want) if tone is Tone.DO else (Line("mean backlash", figure(have, 4, "in")),),
        reason=((move.caution,) if move.caution and not inside else ())
        + ("What one side gets the other gives, so the preload of the side bearings stays.",),
        worked=(
            f"move = ({figure(have, 4)} - {figure(want, 4)}) / {_two(factor.likely)}, to the step of"
            f" {plain(given.figures['step'])} in = {figure(move.amount, 3, 'in')}",
        ),
        assumed=(
            f"Factor {_two(factor.likely)}, {_two(factor.low)} to {_two(factor.high)}: {factor.origin}.",
            f"Mean of {len(points)} points, caps at torque; ring gear on the {_ring_side(given)}, as stated.",
        ),
        source=SOURCE,
        validity="factor 0.3 to 1.3; read with caps at torque and preload present",
        caution=CAUTION,
    )


def _said(move: ShimMove, have: Fraction, want: Fraction) -> tuple[str, Tone]:
    if move.move is RingMove.NONE:
        return (
            f"No side shim: the mean {figure(have, 4)} is right and a point is outside. Look at the round.",
            Tone.STOP,
        )
    return (
        f"Move {figure(move.amount, 3, 'in')} so that the ring gear goes {move.move.value}: expect"
        f" {figure(move.expected_low, 4)} to {figure(move.expected_high, 4)} in, {figure(want, 4)} is wanted.",
        Tone.DO,
    )


def _lines(given: Given, move: ShimMove, have: Fraction, want: Fraction) -> tuple[Line, ...]:
    ring = _ring_side(given)
    other = "right" if ring == "left" else "left"
    give, take = (ring, other) if move.move is RingMove.TOWARD else (other, ring)
    lines = [
        Line("mean backlash", figure(have, 4, "in"), in_mm(have), f"wanted {figure(want, 4)} in"),
        Line("from one side to the other", figure(move.amount, 3, "in"), in_mm(move.amount), f"{take} to {give}"),
    ]
    now = _packs(given.readings.get("packs", {}), ring)
    if now is None:
        return (*lines, Line("packs", "not read yet", "", "side shim pack, left and right"))
    try:
        new = now.moved(move.ring_side_change)
    except OutsideValidity as outside:
        return (*lines, Line("packs", "cannot be made", "", outside.text))
    for side, was, becomes in ((ring, now.ring, new.ring), (other, now.other, new.other)):
        note = _pack(given, becomes)
        lines.append(Line(f"{side} pack", f"{figure(was, 3)} -> {figure(becomes, 3)} in", in_mm(becomes), note))
    return tuple(lines)


def _pack(given: Given, target: Fraction) -> str:
    """The pieces for a pack, where the drawer's sizes are known."""
    sizes = [given.figures[name] for name in SIZES if name in given.figures]
    if not sizes or target == 0:
        return ""
    try:
        return "from the drawer " + " + ".join(figure(piece, 3) for piece in choose_pack(target, sizes).pieces)
    except OutsideValidity as outside:
        return outside.text


def _ring_side(given: Given) -> str:
    return "left" if given.figures["ring_on_left"] else "right"


def _packs(read: Mapping[str, Value], ring: str) -> SideShims | None:
    packs = {side: value for side, value in read.items() if isinstance(value, Decimal)}
    if not {"left", "right"} <= packs.keys():
        return None
    return SideShims(Fraction(packs[ring]), Fraction(packs["right" if ring == "left" else "left"]))


def _factor(given: Given) -> ShimFactor:
    """This axle's own, from its tries since the pinion was last moved; else the start value."""
    ring, found = _ring_side(given), list[ShimTry]()
    head = given.one("head")
    for one in given.tries:
        told = Given(readings=one)
        pack, points = told.at("packs", ring), told.values("backlash")
        if told.one("head") == head and pack is not None and points:
            found.append(ShimTry(pack, mean(points)))
    return learnt_factor(found, START, given.figures["read_to"])


def _two(value: Fraction) -> str:
    return figure(value, 2)
