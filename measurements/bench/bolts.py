"""At a bolt circle: the order, the passes, and what the wrench is set to.

Arithmetic and sources: measurements.engineering.tightening.
"""

from __future__ import annotations

from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone, unknown
from measurements.bench.given import Given, figure
from measurements.engineering.limits import Limits
from measurements.engineering.tightening import Pass, extension_setting, tightening_passes
from measurements.engineering.units import convert

SOURCE = "order: common practice; passes and a last one round the circle: ASME PCC-1 in idea; extension: TM 9-254"
CAUTION = ("Pull, do not push. An over-torqued bolt is replaced, never pulled again.",)


def bolt_circle(given: Given) -> Answer:
    """Roles: torque (ft-lb), for its limits and for what is read. Figures: count of bolts; wrench, extension (in, one
    with the other) and angle (degrees) may be left out.
    """
    limits, count = given.limits.get("torque", Limits()), int(given.figures["count"])
    if limits.low is None or limits.high is None:
        return unknown("The bolts: not to be told.", "No two limits are given for the torque.")
    target = (Fraction(limits.low) + Fraction(limits.high)) / 2
    passes = tightening_passes(count, float(target))
    left = [str(bolt) for bolt in passes[-1].order if given.at("torque", str(bolt)) is None]
    order = " ".join(map(str, passes[0].order))
    setting = _setting(given, target)
    if left:
        says, tone = f"Set {_torque(setting)}. Tighten in this order: {order}.", Tone.DO
    else:
        says, tone = f"All {count} bolts are read.", Tone.KNOW
    return Answer(
        says,
        tone,
        (Line("torque", _torque(target), _metric(target)), *_corrected(given, target), *map(_pass, passes)),
        reason=("Rising passes across the circle draw the faces down evenly; the last pass finds what has given way.",)
        + ((f"No figure yet: {', '.join(left)}.",) if left and len(left) < count else ()),
        worked=(f"middle of the limits = {_torque(target)}", *_extension_worked(given, target)),
        assumed=(
            "The lubricant that this torque is for; another one is another torque for the same clamp.",
            *(
                ()
                if "extension" in given.figures
                else ("No extension square to the grip: it would change the setting.",)
            ),
        ),
        source=SOURCE,
        validity="1 to 100 bolts on one circle, tightened cold",
        caution=CAUTION,
        picture=Picture("bolts", {"order": list(passes[0].order), "count": count, "torque": _torque(setting)}),
    )


def _setting(given: Given, target: Fraction) -> Fraction:
    """What the wrench is set to: corrected where the card names a tool with an extension."""
    if "wrench" not in given.figures or "extension" not in given.figures:
        return target
    angle = float(given.figures.get("angle", 0))
    lengths = float(given.figures["wrench"]), float(given.figures["extension"])
    return Fraction(extension_setting(float(target), *lengths, angle))


def _corrected(given: Given, target: Fraction) -> tuple[Line, ...]:
    setting = _setting(given, target)
    if setting == target:
        return ()
    return (Line("wrench set to", _torque(setting), _metric(setting), "with the extension"),)


def _extension_worked(given: Given, target: Fraction) -> tuple[str, ...]:
    setting = _setting(given, target)
    return () if setting == target else (f"setting = T · L / (L + E · cos θ) = {_torque(setting)}",)


def _pass(one: Pass) -> Line:
    name = "last pass, round the circle" if one.figure else f"pass at {one.share:.0%}"
    return Line(
        name, _torque(Fraction(one.torque)), _metric(Fraction(one.torque)), "a figure" if one.figure else "a tick"
    )


def _torque(value: Fraction) -> str:
    return figure(value, 0, "ft-lb")


def _metric(value: Fraction) -> str:
    return figure(convert(value, "ft-lb", "N·m"), 0, "N·m")
