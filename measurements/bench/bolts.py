"""At a bolt circle: the order, the passes, and what the wrench is set to.

Arithmetic and sources: measurements.engineering.tightening.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone, unknown
from measurements.bench.given import Given, figure
from measurements.bench.lubricants import OF_CARD, Relubricated, relubricated
from measurements.bench.lubricants import SOURCE as FACTORS
from measurements.engineering.limits import Limits, plain
from measurements.engineering.tightening import Pass, extension_setting, tightening_passes
from measurements.engineering.units import convert
from measurements.engineering.validity import OutsideValidity

SOURCE = "order: common practice; passes and a last one round the circle: ASME PCC-1 in idea; extension: TM 9-254"
#: Two bolts of a cap make no circle worth drawing.
FEWEST_DRAWN = 4
CAUTION = ("Pull, do not push. An over-torqued bolt is replaced, never pulled again.",)


def bolt_circle(given: Given) -> Answer:
    """Roles: torque (ft-lb), for its limits and for what is read; may have lubricant, a choice. Figures: count of
    bolts; wrench, extension (in, one with the other) and angle (degrees) may be left out; nut_factor, what the torque
    of the card is for, is needed for another lubricant; ticked, how many of the first passes the card has ticked.
    """
    limits, count = given.limits.get("torque", Limits()), int(given.figures["count"])
    if limits.low is None or limits.high is None:
        return unknown("The bolts: not to be told.", "No two limits are given for the torque.")
    target = (Fraction(limits.low) + Fraction(limits.high)) / 2
    other, passes = _other(given, target), tightening_passes(count, float(target))
    left = [str(bolt) for bolt in passes[-1].order if given.at("torque", str(bolt)) is None]
    order = " ".join(map(str, passes[0].order))
    if other is not None:
        says, tone = _said_of(other, limits)
    elif left:
        says, tone = f"Set {_torque(_setting(given, target))}. Tighten in this order: {order}.", Tone.DO
    else:
        says, tone = f"All {count} bolts are read.", Tone.KNOW
    return Answer(
        says,
        tone,
        (
            Line("torque", _torque(target), _metric(target)),
            *_corrected(given, target),
            *_with_other(other),
            *(_pass(one, given, number) for number, one in enumerate(passes, 1)),
        ),
        reason=(
            *(("The limits of the card stay: a figure outside them is judged by them.",) if other else ()),
            "Rising passes across the circle draw the faces down evenly; the last pass finds what has given way.",
            *_at_the_bolt(given, target),
            *((f"No figure yet: {', '.join(left)}.",) if left and len(left) < count else ()),
        ),
        worked=(
            f"middle of the limits = {_torque(target)}",
            *_extension_worked(given, target),
            *((other.worked,) if other else ()),
        ),
        assumed=_assumed(given, other),
        source=SOURCE if other is None else f"{SOURCE}; {FACTORS}",
        validity="1 to 100 bolts on one circle, tightened cold",
        caution=CAUTION,
        picture=None if count < FEWEST_DRAWN else Picture("bolts", _drawn(given, passes[0].order, target)),
    )


def _drawn(given: Given, order: Sequence[int], target: Fraction) -> dict[str, object]:
    return {"order": list(order), "count": len(order), "torque": _torque(_setting(given, target))}


def _other(given: Given, target: Fraction) -> Relubricated | None:
    """What the lubricant that is on the threads makes of the torque; None where it is the card's, or is not said."""
    word, factor = given.word("lubricant"), given.figures.get("nut_factor")
    if word in ("", OF_CARD):
        return None
    if factor is None:
        raise OutsideValidity(f"The card does not say what nut factor its torque is for, and {word} is another.")
    found = relubricated(word, target, factor)
    if found is None:
        raise OutsideValidity(f"No nut factor is known for {word}: take its data sheet to the engineer.")
    return found


def _said_of(other: Relubricated, limits: Limits) -> tuple[str, Tone]:
    assert limits.low is not None
    assert limits.high is not None
    span = f"{figure(other.low, 0)} to {figure(other.high, 0, 'ft-lb')}"
    if limits.low <= other.low and other.high <= limits.high:
        return f"With {other.name} the same clamp takes {span}: the card's torque still holds.", Tone.GO
    return (
        f"With {other.name} the same clamp takes {span}, and the card's torque is for another lubricant:"
        " clean the threads and use the card's, or ask the engineer.",
        Tone.STOP,
    )


def _with_other(other: Relubricated | None) -> tuple[Line, ...]:
    if other is None:
        return ()
    span = f"{figure(other.low, 0)} to {figure(other.high, 0, 'ft-lb')}"
    return (Line(f"with {other.name}", span, f"{_metric(other.low)} to {_metric(other.high)}", "for the same clamp"),)


def _assumed(given: Given, other: Relubricated | None) -> tuple[str, ...]:
    said = "The lubricant that this torque is for; another one is another torque for the same clamp."
    if other is not None:
        said = (
            f"The card's torque is for a nut factor of {plain(given.figures['nut_factor'])}; a lot's data sheet comes"
            " before the range."
        )
    square = "No extension square to the grip: it would change the setting."
    return (said,) if "extension" in given.figures else (said, square)


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


def _at_the_bolt(given: Given, target: Fraction) -> tuple[str, ...]:
    """What is entered is the torque at the bolt, which is not what a wrench with an extension shows."""
    setting = _setting(given, target)
    if setting == target:
        return ()
    return (f"Enter the torque at the bolt: {figure(target / setting, 3)} times what the wrench shows.",)


def _extension_worked(given: Given, target: Fraction) -> tuple[str, ...]:
    setting = _setting(given, target)
    return () if setting == target else (f"setting = T · L / (L + E · cos θ) = {_torque(setting)}",)


def _pass(one: Pass, given: Given, number: int) -> Line:
    """One pass, as the wrench is set for it, and what is entered of it."""
    name = "last pass, round the circle" if one.figure else f"pass at {one.share:.0%}"
    ticked = "tick each bolt" if number <= given.figures.get("ticked", 0) else ""
    setting = _setting(given, Fraction(one.torque))
    return Line(name, _torque(setting), _metric(setting), "enter each figure" if one.figure else ticked)


def _torque(value: Fraction) -> str:
    return figure(value, 0, "ft-lb")


def _metric(value: Fraction) -> str:
    return figure(convert(value, "ft-lb", "N·m"), 0, "N·m")
