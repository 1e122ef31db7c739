"""At the gear bench: how warm the ring gear must be to slide on, and when it is too warm.

Arithmetic and sources: measurements.engineering.assembly_heat.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone
from measurements.bench.given import Given, degrees, figure, in_celsius, whole_fahrenheit
from measurements.engineering.assembly_heat import AssemblyHeat, assembly_heat
from measurements.engineering.limits import Limits, plain
from measurements.engineering.validity import scaled

#: 150 °C, until the supplier's tempering temperature is recorded (house default).
_USUAL_CEILING = Decimal(302)
CAUTION = (
    "Never torch the teeth: oven or induction. Burn gloves; oil flashes and fumes; a warm gear looks cold.",
    "Seat it within seconds, pull up evenly, final torque only when it is cold (common practice).",
)


def warming(given: Given) -> Answer:
    """Heat on, go, or stop. Role: temperature (°F), its limits and never-above the card's.

    Figures: fit_diameter, interference and clearance (in), expansion (millionths per K), room (°F); the ceiling is the
    card's never-above, else the figure ceiling (°F).
    """
    card = given.limits.get("temperature", Limits())
    ceiling = Fraction(
        card.never_above if card.never_above is not None else given.figures.get("ceiling", _USUAL_CEILING)
    )
    heat = _heat(given, ceiling)
    slides = whole_fahrenheit(heat.temperature)
    needed = max([slides, *(Fraction(one) for one in (card.low,) if one is not None)])
    most = min([ceiling, *(Fraction(one) for one in (card.high,) if one is not None)])
    says, tone = _said(given, needed, most, ceiling)
    if heat.refusal:
        says, tone = f"Do not heat for this fit: {heat.refusal}", Tone.STOP
    figures = given.figures
    return Answer(
        says,
        tone,
        (
            Line("slides on at", figure(slides, 0, "°F"), in_celsius(slides)),
            Line("warm it to", figure(needed, 0, "°F"), in_celsius(needed), f"at most {figure(most, 0, '°F')}"),
            Line("never above", figure(ceiling, 0, "°F"), in_celsius(ceiling), "the gear is rejected"),
        ),
        reason=("Above the ceiling the case-hardened teeth begin to soften, and nobody can see it.",),
        worked=(
            f"ΔT = ({plain(figures['interference'])} + {plain(figures['clearance'])})"
            f" / ({plain(figures['expansion'])}e-6 · {plain(figures['fit_diameter'])}) = {heat.rise:.0f} K",
        ),
        assumed=(
            f"Interference {plain(figures['interference'])} in at the largest, {plain(figures['clearance'])} in of"
            f" clearance to slide, case at {plain(figures['room'])} °F; the whole gear is as warm as the probe says.",
        ),
        source="ΔT = (interference + clearance) / (α d); DIN 7190-1 and public engineering references",
        validity="even warming; the ceiling is the one stated, unless the supplier's tempering temperature says less",
        caution=CAUTION,
        picture=_picture(given, needed, most),
    )


def _heat(given: Given, ceiling: Fraction) -> AssemblyHeat:
    figures = given.figures
    return assembly_heat(
        diameter=float(figures["fit_diameter"]),
        interference=float(figures["interference"]),
        expansion_per_k=float(figures["expansion"]) * 1e-6,
        ceiling_c=scaled(ceiling, "F", "C"),
        clearance=float(figures["clearance"]),
        room_c=scaled(figures["room"], "F", "C"),
    )


def _said(given: Given, needed: Fraction, most: Fraction, ceiling: Fraction) -> tuple[str, Tone]:
    read = given.one("temperature")
    if read is None:
        return (
            f"Warm the gear to {degrees(needed)}, at most {degrees(most)}, by contact thermometer.",
            Tone.DO,
        )
    if read > ceiling:
        return f"{degrees(Fraction(read))} is above {degrees(ceiling)}. The gear is rejected.", Tone.STOP
    if read > most:
        return f"{degrees(Fraction(read))} is above {degrees(most)}. Let it cool, then seat it.", Tone.WAIT
    if read < needed:
        return f"{degrees(Fraction(read))} is measured, {degrees(needed)} is needed. Heat on.", Tone.WAIT
    return f"{degrees(Fraction(read))} is warm enough. Seat it within seconds and pull up evenly.", Tone.GO


def _picture(given: Given, needed: Fraction, most: Fraction) -> Picture:
    data = {"unit": "°F", "low": figure(needed, 0), "low_says": "needed", "high": figure(most, 0), "high_says": "most"}
    read = given.one("temperature")
    return Picture("thermometer", data if read is None else data | {"value": plain(read), "says": "measured"})
