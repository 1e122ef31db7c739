"""At the weld bench: the arc energy as far as it is read, and the travel speed that keeps it in its window.

Arithmetic and sources: measurements.engineering.welds. The qualified procedure stands above it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone, unknown
from measurements.bench.given import Given, figure
from measurements.engineering.limits import Limits, plain
from measurements.engineering.units import convert
from measurements.engineering.welds import arc_energy_kj_in

#: What the arc needs, in the order it is read.
_ARC = {"volts": "the arc volts", "amps": "the arc current", "length": "the length", "arc_time": "the arc time"}


@dataclass(frozen=True, slots=True)
class _Run:
    """One weld as far as it is read. Speed in in/min, energy in kJ/in."""

    position: str
    volts: Decimal | None
    amps: Decimal | None
    speed: Fraction | None
    missing: tuple[str, ...]

    @property
    def power(self) -> Fraction | None:
        """60 U I/1000: divided by the travel speed in in/min it is the arc energy in kJ/in."""
        if self.volts is None or self.amps is None:
            return None
        return arc_energy_kj_in(self.volts, self.amps, Decimal(1))

    @property
    def setting(self) -> str:
        return f"{plain(self.volts or Decimal(0))} V and {plain(self.amps or Decimal(0))} A"

    @property
    def energy(self) -> Fraction | None:
        return None if self.power is None or self.speed is None else self.power / self.speed


Span = tuple[Fraction | None, Fraction | None]


def arc_energy(given: Given) -> Answer:
    """The arc energy of each weld, against the window, and the travel speed that keeps it inside.

    Roles: volts, amps, length (in), arc_time (s); may have speed (in/min) and energy, whose limits are the window
    (kJ/in). Figure: factor, the thermal factor k of the process.
    """
    runs = _runs(given)
    window = given.limits.get("energy", Limits())
    run = _in_question(runs, window)
    if run is None or run.power is None:
        first = runs[0] if runs else _run(given, "")
        missing = (f"{name[0].upper()}{name[1:]} is not read yet{_at(first.position)}." for name in first.missing)
        return unknown("Arc energy: not to be told yet.", *missing)
    span = _speeds(run.power, window, given.limits.get("speed", Limits()))
    says, tone = _said(run, window, span)
    return Answer(
        says,
        tone,
        _lines(given, runs, span),
        reason=("Faster travel gives less energy, slower travel more; volts and amps work the other way.",),
        worked=(
            f"E = 60 · {run.setting.replace(' and', ' ·')} / (1000 · v) = {figure(run.power, 1)} / v, v in in/min",
        ),
        assumed=(
            f"Thermal factor {plain(given.figures['factor'])} as stated; the window is of arc energy, without it.",
        ),
        source="E = 60 U I / v (AWS form); heat input k · E (EN 1011-1 as quoted)",
        validity="a steady arc, 5 to 60 V and 5 to 1500 A; not a pulsed one",
        caution=("Arc eye, fume extraction. Read the meters, not the dial.",),
        picture=_picture(run, window),
    )


def _in_question(runs: Sequence[_Run], window: Limits) -> _Run | None:
    """The weld to speak of: one out of its window, else one half read, else the last one."""
    out = [run for run in runs if run.energy is not None and not _inside(run.energy, window)]
    half = [run for run in runs if run.energy is None and run.power is not None]
    done = [run for run in runs if run.energy is not None]
    return next(iter((*out, *half, *reversed(done))), None)


def _runs(given: Given) -> list[_Run]:
    places = dict.fromkeys(at for role in (*_ARC, "speed") for at in given.readings.get(role, {}))
    return [_run(given, at) for at in places]


def _run(given: Given, at: str) -> _Run:
    length, seconds, speed = (given.at(role, at) for role in ("length", "arc_time", "speed"))
    travel = None if speed is None else Fraction(speed)
    if length is not None and seconds is not None and seconds > 0:
        travel = 60 * Fraction(length) / Fraction(seconds)
    skip = {"length", "arc_time"} if travel is not None else set()
    missing = tuple(name for role, name in _ARC.items() if role not in skip and given.at(role, at) is None)
    return _Run(at, given.at("volts", at), given.at("amps", at), travel, missing)


def _inside(energy: Fraction, window: Limits) -> bool:
    return (window.low is None or energy >= window.low) and (window.high is None or energy <= window.high)


def _speeds(power: Fraction, window: Limits, card: Limits) -> Span:
    """The travel speeds that keep the energy in its window, inside the card's own window of speeds."""
    low = [power / Fraction(one) for one in (window.high,) if one]
    high = [power / Fraction(one) for one in (window.low,) if one]
    low += [Fraction(one) for one in (card.low,) if one is not None]
    high += [Fraction(one) for one in (card.high,) if one is not None]
    return max(low, default=None), min(high, default=None)


def _said(run: _Run, window: Limits, span: Span) -> tuple[str, Tone]:
    travel = f"{_span(span)} at {run.setting}"
    if run.energy is None:
        missing = " and ".join(run.missing)
        are = "are" if len(run.missing) > 1 else "is"
        return f"Travel {travel}{_at(run.position)}: {missing} {are} not read yet.", Tone.KNOW
    told = f"{figure(run.energy, 1, 'kJ/in')}{_at(run.position)}"
    if window.high is not None and run.energy > window.high:
        return f"{told} is above {plain(window.high)}: too hot. Travel {travel}.", Tone.STOP
    if window.low is not None and run.energy < window.low:
        return f"{told} is below {plain(window.low)}: too cold. Travel {travel}.", Tone.STOP
    if window.low is None and window.high is None:
        return f"The arc energy is {told}; no window is given.", Tone.KNOW
    return f"The arc energy of {told} is in its window.", Tone.GO


def _span(span: Span) -> str:
    """Rounded inwards, so that a speed as said is inside."""
    low, high = (None if one is None else one * 10 for one in span)
    if low is not None and high is not None and math.ceil(low) > math.floor(high):
        return "at no speed that is allowed"
    least = "" if low is None else figure(Fraction(math.ceil(low), 10), 1)
    most = "" if high is None else figure(Fraction(math.floor(high), 10), 1)
    if least and most:
        return f"{least} to {most} in/min"
    if not least and not most:
        return "at any speed"
    return f"at {'least' if least else 'most'} {least or most} in/min"


def _at(position: str) -> str:
    return f" at {position}" if position else ""


def _lines(given: Given, runs: Sequence[_Run], span: Span) -> tuple[Line, ...]:
    factor = Fraction(given.figures["factor"])
    lines = []
    for run in runs:
        if run.energy is None or run.speed is None:
            continue
        heat = figure(factor * convert(run.energy, "kJ/in", "kJ/mm"), 2, "kJ/mm")
        name = f"arc energy, {run.position}" if run.position else "arc energy"
        note = f"heat input {heat}; travel {figure(run.speed, 1, 'in/min')}"
        lines.append(Line(name, figure(run.energy, 1, "kJ/in"), note=note))
    return (*lines, Line("travel speed", _span(span)))


def _picture(run: _Run, window: Limits) -> Picture | None:
    if run.energy is None or (window.low is None and window.high is None):
        return None
    data = {"unit": "kJ/in", "value": figure(run.energy, 1), "says": "arc energy"}
    if window.low is not None:
        data |= {"low": plain(window.low), "low_says": "least"}
    if window.high is not None:
        data |= {"high": plain(window.high), "high_says": "most"}
    return Picture("window", data)
