"""Side shims: which way, how much, and what backlash to expect; the preload sum is kept.

Formula: with k = change of backlash per unit of shim moved from one side to the other,
  move = (have - want) / k, taken from one side and given to the other, exactly alike;
  zero-lash stacks L0 (ring side), R0 (other side), lash j, preload p, d = j/k:
  L = L0 - d + p/2, R = R0 + d + p/2, so L + R = L0 + R0 + p whatever j is.
More shim on the ring side pushes the ring gear toward the pinion: less backlash (TM 9-2320-289-34).
"Toward" and "away" always mean the ring gear toward or away from the pinion.
Units: lengths in one unit for all; exact fractions in and out, so nothing is lost between the sides.
Validity: k 0.3 to 1.3 (flank angles 14.5 to 25 degrees, any way of reading); backlash above zero.
Errors: k carries its range; so does the expected backlash. Read with caps at final torque and preload present.
Source: ratio of two public truck manuals .5 (.002 in for .001 in) and .667 (.003 for .002); geometry .63 to
.81
at 18 to 22.5 degrees and ratio 4.3 (calculated); start .65 with .5 to .8 is a proposal of this shop.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from statistics import median
from typing import Self

from measurements.engineering.gears.backlash import DialSet, Flank, Teeth, backlash_per_shift
from measurements.engineering.units import Exact, convert
from measurements.engineering.validity import above_zero, between, not_below_zero, require, shown

LEAST_FACTOR, MOST_FACTOR = Fraction("0.3"), Fraction("1.3")
GEOMETRY_SPAN = Fraction("0.15")  # share either side of a factor from the card's angles; proposal, no source


class RingMove(Enum):
    """Which way the ring gear goes, seen from the pinion."""

    TOWARD = "toward the pinion"
    AWAY = "away from the pinion"
    NONE = "leave it"


@dataclass(frozen=True, slots=True)
class ShimFactor:
    """Backlash gained per unit of shim moved, its range, and where it comes from."""

    likely: Fraction
    low: Fraction
    high: Fraction
    origin: str

    def __post_init__(self) -> None:
        between("shim factor", self.likely, LEAST_FACTOR, MOST_FACTOR)
        require(
            self.low <= self.likely <= self.high and self.low > 0,
            "The range of a shim factor must be above zero and hold the factor itself.",
            field="shim factor",
        )


START = ShimFactor(
    Fraction("0.65"), Fraction("0.5"), Fraction("0.8"), "start value of this shop (proposal), not learnt yet"
)


def factor_of_geometry(teeth: Teeth, dial: DialSet, flank: Flank = Flank.DRIVE) -> ShimFactor:
    """The factor from the card's angles, with 15 % either side for mounting and dial set-up."""
    likely = Fraction(Decimal(repr(round(backlash_per_shift(teeth, dial, flank), 6))))
    return ShimFactor(
        likely,
        likely * (1 - GEOMETRY_SPAN),
        likely * (1 + GEOMETRY_SPAN),
        f"tooth geometry, read {dial.value}",
    )


@dataclass(frozen=True, slots=True)
class ShimTry:
    """One try: the shim on the ring side and the mean backlash read with it."""

    ring_side: Exact
    backlash: Exact


def learnt_factor(tries: Sequence[ShimTry], start: ShimFactor, read_to: Exact) -> ShimFactor:
    """The axle's own factor from its tries since the pinion was last moved, else `start` with the reason.

    Slope of backlash against shim by least squares (two tries: plainly difference over difference). The range
    is the worst case when each backlash is off by `read_to`: read_to * sum|c_i| with the slope's weights c_i.
    A move too small for the dial, or a slope no gear gives, teaches nothing.
    """
    above_zero("figure the dial repeats to", read_to)
    shims = [Fraction(one.ring_side) for one in tries]
    if len(set(shims)) < 2:
        return start
    middle = sum(shims, Fraction(0)) / len(shims)
    squares = sum(((shim - middle) ** 2 for shim in shims), Fraction(0))
    weights = [(shim - middle) / squares for shim in shims]
    slope = sum((-w * Fraction(one.backlash) for w, one in zip(weights, tries, strict=True)), Fraction(0))
    half = Fraction(read_to) * sum(map(abs, weights), Fraction(0))
    if not LEAST_FACTOR <= slope <= MOST_FACTOR:
        return _kept(start, f"the tries say {shown(round(slope, 2))}, which no gear gives: check shims and dial")
    if half > (start.high - start.low) / 2:
        return _kept(start, "the moves so far are too small to learn from")
    low, high = max(slope - half, LEAST_FACTOR / 2), slope + half
    return ShimFactor(slope, low, high, f"this axle's own {len(tries)} tries")


def _kept(start: ShimFactor, reason: str) -> ShimFactor:
    return ShimFactor(start.likely, start.low, start.high, f"{start.origin}; {reason}")


def product_factor(slopes: Sequence[Exact]) -> ShimFactor:
    """What a product really shows: the median of the factors its axles learnt, with smallest and largest."""
    require(len(slopes) >= 3, "A product's own factor needs the factors of at least 3 axles.", field="slopes")
    exact = [Fraction(slope) for slope in slopes]
    return ShimFactor(Fraction(median(exact)), min(exact), max(exact), f"{len(exact)} axles of this product")


@dataclass(frozen=True, slots=True)
class ShimMove:
    """What to move and what to expect afterwards."""

    move: RingMove
    amount: Fraction
    expected: Fraction
    expected_low: Fraction
    expected_high: Fraction
    ring_side_change: Fraction
    other_side_change: Fraction
    factor: ShimFactor
    caution: str = ""


def shim_move(have: Exact, want: Exact, factor: ShimFactor, step: Exact | None = None) -> ShimMove:
    """The move that brings the mean backlash from `have` to `want`, rounded to the drawer's `step`."""
    not_below_zero("backlash read", have)
    above_zero("backlash wanted", want)
    gap = Fraction(have) - Fraction(want)
    amount = abs(gap) / factor.likely
    if step is not None:
        above_zero("shim step", step)
        amount = round(amount / Fraction(step)) * Fraction(step)
    sign = (gap > 0) - (gap < 0) if amount else 0
    reached = [Fraction(have) - sign * amount * k for k in (factor.likely, factor.low, factor.high)]
    return ShimMove(
        move={1: RingMove.TOWARD, -1: RingMove.AWAY, 0: RingMove.NONE}[sign],
        amount=amount,
        expected=reached[0],
        expected_low=min(reached),
        expected_high=max(reached),
        ring_side_change=sign * amount,
        other_side_change=-sign * amount,
        factor=factor,
        caution=_caution(min(reached)),
    )


def _caution(lowest: Fraction) -> str:
    if lowest > 0:
        return ""
    return "At the high end of the range the gears would bind: move half of it first, then read again."


def expected_range_after(have: Exact, moved_toward: Exact, factor: ShimFactor) -> tuple[Fraction, Fraction]:
    """Smallest and largest backlash to expect after a stated move (negative: away)."""
    ends = [Fraction(have) - Fraction(moved_toward) * k for k in (factor.low, factor.high)]
    return min(ends), max(ends)


@dataclass(frozen=True, slots=True)
class SideShims:
    """The two packs: ring side (behind the ring gear's back face) and the other side."""

    ring: Fraction
    other: Fraction

    def __post_init__(self) -> None:
        not_below_zero("shim on the ring side", self.ring)
        not_below_zero("shim on the other side", self.other)

    @classmethod
    def from_inches(cls, ring_in: Exact, other_in: Exact) -> Self:
        """Packs read in inches, kept in millimetres (exact)."""
        return cls(convert(ring_in, "in", "mm"), convert(other_in, "in", "mm"))

    def in_inches(self) -> tuple[Fraction, Fraction]:
        """Ring side and other side of millimetre packs, in inches (exact)."""
        return convert(self.ring, "mm", "in"), convert(self.other, "mm", "in")

    @property
    def total(self) -> Fraction:
        """The sum that carries the preload."""
        return self.ring + self.other

    def moved(self, toward: Exact) -> Self:
        """Shim moved so that the ring gear goes toward the pinion (negative: away); the sum stays."""
        return type(self)(self.ring + Fraction(toward), self.other - Fraction(toward))

    def preloaded(self, preload: Exact) -> Self:
        """Half of the preload added to each side: the backlash stays."""
        not_below_zero("side preload", preload)
        return type(self)(self.ring + Fraction(preload) / 2, self.other + Fraction(preload) / 2)


def side_shims(zero_lash: SideShims, backlash: Exact, preload: Exact, factor: Exact) -> SideShims:
    """The packs for a backlash and a side preload from the zero-lash stacks (formula of the module)."""
    not_below_zero("backlash", backlash)
    between("shim factor", factor, LEAST_FACTOR, MOST_FACTOR)
    return zero_lash.moved(-Fraction(backlash) / Fraction(factor)).preloaded(preload)
