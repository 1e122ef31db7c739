"""At the gear bench: the next preload shim from the rotating torque, turning.

Arithmetic and sources: measurements.engineering.bearings.preload.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Tone, unknown
from measurements.bench.given import Given, figure, in_mm
from measurements.engineering.bearings.preload import PreloadStep, PreloadTry, SpacerSense, next_preload
from measurements.engineering.limits import Limits, plain

SOURCE = "sense of spacer and sleeve: public manuals (TM 10-3930-660-34 family); the step rule is arithmetic"
CAUTION = ("Hold the flange with a bar made for it. Read while turning, never the starting torque.",)


def preload_step(given: Given) -> Answer:
    """Roles: torque (in-lb, turning, no seal); may have pack, the preload shim pack (in), and head, the head shim pack.
    Figures: step of the shims (in), read_to of the wrench (in-lb), thicker_is_less 1 or 0. Tries: this axle's own.
    """
    torque, pack = given.one("torque"), given.one("pack")
    limits = given.limits.get("torque", Limits())
    if torque is None or limits.low is None or limits.high is None:
        return unknown("Preload: not to be told.", "No two limits are given for the rotating torque.")
    span = f"{plain(limits.low)} to {plain(limits.high)} in-lb"
    if limits.low <= torque <= limits.high:
        says, tone, step = f"Leave the preload shim: {plain(torque)} in-lb lies in {span}.", Tone.GO, None
    elif pack is None:
        return unknown("Preload: not to be told yet.", "The preload shim pack is not read yet.")
    else:
        step = _next(given, PreloadTry(pack, torque), (limits.low, limits.high))
        way = "thicker" if step.change > 0 else "thinner"
        says, tone = (
            f"{plain(torque)} in-lb is not in {span}: make the preload pack {figure(abs(step.change), 3, 'in')} {way},"
            f" {figure(step.shim, 3, 'in')}.",
            Tone.DO,
        )
    return Answer(
        says,
        tone,
        _lines(step),
        reason=() if step is None else (step.says, "Preload is no straight line: read again after every step."),
        worked=_worked(given, step, limits),
        assumed=("Bearings seated by turning and oiled, no seal, nut at torque.", *_rate(step)),
        source=SOURCE,
        validity="torque read turning; a solid spacer or shims, no crush sleeve",
        caution=CAUTION,
    )


def _next(given: Given, now: PreloadTry, wanted: tuple[Decimal, Decimal]) -> PreloadStep:
    sense = SpacerSense.THICKER_IS_LESS if given.figures["thicker_is_less"] else SpacerSense.THICKER_IS_MORE
    return next_preload(
        _tries(given) or [now],
        wanted,
        given.figures["step"],
        sense=sense,
        read_to=given.figures["read_to"],
    )


def _tries(given: Given) -> list[PreloadTry]:
    """Tries with the head shim of now: another head shim moves the cups, and the pack means another preload."""
    found, head = list[PreloadTry](), given.one("head")
    for one in given.tries:
        told = Given(readings=one)
        pack, torque = told.one("pack"), told.one("torque")
        if pack is not None and torque is not None and told.one("head") == head:
            found.append(PreloadTry(pack, torque))
    return found


def _lines(step: PreloadStep | None) -> tuple[Line, ...]:
    if step is None:
        return ()
    was = Fraction(step.shim) - step.change
    return (Line("preload shim pack", f"{figure(was, 3)} -> {figure(step.shim, 3)} in", in_mm(step.shim)),)


def _rate(step: PreloadStep | None) -> tuple[str, ...]:
    if step is None:
        return ()
    if step.per_step is None:
        return ("One step at a time: this axle has not shown yet what a step does.",)
    return (f"One step changes the torque by {figure(step.per_step, 1, 'in-lb')}, as this axle's own tries show.",)


def _worked(given: Given, step: PreloadStep | None, limits: Limits) -> tuple[str, ...]:
    if step is None or step.per_step is None or limits.low is None or limits.high is None:
        return ()
    middle = (Fraction(limits.low) + Fraction(limits.high)) / 2
    return (
        f"steps = ({figure(middle, 1)} - {figure(given.values('torque')[0], 1)}) / {figure(step.per_step, 1)},"
        f" of {plain(given.figures['step'])} in each",
    )
