"""Fits by the inch system and by heat, stored energy of a leak test, and what a reading proves."""

from __future__ import annotations

from decimal import Decimal

from measurements.bench.answer import Answer, Line, Picture, Tone
from measurements.bench.book import Entry, Field, Part
from measurements.bench.given import Given, figure, in_mm
from measurements.bench.topics.typed import CALCULATED, fixed, number, turned
from measurements.engineering.assembly_heat import Heated, assembly_heat
from measurements.engineering.b41 import CLASSES, force_fit
from measurements.engineering.conformity import GuardRule, Proof, decide, standard_uncertainty
from measurements.engineering.leak import stored_energy
from measurements.engineering.limits import Limits, plain
from measurements.engineering.validity import above_zero, not_below_zero, require, scaled

_HEATED = {
    "rolling bearing": Heated.ROLLING_BEARING,
    "carburized, temper not known": Heated.CARBURIZED_UNKNOWN_TEMPER,
    "case-hardened": Heated.CASE_HARDENED,
    "induction-hardened": Heated.INDUCTION_HARDENED,
    "quenched and tempered": Heated.QUENCHED_AND_TEMPERED,
    "plain steel": Heated.PLAIN_STEEL,
}
_RULES = {
    "95 % probability": GuardRule.PROBABILITY,
    "the whole uncertainty": GuardRule.EXPANDED,
    "none": GuardRule.NONE,
}


def inch_fit(given: Given) -> Answer:
    """Figure: nominal (in). Fact: fit_class."""
    found = force_fit(given.figures["nominal"], given.fact("fit_class"))
    least, most = found.smallest_interference, found.largest_interference
    return Answer(
        f"A force fit: {plain(least * 1000)} to {plain(most * 1000)} thousandths of an inch of interference.",
        Tone.KNOW,
        (
            Line("hole", f"{figure(found.nominal, 4)} to {figure(found.hole_high, 4)} in", in_mm(found.hole_high, 4)),
            Line("shaft", f"{figure(found.shaft_low, 4)} to {figure(found.shaft_high, 4)} in"),
            Line("interference", f"{figure(least, 5)} to {figure(most, 5)} in", in_mm(most, 4)),
        ),
        worked=(
            f"least = {figure(found.shaft_low, 4)} - {figure(found.hole_high, 4)}, most ="
            f" {figure(found.shaft_high, 4)} - {figure(found.nominal, 4)}",
        ),
        assumed=("This row is from memory: check the standard.",) if found.from_memory else (),
        source="ANSI B4.1, Machinery's Handbook 27th ed. p 663, 31st ed. pp 730-731",
        validity="over 0 to 7.09 in; it is not the inch form of ISO 286, so keep which of them was specified",
        caution=("Press guard closed, nobody in line with the ram.",),
    )


def fit_by_heat(given: Given) -> Answer:
    """Figures: diameter, interference, clearance (mm), expansion (millionths per K), room (°C). Fact: part."""
    ceiling = _HEATED[given.fact("part")].value
    diameter, tight, rate = (number(given, name) for name in ("diameter", "interference", "expansion"))
    gap = number(given, "clearance") if "clearance" in given.figures else None
    heat = assembly_heat(
        diameter=diameter, interference=tight, expansion_per_k=rate / 1e6, ceiling_c=ceiling, clearance=gap,
        room_c=number(given, "room", "20"),
    )  # fmt: skip
    free = diameter / 1000 if gap is None else gap
    warm = fixed(heat.temperature, 1)
    refused = f"Do not heat for this fit: {heat.refusal}"
    return Answer(
        refused if heat.refusal else f"Warm it to {warm} °C, at most {ceiling:g} °C.",
        Tone.STOP if heat.refusal else Tone.DO,
        (
            Line("rise", fixed(heat.rise, 2, "K")),
            Line("slides on at", f"{fixed(heat.temperature, 2)} °C", f"{fixed(heat.temperature_f, 0)} °F"),
            Line("never above", f"{ceiling:g} °C", note=given.fact("part")),
        ),
        worked=(f"ΔT = ({tight:g} + {free:g}) / ({rate:g}e-6 · {diameter:g}) = {fixed(heat.rise, 2, 'K')}",),
        assumed=("Clearance of a thousandth of the diameter where none is typed.",),
        source="ΔT = (interference + clearance) / (α d); ceilings of DIN 7190 from memory, 150 °C is this shop's",
        validity="even warming, room from -20 to 50 °C; the supplier's tempering temperature counts where it is lower",
        caution=("Oven or induction, never a torch. Burn gloves; oil flashes; a warm part looks cold.",),
        picture=Picture("thermometer", {
            "unit": "°C", "value": warm, "says": "warm to", "high": f"{ceiling:g}", "high_says": "never above",
        }),
    )  # fmt: skip


def energy(given: Given) -> Answer:
    """Figures: pressure and ceiling (psi, over the atmosphere), volume (L)."""
    pressure, volume, ceiling = (given.figures[name] for name in ("pressure", "volume", "ceiling"))
    not_below_zero("pressure", pressure, "psi")
    above_zero("ceiling", ceiling, "psi")
    absolute = scaled(pressure, "psi", "Pa") + 101_325
    found = stored_energy(absolute, scaled(volume, "L", "m³"))
    over = pressure > ceiling
    says = f"At {plain(pressure)} psi {plain(volume)} L hold {fixed(found.joules, 1, 'J')}."
    if over:
        says = f"Vent at once: {plain(pressure)} psi is above the ceiling of {plain(ceiling)} psi. {says}"
    return Answer(
        says,
        Tone.STOP if over else Tone.KNOW,
        (
            Line("stored energy", fixed(found.joules, 1, "J"), note=f"as {fixed(found.kg_tnt * 1000, 3)} g of TNT"),
            Line("ceiling", f"{plain(ceiling)} psi", turned(ceiling, "psi", "kPa", 1)),
        ),
        reason=("A regulator and a relief valve stand at or below the ceiling; never shop air direct.",),
        worked=(f"E = 2.5 · {absolute:.0f} Pa · {plain(volume)} L · [1 - (101 000/{absolute:.0f})^0.286]",),
        assumed=("Air or nitrogen; the ceiling is the one of this item.",),
        source="ASME PCC-2 article 501",
        validity="from the atmosphere to 20 MPa",
        caution=("Relief valve, shield, face away. Never loosen anything under pressure; seals pop out.",),
        picture=Picture("window", {
            "unit": "psi", "value": plain(pressure), "says": "pressure", "high": plain(ceiling), "high_says": "ceiling",
        }),
    )  # fmt: skip


def proves(given: Given) -> Answer:
    """Figure: value, uncertainty (expanded, k = 2). Limits: value. Fact: rule."""
    limits, value = given.limits.get("value", Limits()), given.figures["value"]
    require(limits.low is not None or limits.high is not None, "Type a least, a most, or both.")
    u = standard_uncertainty(given.figures["uncertainty"])
    found = decide(value, limits, u, _RULES[given.fact("rule")])
    band = figure(found.guard_band, 6).rstrip("0").rstrip(".")
    says, tone = {
        Proof.CONFORMS: (f"{plain(value)} is proved inside, with a guard band of {band}.", Tone.GO),
        Proof.FAILS: (f"{plain(value)} is proved outside, with a guard band of {band}.", Tone.STOP),
        Proof.UNDECIDED: (f"{plain(value)} is undecided: nearer to a limit than {band}.", Tone.WAIT),
    }[found.proof]
    ends = [f"{word} {plain(one)}" for word, one in (("least", limits.low), ("most", limits.high)) if one is not None]
    return Answer(
        says,
        tone,
        (Line("guard band", band), Line("limits", " and ".join(ends))),
        reason=("Read again, take a better gauge or ask the supervisor; never a silent pass.",)
        if found.proof is Proof.UNDECIDED else (),
        worked=(f"w = {plain(_RULES[given.fact('rule')].value)} · {plain(given.figures['uncertainty'])}/2 = {band}",),
        assumed=("The uncertainty is the expanded one, for a coverage factor of 2.",),
        source="ISO 14253-1 as quoted, JCGM 106",
        validity="one unit for all figures",
        picture=_window(value, limits),
    )  # fmt: skip


def _window(value: Decimal, limits: Limits) -> Picture:
    data = {"unit": "", "value": plain(value), "says": "reading"}
    for name, one, word in (("low", limits.low, "least"), ("high", limits.high, "most")):
        data |= {} if one is None else {name: plain(one), f"{name}_says": word}
    return Picture("window", data)


FITS = (
    Entry("force_fit", "Force fit by ANSI B4.1", "Fits",
          (Field("nominal", "Nominal size", "in", "3.5"), Field("fit_class", "Class", "", "FN2", choices=CLASSES)),
          inch_fit, "Machinery's Handbook, 27th ed. p 663: FN2 at 3.5 in, 1.4 to 3.7 thousandths",
          also="press shrink"),
    Entry(
        "assembly_heat", "Assembly temperature of a fit", "Fits",
        (
            Field("diameter", "Fit diameter", "mm", "203.2"),
            Field("interference", "Largest interference", "mm", "0.05"),
            Field("clearance", "Clearance to slide", "mm", "0.10", needed=False),
            Field("expansion", "Expansion, millionths per K", "", "11.5"),
            Field("room", "Room", "C", "20", needed=False),
            Field("part", "What is heated", "", "carburized, temper not known", choices=tuple(_HEATED)),
        ),
        fit_by_heat, CALCULATED + ": 0.15 / (11.5e-6 · 203.2) = 64.19 K, so 84.19 °C", also="shrink heat warm",
    ),
)  # fmt: skip
STORED = Entry(
    "stored_energy", "Stored energy under pressure", "Test",
    (
        Field("pressure", "Pressure over the atmosphere", "psi", "20 kPa"),
        Field("volume", "Volume", "L", "12"),
        Field("ceiling", "Ceiling of this item", "psi", "5"),
    ),
    energy, CALCULATED + ": 121.325 kPa and 12 L hold 185.9 J", also="leak air safety",
)  # fmt: skip
GUARD = Entry(
    "guard_band", "What a reading proves", "Measuring",
    (
        Field("value", "Reading", "", "88.802"),
        Field("low", "Least", "", "88.80", Part.LOW, needed=False, role="value"),
        Field("high", "Most", "", "88.83", Part.HIGH, needed=False, role="value"),
        Field("uncertainty", "Uncertainty of the gauge, expanded", "", "0.004"),
        Field("rule", "Guard band", "", "the whole uncertainty", choices=tuple(_RULES)),
    ),
    proves, "ISO 14253-1 as quoted: 88.80 to 88.83 with U 0.004, 88.802 is undecided", also="limits conformity",
)  # fmt: skip
