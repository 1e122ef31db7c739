"""At the weld bench: the preheat that this steel asks for, against the stated least and what is measured.

Arithmetic and sources: measurements.engineering.preheat and .welds. The qualified procedure stands above it.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone, unknown
from measurements.bench.given import Given, degrees, figure, in_celsius, whole_fahrenheit
from measurements.engineering.limits import Limits, plain
from measurements.engineering.preheat import preheat_method_b
from measurements.engineering.validity import OutsideValidity, scaled
from measurements.engineering.welds import CarbonEquivalent, Equivalent, carbon_equivalent

SOURCE = "EN 1011-2 method B (annex C.8) as quoted; carbon equivalents CE (IIW) and CET"
CAUTION = ("Hot metal looks cold: gloves, and a contact probe on both sides. Fire watch, extraction.",)
ELEMENTS = {
    "carbon": "C",
    "manganese": "Mn",
    "chromium": "Cr",
    "molybdenum": "Mo",
    "vanadium": "V",
    "nickel": "Ni",
    "copper": "Cu",
}


@dataclass(frozen=True, slots=True)
class _Steel:
    """One heat: its two equivalents from what its certificate states."""

    heat: str
    ce: CarbonEquivalent
    cet: CarbonEquivalent


@dataclass(frozen=True, slots=True)
class _Asked:
    """What the formula asks in °F (None: no figure), the steel that asks most, and why there is no figure."""

    fahrenheit: Fraction | None
    steel: _Steel | None
    worked: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def preheat(given: Given) -> Answer:
    """Go or wait, from the stated least preheat and from the chemistry of the heats welded here.

    Roles: preheat (°F); may have interpass (°F) and each element of the analysis in %, by heat. Figures: thickness
    of the thicker part (in), hydrogen (ml/100 g), heat_input (kJ/mm). Facts: heats, the marks welded here.
    """
    asked = _asked(given)
    card = given.limits.get("preheat", Limits()).low
    needed = max((Fraction(one) for one in (card, asked.fahrenheit) if one is not None), default=None)
    if needed is None:
        return unknown("Preheat: not to be told.", "No least preheat is given.", *asked.remarks)
    says, tone = _go_or_wait(given, needed)
    if tone is Tone.GO and asked.steel is None:
        says, tone = f"By the stated least enough; what the steel asks is not known. {says}", Tone.UNKNOWN
    return Answer(
        says,
        tone,
        _preheat_lines(given, needed, asked),
        reason=(*asked.remarks, "The colder of the two sides counts; what the procedure asks stands above this."),
        worked=asked.worked,
        assumed=(
            f"Hydrogen {plain(given.figures['hydrogen'])} ml/100 g and {plain(given.figures['heat_input'])} kJ/mm"
            " as stated: a damper wire or a colder run asks for more preheat.",
            *(_assumed_zero(asked.steel)),
        ),
        source=SOURCE,
        validity="CET 0.2 to 0.5 %, thicker part 10 to 90 mm, hydrogen 1 to 20 ml/100 g, 0.5 to 4.0 kJ/mm",
        caution=CAUTION,
        picture=_thermometer(given, needed),
    )


def _asked(given: Given) -> _Asked:
    """Method B for the heat with the highest CET; a thickness or heat outside its range gives no figure."""
    steels, remarks = _steels(given)
    if not steels:
        return _Asked(None, None, (), remarks or ("No heat with an analysis is on record for this joint.",))
    steel = max(steels, key=lambda one: one.cet.value)
    figures = {name: float(given.figures[name]) for name in ("thickness", "hydrogen", "heat_input")}
    cet, plate = float(steel.cet.value), scaled(figures["thickness"], "in", "mm")
    try:
        found = preheat_method_b(cet, plate, figures["hydrogen"], figures["heat_input"])
    except OutsideValidity as outside:
        return _Asked(
            None, steel, (), (f"Method B gives no figure here: {outside.text} What is stated decides.", *remarks)
        )
    worked = (
        f"Tp = 697 · {cet:.4f} + 160 · tanh({plate:.1f} / 35) + 62 · {figures['hydrogen']:g}^0.35"
        f" + (53 · {cet:.4f} - 32) · {figures['heat_input']:g} - 328"
        + (" is not above room temperature" if found.celsius is None else f" = {found.celsius:.0f} °C")
    )
    if found.celsius is None:
        return _Asked(None, steel, (worked,), (found.text, *remarks))
    return _Asked(whole_fahrenheit(found.celsius), steel, (worked,), remarks)


def _steels(given: Given) -> tuple[list[_Steel], tuple[str, ...]]:
    """Each heat with an analysis, and a sentence for each that has none to go by."""
    marks = dict.fromkeys(heat for role in ELEMENTS for heat in given.readings.get(role, {}))
    marks |= dict.fromkeys(mark for mark in given.fact("heats").split("; ") if mark)
    found, remarks = [], []
    for heat in marks:
        analysis = {element: value for role, element in ELEMENTS.items() if (value := given.at(role, heat)) is not None}
        named = f"Heat {heat}" if heat else "The steel"
        if not analysis:
            remarks.append(f"{named} has no analysis on record: what it asks is not known.")
            continue
        try:
            both = [carbon_equivalent(analysis, kind) for kind in (Equivalent.CE, Equivalent.CET)]
            found.append(_Steel(named, *both))
        except OutsideValidity as outside:
            remarks.append(f"{named}: {outside.text}")
    return found, tuple(remarks)


def _assumed_zero(steel: _Steel | None) -> tuple[str, ...]:
    if steel is None:
        return ()
    missing = list(dict.fromkeys((*steel.ce.assumed_zero, *steel.cet.assumed_zero)))
    if not missing:
        return ()
    return (f"{steel.heat}: {', '.join(missing)} not on its certificate, counted as 0. They would raise the figure.",)


def _go_or_wait(given: Given, needed: Fraction) -> tuple[str, Tone]:
    read = [(role, position, value) for role in ("preheat", "interpass") for position, value in _read(given, role)]
    if not read:
        return f"Heat to at least {degrees(needed)}, measured on both sides.", Tone.DO
    cold = [one for one in read if Fraction(one[2]) < needed]
    if cold:
        _, position, value = min(cold, key=lambda one: one[2])
        return (
            f"{degrees(value)} is measured{_at(position)}, {degrees(needed)} is needed. Heat again.",
            Tone.WAIT,
        )
    for role, position, value in read:
        most = given.limits.get(role, Limits()).high
        if most is not None and value > most:
            return (
                f"{degrees(value)} is measured{_at(position)}, {degrees(most)} is the most. Let it cool.",
                Tone.WAIT,
            )
    least = min(value for _, _, value in read)
    return f"{degrees(least)} is measured, {degrees(needed)} is needed.", Tone.GO


def _read(given: Given, role: str) -> list[tuple[str, Decimal]]:
    return [(at, value) for at, value in given.readings.get(role, {}).items() if isinstance(value, Decimal)]


def _at(position: str) -> str:
    return f" at {position}" if position else ""


def _preheat_lines(given: Given, needed: Fraction, asked: _Asked) -> tuple[Line, ...]:
    card = given.limits.get("preheat", Limits())
    lines = [Line("least preheat", figure(needed, 0, "°F"), in_celsius(needed))]
    if card.low is not None:
        lines.append(Line("the stated least", figure(card.low, 0, "°F"), in_celsius(card.low)))
    if asked.fahrenheit is not None:
        lines.append(Line("by the chemistry", figure(asked.fahrenheit, 0, "°F"), in_celsius(asked.fahrenheit)))
    if asked.steel is not None:
        steel = asked.steel
        lines.append(Line("CET", figure(steel.cet.value, 3, "%"), note=steel.heat))
        lines.append(Line("CE", figure(steel.ce.value, 3, "%"), note=steel.heat))
    return tuple(lines)


def _thermometer(given: Given, needed: Fraction) -> Picture:
    read = [value for role in ("preheat", "interpass") for _, value in _read(given, role)]
    most = given.limits.get("interpass" if _read(given, "interpass") else "preheat", Limits()).high
    data: dict[str, str] = {"unit": "°F", "low": figure(needed, 0), "low_says": "needed"}
    if most is not None and most > needed:
        data |= {"high": figure(most, 0), "high_says": "most"}
    if read:
        value = min(read) if min(read) < needed else max(read)
        data |= {"value": plain(value), "says": "measured"}
    return Picture("thermometer", data)
