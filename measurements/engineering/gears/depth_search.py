"""The next pinion depth from the tries so far: big steps until the answer is bracketed, then halves.

Method: positions are counted inward (plus: pinion further in). Too far out asks for more,
too deep for less.
With only one side known the next try is one full step on; with both, the middle, on whole shim steps.
Units: one length unit, exact. Validity: the tries must not contradict one another (a depth called too deep
must lie further in than every depth called too far out).
Source: common practice; one army manual (TM 9-2320-266-34 ch. 19) steps .004 in, shims are sold .003 .005
.010.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from measurements.engineering.gears.pinion import PinionMove
from measurements.engineering.units import Exact
from measurements.engineering.validity import above_zero, require


class DepthVerdict(Enum):
    """What the pattern of a try said of the depth."""

    TOO_FAR_OUT = "too far out"
    TOO_DEEP = "too deep"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class DepthTry:
    """A position (plus: further in) and what its pattern said."""

    inward: Exact
    verdict: DepthVerdict


@dataclass(frozen=True, slots=True)
class NextDepth:
    """Where to go from the last try; no move when it is right or when no shim lies between."""

    inward: Fraction
    move: PinionMove | None
    amount: Fraction
    says: str


def next_depth(tries: Sequence[DepthTry], step: Exact, shim_step: Exact) -> NextDepth:
    """The next position to try: `step` while one side is open, then halves rounded to `shim_step`."""
    require(bool(tries), "There is no try yet to go on from.", field="tries")
    above_zero("step", step)
    above_zero("shim step", shim_step)
    last = tries[-1]
    if last.verdict is DepthVerdict.RIGHT:
        return NextDepth(Fraction(last.inward), None, Fraction(0), "The depth is right.")
    out = max((Fraction(t.inward) for t in tries if t.verdict is DepthVerdict.TOO_FAR_OUT), default=None)
    deep = min((Fraction(t.inward) for t in tries if t.verdict is DepthVerdict.TOO_DEEP), default=None)
    if out is None or deep is None:
        base = Fraction(step) + out if out is not None else (deep or Fraction(0)) - Fraction(step)
        return _to(last, base, "One full step; the other side is not known yet.")
    require(out < deep, "The tries contradict one another: read the last two patterns again.", field="tries")
    steps = int((deep - out) / (2 * Fraction(shim_step)))
    if steps == 0:
        return NextDepth(
            Fraction(last.inward),
            None,
            Fraction(0),
            "No shim lies between the two tries: ask the lead builder.",
        )
    return _to(last, out + steps * Fraction(shim_step), "Between the last too far out and the last too deep.")


def _to(last: DepthTry, inward: Fraction, says: str) -> NextDepth:
    way = inward - Fraction(last.inward)
    return NextDepth(inward, PinionMove.IN if way > 0 else PinionMove.OUT, abs(way), says)
