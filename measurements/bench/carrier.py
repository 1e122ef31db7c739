"""At the last look: what the carrier bearings add to the pinion's rotating torque, and what they turn with themselves.

Arithmetic and sources: measurements.engineering.bearings.rotating_torque.
"""

from __future__ import annotations

from fractions import Fraction

from measurements.bench.answer import Answer, Line, Tone, unknown
from measurements.bench.given import Given, figure
from measurements.engineering.bearings.rotating_torque import carrier_torque
from measurements.engineering.limits import Limits, plain
from measurements.engineering.units import convert

SOURCE = "torque over the ratio of the gears; read turning (TM 10-3930-660-34 and TM 9-2320-302-34)"
CAUTION = ("Hands clear of the mesh. Hold the flange with a bar made for it.",)


def carrier_share(given: Given) -> Answer:
    """Roles: total (in-lb, carrier in, turning) and pinion (in-lb, alone, turning); may have rise (in-lb), for its
    limits and for what was entered. Facts: ring_teeth and pinion_teeth of the ratio chosen.
    """
    total, pinion, limits = given.one("total"), given.one("pinion"), given.limits.get("rise", Limits())
    teeth = given.fact("ring_teeth"), given.fact("pinion_teeth")
    if total is None or pinion is None or not all(teeth):
        return unknown("The carrier's share: not to be told.", "The teeth of this ratio are not on the card.")
    if limits.low is None or limits.high is None:
        return unknown("The carrier's share: not to be told.", "No two limits are given for the rise.")
    ratio, rise = Fraction(teeth[0]) / Fraction(teeth[1]), Fraction(total) - Fraction(pinion)
    own, entered = carrier_torque(pinion, total, ratio), given.one("rise")
    says, tone = _said(rise, limits, span=f"{plain(limits.low)} to {plain(limits.high)} in-lb")
    if entered is not None and Fraction(entered) != rise:
        says, tone = (
            f"{plain(total)} less {plain(pinion)} is {_shown(rise)} in-lb and {plain(entered)} is entered:"
            " look at the three figures again.",
            Tone.STOP,
        )
    return Answer(
        says,
        tone,
        (
            Line("rise at the pinion", f"{_shown(rise)} in-lb", _metric(rise)),
            Line("carrier bearings alone", figure(own, 1, "in-lb"), _metric(own), f"at the ring gear, {_ratio(teeth)}"),
        ),
        reason=(
            "What the carrier bearings turn with reaches the pinion divided by the ratio.",
            "Both side packs change alike, so the backlash stays; read it again all the same.",
        ),
        worked=(
            f"rise = {plain(total)} - {plain(pinion)} = {_shown(rise)} in-lb",
            f"carrier = {_shown(rise)} · {_ratio(teeth)} = {figure(own, 1, 'in-lb')}",
        ),
        assumed=("Both torques read turning, by the same wrench, no seal on the pinion; nothing drags in the mesh.",),
        source=SOURCE,
        validity="ratio 1 to 15; solid spacers or shims at both side bearings",
        caution=CAUTION,
    )


def _said(rise: Fraction, limits: Limits, *, span: str) -> tuple[str, Tone]:
    assert limits.low is not None
    assert limits.high is not None
    if limits.low <= rise <= limits.high:
        return f"The carrier adds {_shown(rise)} in-lb at the pinion, {span} is wanted.", Tone.GO
    way = "more side preload, both packs thicker" if rise < limits.low else "less side preload, both packs thinner"
    return f"The carrier adds {_shown(rise)} in-lb and not {span}: {way} alike, one step, then read again.", Tone.DO


def _shown(value: Fraction) -> str:
    return figure(value, 0) if value.denominator == 1 else figure(value, 1)


def _ratio(teeth: tuple[str, str]) -> str:
    return f"{teeth[0]}/{teeth[1]}"


def _metric(value: Fraction) -> str:
    return figure(convert(value, "in-lb", "N·m"), 2, "N·m")
