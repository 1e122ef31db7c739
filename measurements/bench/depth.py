"""At the gear bench: how far the pinion goes next, from what this axle's own patterns said before.

Arithmetic and sources: measurements.engineering.gears.depth_search and .pattern.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from measurements.bench.given import Given
from measurements.bench.marks import CUTS, mark_of
from measurements.engineering.gears.depth_search import DepthTry, DepthVerdict, next_depth
from measurements.engineering.gears.pattern import read_pattern
from measurements.engineering.gears.pattern_terms import Move
from measurements.engineering.gears.pinion import PinionMove, ShimSeat

#: The thinnest step that packs are made up in here; shims are sold from .003, and packs differ by .001.
SHIM_STEP = Decimal("0.001")
_VERDICTS = {
    Move.PINION_IN: DepthVerdict.TOO_FAR_OUT,
    Move.PINION_OUT: DepthVerdict.TOO_DEEP,
    Move.NONE: DepthVerdict.RIGHT,
}
_DONE = {"pinion in": 1, "pinion out": -1}


@dataclass(frozen=True, slots=True)
class DepthStep:
    """The next step of depth; no move where no shim lies between. `moved` (plus: in) is what was done before, and
    `pack` the head shim pack with it, None where no pack is read."""

    move: PinionMove | None
    amount: Fraction
    says: str
    moved: Fraction
    pack: Fraction | None


def depth_step(given: Given, move: Move, seat: ShimSeat) -> DepthStep:
    """From the tries with the head shim pack that is read now; what was entered as done lies between them."""
    head, moved, tries = given.one("head"), Fraction(0), list[DepthTry]()
    told = [Given(readings=one) for one in given.tries]
    own = [one for one in told if one.one("head") == head]
    for earlier in own[:-1]:
        verdict = _verdict(earlier)
        if verdict is not None:
            tries.append(DepthTry(moved, verdict))
        moved += _DONE.get(earlier.word("action"), 0) * Fraction(earlier.one("amount") or 0)
    found = next_depth([*tries, DepthTry(moved, _VERDICTS[move])], given.figures["depth_step"], SHIM_STEP)
    thicker = 1 if seat is ShimSeat.UNDER_HEAD_CUP else -1
    pack = None if head is None else Fraction(head) + thicker * moved
    return DepthStep(found.move, found.amount, found.says, moved, pack)


def _verdict(told: Given) -> DepthVerdict | None:
    cut = CUTS.get(told.word("cut"))
    drive, coast = (mark_of(str(told.readings.get("mark", {}).get(flank, ""))) for flank in ("drive", "coast"))
    if cut is None or drive is None or coast is None:
        return None
    return _VERDICTS.get(read_pattern(cut, drive, coast).move)
