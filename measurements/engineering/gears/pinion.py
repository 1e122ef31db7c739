"""Pinion depth: the head shim, the mark on the pinion, and which way a shim moves it.

Formula: shim = C - (MD + m*u) - B. C from the ring-gear axis to the shim seat, MD the mounting distance of the
drawing, m the mark on the pinion with its unit u (.001 in or 0.01 mm), B the head bearing's height.
"In" is toward the ring-gear axis (smaller mounting distance), "out" is away. Say in or out; add or take shim only
when the product says where its shim sits:
  under the head-bearing cup   thicker = pinion in  (toward the ring gear)
  under a bolted cage flange   thicker = pinion out (away)
Marks when a set is changed, both seen in print, so the sign belongs to the product:
  plus needs less shim   new shim = old + (old mark - new mark)*u   TM 9-2320-266-34 ch. 19: +3 needs .003 less
  plus needs more shim   new shim = old + (new mark - old mark)*u   TM 5-3895-369-14 table 5-4: +2 to -1 is
  .003 less
Units: one length unit for all, exact. Validity: shims above zero; marks whole numbers from -30 to +30.
Errors: those of the four lengths, added; check with the depth tool and the pattern.
"""

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from measurements.engineering.units import Exact
from measurements.engineering.validity import above_zero, between, finite, not_below_zero, require, shown

MARK_UNIT_IN = Fraction(1, 1000)
MARK_UNIT_MM = Fraction(1, 100)


class PinionMove(Enum):
    """Which way the pinion goes along its axis."""

    IN = "in, toward the ring gear"
    OUT = "out, away from the ring gear"


class ShimSeat(Enum):
    """Where the depth shim sits on this product."""

    UNDER_HEAD_CUP = "under the head-bearing cup"
    UNDER_CAGE_FLANGE = "under the cage flange"


class MarkSign(Enum):
    """What a plus on the pinion asks of this product's shim."""

    PLUS_NEEDS_LESS = "plus needs less shim"
    PLUS_NEEDS_MORE = "plus needs more shim"


_THICKER_MOVES = {ShimSeat.UNDER_HEAD_CUP: PinionMove.IN, ShimSeat.UNDER_CAGE_FLANGE: PinionMove.OUT}


@dataclass(frozen=True, slots=True)
class DepthShim:
    """A new head shim and what it does."""

    old: Fraction
    new: Fraction
    says: str

    @property
    def change(self) -> Fraction:
        """New minus old: plus is thicker."""
        return self.new - self.old


def shim_for_move(old: Exact, move: PinionMove, amount: Exact, seat: ShimSeat) -> DepthShim:
    """The shim that moves the pinion in or out by an amount on a product with its shim at `seat`."""
    not_below_zero("shim now", old)
    not_below_zero("move of the pinion", amount)
    thicker = _THICKER_MOVES[seat] is move
    new = Fraction(old) + (Fraction(amount) if thicker else -Fraction(amount))
    return _depth_shim(
        old,
        new,
        f"{'Add' if thicker else 'Take out'} {shown(amount)}: the shim sits {seat.value}, "
        f"there a {'thicker' if thicker else 'thinner'} shim moves the pinion {move.value}.",
    )


def move_of_change(change: Exact, seat: ShimSeat) -> PinionMove | None:
    """Which way a change of shim (plus: thicker) moves the pinion; None for no change."""
    finite("change of shim", change)
    if change == 0:
        return None
    thicker = _THICKER_MOVES[seat]
    thinner = PinionMove.OUT if thicker is PinionMove.IN else PinionMove.IN
    return thicker if change > 0 else thinner


def shim_for_marks(old: Exact, old_mark: int, new_mark: int, sign: MarkSign, unit: Exact) -> DepthShim:
    """The first shim to try when a set with another mark goes in; `unit` is the length of one mark."""
    not_below_zero("shim now", old)
    above_zero("unit of the mark", unit)
    for mark in (old_mark, new_mark):
        between("pinion mark", mark, -30, 30)
    marks = new_mark - old_mark if sign is MarkSign.PLUS_NEEDS_MORE else old_mark - new_mark
    new = Fraction(old) + marks * Fraction(unit)
    return _depth_shim(old, new, f"Mark {old_mark:+d} to {new_mark:+d}: on this product {sign.value}.")


def _depth_shim(old: Exact, new: Fraction, says: str) -> DepthShim:
    require(new > 0, f"The new shim would be {shown(new)}: there is nothing left to take out.", field="shim")
    return DepthShim(Fraction(old), new, says)


def depth_shim(
    axis_to_seat: Exact,
    mounting_distance: Exact,
    bearing_height: Exact,
    mark: int = 0,
    unit: Exact = MARK_UNIT_MM,
) -> Fraction:
    """shim = C - (MD + mark*unit) - B for a shim under the head-bearing cup; the mark with its sign."""
    for name, length in (
        ("length from the axis to the seat", axis_to_seat),
        ("mounting distance", mounting_distance),
        ("bearing height", bearing_height),
        ("unit of the mark", unit),
    ):
        above_zero(name, length)
    between("pinion mark", mark, -30, 30)
    shim = Fraction(axis_to_seat) - (Fraction(mounting_distance) + mark * Fraction(unit)) - Fraction(bearing_height)
    require(shim > 0, f"These lengths leave {shown(shim)} for the shim: one of them is wrong.", field="shim")
    return shim


@dataclass(frozen=True, slots=True)
class DepthError:
    """Checking distance read minus wanted (plus: pinion too far out) and the move that mends it."""

    error: Fraction
    move: PinionMove | None


def depth_error(read: Exact, nominal: Exact, mark: int = 0, unit: Exact = MARK_UNIT_IN) -> DepthError:
    """The error of the checking distance; `mark` as a change of that distance, plus is longer."""
    above_zero("checking distance read", read)
    above_zero("checking distance of the drawing", nominal)
    between("pinion mark", mark, -30, 30)
    error = Fraction(read) - (Fraction(nominal) + mark * Fraction(unit))
    if error == 0:
        return DepthError(error, None)
    return DepthError(error, PinionMove.IN if error > 0 else PinionMove.OUT)
