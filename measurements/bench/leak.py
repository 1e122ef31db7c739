"""At the test stand: what the housing holds before it is filled, then whether the drop is a leak or the weather.

Arithmetic and sources: measurements.engineering.leak. The limit is judged by the card; this says what it means.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone
from measurements.bench.given import Given, figure
from measurements.engineering.leak import (
    STANDARD_ATMOSPHERE_PSI,
    Gas,
    LeakRate,
    bubble_advice,
    corrected_drop,
    leak_rate,
    stored_energy,
)
from measurements.engineering.limits import Limits, plain
from measurements.engineering.units import convert
from measurements.engineering.validity import scaled

SOURCE = (
    "gas law with absolute pressure; stored energy ASME PCC-2 article 501; order of places: common practice, no source"
)
#: Where a housing leaks, the likeliest first (common practice, no source).
PLACES = (
    "test fitting and breather port",
    "vent and level plugs",
    "cover joint",
    "pinion seal",
    "shaft flanges and hub seals",
    "plug welds",
    "spindle welds",
)
_NEEDED = {
    "start": "the start pressure",
    "start_temperature": "the gas temperature at the start",
    "seconds": "the time between the readings",
    "end": "the end pressure",
    "end_temperature": "the gas temperature at the end",
}
#: A change of 0.3 K is about 0.018 psi in a housing at 5 psi: a thermometer is not known better (calculated).
_UNSURE_K = Fraction(3, 10)


def leak_test(given: Given) -> Answer:
    """Before filling: the stored energy and the ceiling. After: go, repeat or fail, and on a fail where to look.

    Roles: start and end (psi), start_temperature and end_temperature (°F), seconds; may have barometer (psi) and drop,
    whose most is the limit. Figures: volume (L), test_seconds, settled (°F, the most the gas may change).
    """
    ceiling = given.limits.get("start", Limits()).never_above
    missing = [name for role, name in _NEEDED.items() if given.one(role) is None]
    start = given.one("start")
    if start is not None and ceiling is not None and start > ceiling:
        said = f"Vent at once: {plain(start)} psi is above the ceiling of {plain(ceiling)} psi. Then check the seals."
        return _answer(given, said, Tone.STOP, ())
    if missing:
        return _before(given, missing, start, ceiling)
    return _after(given)


def _before(given: Given, missing: list[str], start: Decimal | None, ceiling: Decimal | None) -> Answer:
    limits = given.limits.get("start", Limits())
    if start is not None:
        return _answer(given, f"Not to be told yet: {missing[0]} is not read yet.", Tone.UNKNOWN, tuple(missing[1:]))
    fill = f"Fill to {plain(limits.low)} to {plain(limits.high)} psi" if limits.low and limits.high else "Fill slowly"
    most = f", never above {plain(ceiling)} psi" if ceiling is not None else ""
    held = f": there the housing holds {_joules(given, ceiling)} of energy" if ceiling is not None else ""
    return _answer(given, f"{fill}{most}{held}.", Tone.KNOW, ())


def _after(given: Given) -> Answer:
    limit = given.limits.get("drop", Limits()).high
    drop = _drop(given)
    seconds, needed = given.one("seconds") or Decimal(0), given.figures["test_seconds"]
    changed = (given.one("end_temperature") or Decimal(0)) - (given.one("start_temperature") or Decimal(0))
    settled = given.figures["settled"]
    shown = f"{figure(drop, 3)} psi lost in {plain(seconds)} s, corrected for {figure(changed, 1)} °F"
    if seconds < needed:
        return _answer(given, f"Repeat it: {plain(seconds)} s is short of {plain(needed)} s.", Tone.DO, ())
    if abs(changed) > settled:
        why = f"Repeat it: the gas {'warmed' if changed > 0 else 'cooled'} by {plain(abs(changed))} °F. Let it settle."
        return _answer(given, why, Tone.DO, (_weather(given, changed),))
    if drop < -_unsure(given):
        said = f"Repeat it: {figure(-drop, 3)} psi was gained. Gas came in, or a reading is wrong."
        return _answer(given, said, Tone.DO, (_weather(given, changed),))
    if limit is None:
        return _answer(given, f"{shown}; no limit is given.", Tone.KNOW, ())
    return _judged(given, shown, drop, limit)


def _judged(given: Given, shown: str, drop: Fraction, limit: Decimal) -> Answer:
    """Against the limit, which the card judges too; a leak only where the time of the test is the one asked for."""
    seconds, needed = given.one("seconds") or Decimal(1), given.figures["test_seconds"]
    close = abs(drop - Fraction(limit)) <= _unsure(given)
    near = (f"It is within {figure(_unsure(given), 3)} psi of the limit: the thermometer alone could turn it.",)
    if drop <= limit:
        return _answer(given, f"{shown}; {plain(limit)} psi is allowed.", Tone.GO, near if close else ())
    in_time = drop * Fraction(needed) / Fraction(seconds)
    if in_time <= limit:
        said = f"Repeat it in {plain(needed)} s: {shown} would be {figure(in_time, 3)} psi in that time."
        return _answer(given, said, Tone.DO, near if close else ())
    where = f"Look in this order: {', '.join(PLACES)}."
    rate = _rate(given)
    says = f"It leaks: {shown}; {plain(limit)} psi is allowed. About {rate.cm3_per_min:.0f} cm³/min."
    return _answer(given, says, Tone.STOP, (bubble_advice(rate), where, *(near if close else ())))


def _weather(given: Given, changed: Decimal) -> str:
    """What the change of temperature alone does to the pressure."""
    start = Fraction(given.one("start") or 0) + _atmosphere(given)
    kelvin = convert(given.one("start_temperature") or Decimal(0), "F", "K")
    alone = start * convert(changed, "F", "K", difference=True) / kelvin
    word = "raises" if changed > 0 else "lowers"
    return f"That change alone {word} the pressure by {figure(abs(alone), 3)} psi: it looks like a leak, or hides one."


def _unsure(given: Given) -> Fraction:
    start = Fraction(given.one("start") or 0) + _atmosphere(given)
    return start * _UNSURE_K / convert(given.one("start_temperature") or Decimal(0), "F", "K")


def _atmosphere(given: Given) -> Fraction:
    return Fraction(given.one("barometer") or STANDARD_ATMOSPHERE_PSI)


def _drop(given: Given) -> Fraction:
    start, end = (Fraction(given.one(role) or 0) for role in ("start", "end"))
    warm, later = (
        convert(given.one(role) or Decimal(0), "F", "K") for role in ("start_temperature", "end_temperature")
    )
    return corrected_drop(start=start, end=end, start_kelvin=warm, end_kelvin=later, atmosphere=_atmosphere(given))


def _rate(given: Given) -> LeakRate:
    barometer = float(_atmosphere(given))
    at = [
        Gas.gauge_psi(float(given.one(pressure) or 0), float(given.one(warmth) or 0), barometer)
        for pressure, warmth in (("start", "start_temperature"), ("end", "end_temperature"))
    ]
    volume = float(given.figures["volume"]) / 1000
    return leak_rate(*at, volume=volume, seconds=float(given.one("seconds") or 0))


def _joules(given: Given, gauge: Decimal) -> str:
    absolute = scaled(Fraction(gauge) + _atmosphere(given), "psi", "Pa")
    return f"{stored_energy(absolute, float(given.figures['volume']) / 1000).joules:.0f} J"


def _answer(given: Given, says: str, tone: Tone, reason: tuple[str, ...]) -> Answer:
    ceiling = given.limits.get("start", Limits()).never_above
    barometer = given.one("barometer")
    air = f"{plain(barometer)} psi as read" if barometer is not None else f"{STANDARD_ATMOSPHERE_PSI} psi, not read"
    return Answer(
        says,
        tone,
        _lines(given, ceiling),
        reason=reason,
        worked=(
            "lost = p1 + air - (p2 + air) · T1 / T2, T in kelvin",
            "rate = V (p1/T1 - p2/T2) · 293.15 / (101 325 · t), p absolute in Pa",
        ),
        assumed=(
            f"Housing volume {plain(given.figures['volume'])} L as stated; air pressure {air}.",
            f"The gas temperature is known to 0.3 °C, which is {figure(_unsure(given), 3)} psi."
            if given.one("start_temperature") is not None
            else "The gas temperature is that of the whole housing.",
        ),
        source=SOURCE,
        validity="constant volume, dry gas, settled temperature, -58 to 212 °F",
        caution=("Regulator and relief valve, never shop air direct. Stand clear; vent before loosening anything.",),
        picture=_picture(given),
    )


def _lines(given: Given, ceiling: Decimal | None) -> tuple[Line, ...]:
    start, lines = given.one("start"), []
    if ceiling is not None:
        lines.append(Line("ceiling", f"{plain(ceiling)} psi", note=f"{_joules(given, ceiling)} stored"))
    if start is not None and start > 0:
        lines.append(Line("filled", f"{plain(start)} psi", note=f"{_joules(given, start)} stored"))
    if all(given.one(role) is not None for role in _NEEDED):
        rate = _rate(given)
        lines.append(Line("lost, corrected", figure(_drop(given), 3, "psi")))
        lines.append(Line("leak rate", f"{rate.cm3_per_min:.1f} cm³/min", note="at 20 °C and 101.325 kPa"))
    return tuple(lines)


def _picture(given: Given) -> Picture | None:
    limit = given.limits.get("drop", Limits()).high
    if limit is None or any(given.one(role) is None for role in _NEEDED):
        return None
    data = {"unit": "psi", "value": figure(_drop(given), 3), "says": "lost", "high": plain(limit), "high_says": "most"}
    return Picture("window", data)
