"""The next preload shim or spacer from the rotating torque of the tries so far.

Formula: steps = (middle of the wanted range - torque) / rate, at least one whole step; rate = change of torque per
shim step, from this axle's last two different shims, else the product's, else one step at a time.
A solid spacer keeps the cones apart: a thinner one gives more preload; other products are the other way round,
so the sense belongs to the product. A crush sleeve that went too far is replaced, never backed off.
Units: one length unit and one torque unit, exact. Validity: torque read turning, no seal, bearings oiled.
Errors: preload rises faster than the shim (power 1/.9 of the squeeze): every step is read again.
Sources: public manuals (TM 10-3930-660-34 family) for the sense of spacer and sleeve; the step rule is arithmetic;
.004 in more on each side than no clearance for carrier bearings: public truck service pages.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from measurements.engineering.gears.pinion import ShimSeat
from measurements.engineering.units import Exact
from measurements.engineering.validity import above_zero, finite, not_below_zero, require


class SpacerSense(Enum):
    """What a thicker shim does to the preload of this product."""

    THICKER_IS_LESS = "thicker is less preload, it keeps the cones apart"
    THICKER_IS_MORE = "thicker is more preload"


@dataclass(frozen=True, slots=True)
class PreloadTry:
    """A preload shim or spacer thickness and the rotating torque read with it, turning."""

    shim: Exact
    torque: Exact


@dataclass(frozen=True, slots=True)
class PreloadStep:
    """The shim to fit next; `shim` is the present one when the torque is right."""

    shim: Fraction
    change: Fraction
    says: str
    per_step: Fraction | None = None


def next_preload(
    tries: Sequence[PreloadTry],
    wanted: tuple[Exact, Exact],
    step: Exact,
    per_step: Exact | None = None,
    sense: SpacerSense = SpacerSense.THICKER_IS_LESS,
    read_to: Exact = Fraction(0),
) -> PreloadStep:
    """The next preload shim from this axle's tries.

    `wanted` is the card's range; `step` the shim step. `per_step` is the product's own change of torque per
    step when it is known. Two tries with different shims give the axle's own rate, which is then used; with
    neither, one step is made. `read_to` is the step the wrench is read to: torques closer than two of them may
    differ by reading alone and teach no rate. The aim is the middle of the range; preload is no straight line, so every
    step is read again.
    """
    require(bool(tries), "There is no rotating torque yet to go on from.", field="tries")
    above_zero("shim step", step)
    not_below_zero("step of the wrench", read_to)
    low, high = Fraction(wanted[0]), Fraction(wanted[1])
    require(0 <= low <= high, "The wanted range must not be below zero nor upside down.", field="wanted")
    for one in tries:
        not_below_zero("rotating torque", one.torque)
        not_below_zero("preload shim", one.shim)
    last = tries[-1]
    shim, torque = Fraction(last.shim), Fraction(last.torque)
    if low <= torque <= high:
        return PreloadStep(shim, Fraction(0), "The rotating torque is inside its range: leave the shim.")
    rate = _own_rate(tries, Fraction(step), sense, Fraction(read_to))
    rate = Fraction(per_step) if rate is None and per_step is not None else rate
    steps = _whole_steps((low + high) / 2 - torque, rate)
    sign = -1 if sense is SpacerSense.THICKER_IS_LESS else 1
    change = sign * steps * Fraction(step)
    require(
        shim + change >= 0,
        "There is not so much shim left to take out: check bearings and spacer.",
        field="shim",
    )
    way = "More" if steps > 0 else "Less"
    return PreloadStep(
        shim + change,
        change,
        f"{way} preload is needed: a {'thicker' if change > 0 else 'thinner'} shim ({sense.value}). "
        "Never back a crush sleeve off: fit a new one.",
        rate,
    )


def _own_rate(tries: Sequence[PreloadTry], step: Fraction, sense: SpacerSense, read_to: Fraction) -> Fraction | None:
    """Torque per step of more preload from two different shims; None when they say nothing usable."""
    last = tries[-1]
    other = next((one for one in reversed(tries) if one.shim != last.shim), None)
    if other is None:
        return None
    gained = Fraction(last.torque) - Fraction(other.torque)
    if abs(gained) < 2 * read_to:
        return None
    slope = gained / (Fraction(last.shim) - Fraction(other.shim))
    rate = slope * step * (-1 if sense is SpacerSense.THICKER_IS_LESS else 1)
    return rate if rate > 0 else None


def _whole_steps(gap: Fraction, rate: Fraction | None) -> int:
    """Whole steps of more (plus) or less preload, at least one; one when no rate is known."""
    sign = 1 if gap > 0 else -1
    if rate is None:
        return sign
    above_zero("change of torque per step", rate)
    return sign * max(1, round(abs(gap) / rate))


def spacer_change_for_head_shim(head_shim_change: Exact, seat: ShimSeat) -> Fraction:
    """What the preload pack must change by to keep the preload when the depth shim changes.

    A shim under the head-bearing cup moves that cup and so the distance between the cups: the cones must
    follow by the same amount. A shim under a cage flange moves the whole cage: nothing changes.
    Source: geometry of the layout (calculated).
    """
    finite("change of the head shim", head_shim_change)
    return Fraction(head_shim_change) if seat is ShimSeat.UNDER_HEAD_CUP else Fraction(0)


def shim_for_preload(shim: Exact, play: Exact, preload: Exact) -> Fraction:
    """A side or spacer shim that turns a measured end play into a preload length: shim + play + preload.

    For a shim that fills the gap beside a bearing (carrier side): thicker is more preload.
    """
    not_below_zero("shim now", shim)
    not_below_zero("end play", play)
    not_below_zero("preload wanted", preload)
    return Fraction(shim) + Fraction(play) + Fraction(preload)
