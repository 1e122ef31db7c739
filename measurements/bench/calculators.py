"""Answers of the book that no station asks for by itself: a bolt, a wrench, a fit, a gear set, a length, a unit.

Arithmetic and sources: measurements.engineering.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Tone
from measurements.bench.given import Given, figure, three
from measurements.engineering.bolts import preload, torque
from measurements.engineering.gears.hunting import tooth_meeting
from measurements.engineering.geometry.lengths import at_20, let_it_soak
from measurements.engineering.iso286 import fit
from measurements.engineering.limits import plain
from measurements.engineering.threads import thread
from measurements.engineering.tightening import extension_setting
from measurements.engineering.units import convert, same_dimension, unit_named
from measurements.engineering.validity import OutsideValidity, require, scaled

BOLT_CAUTION = ("Pull, do not push. A bolt pulled past its yield is scrap; a re-used one grips less.",)


def bolt_torque(given: Given) -> Answer:
    """Facts: thread, grade. Figures: nut_factor, share (of the proof load)."""
    bolt, grade = thread(given.fact("thread")), given.fact("grade")
    share, factor = float(given.figures.get("share", Decimal("0.75"))), float(given.figures["nut_factor"])
    force = preload(bolt, grade, share)
    metres = torque(bolt, force, factor)
    feet = scaled(metres, "N·m", "ft-lb")
    return Answer(
        f"Tighten to {three(feet)} ft-lb ({three(metres)} N·m) for {three(scaled(force, 'N', 'lbf'))} lbf of preload.",
        Tone.KNOW,
        (
            Line("torque", f"{three(feet)} ft-lb", f"{three(metres)} N·m"),
            Line("preload", f"{three(scaled(force, 'N', 'lbf'))} lbf", f"{three(force / 1000)} kN"),
        ),
        reason=("The same torque gives a preload that differs by a quarter either way: the drawing's figure decides.",),
        worked=(f"T = K · d · F = {factor:g} · {bolt.diameter * 1000:.3f} mm · {force / 1000:.2f} kN",),
        assumed=(f"Nut factor {factor:g} for this lot and lubricant; {100 * share:g} % of the proof load.",),
        source="T = K d F (Shigley, Mechanical Engineering Design, 8-27); proof loads of ISO 898-1 and SAE J429",
        validity="M5 to M39 of class 8.8 to 12.9, 1/4 to 1 1/2 in of grade 5 and 8; nut factor 0.05 to 0.5",
        caution=BOLT_CAUTION,
    )


def wrench_setting(given: Given) -> Answer:
    """Figures: target (ft-lb), wrench and extension (in), angle (degrees, 0 straight on)."""
    target, arm, more = (float(given.figures[name]) for name in ("target", "wrench", "extension"))
    angle = float(given.figures.get("angle", Decimal(0)))
    setting = extension_setting(target, arm, more, angle)
    return Answer(
        f"Set the wrench to {three(setting)} ft-lb; the bolt then gets {three(target)} ft-lb.",
        Tone.DO,
        (Line("setting", f"{three(setting)} ft-lb", f"{three(scaled(setting, 'ft-lb', 'N·m'))} N·m"),),
        worked=(f"S = T · L / (L + E · cos θ) = {target:g} · {arm:g} / ({arm:g} + {more:g} · cos {angle:g}°)",),
        assumed=("The hand is at the middle of the grip, where the length of the wrench is measured to.",),
        source="US TM 9-254, torque wrench with an adapter",
        validity="one unit of length for both; an adapter square to the wrench (90°) changes nothing",
        caution=BOLT_CAUTION,
    )


def iso_fit(given: Given) -> Answer:
    """Facts: hole and shaft (H7, p6). Figures: nominal (mm)."""
    nominal = given.figures["nominal"]
    found = fit(nominal, given.fact("hole"), given.fact("shaft"))
    least, most = found.smallest_interference_um, found.largest_interference_um
    lines = tuple(
        Line(
            name,
            f"{plain(zone.smallest_mm)} to {plain(zone.largest_mm)} mm",
            _inches(zone.smallest_mm, zone.largest_mm),
        )
        for name, zone in ((f"hole {found.hole.name}", found.hole), (f"shaft {found.shaft.name}", found.shaft))
    )
    if least >= 0:
        says = f"A press fit: {plain(least)} to {plain(most)} µm of interference."
    elif most <= 0:
        says = f"A running fit: {plain(-most)} to {plain(-least)} µm of clearance."
    else:
        says = f"A fit between: from {plain(-least)} µm of clearance to {plain(most)} µm of interference."
    return Answer(
        says,
        Tone.KNOW,
        lines,
        worked=(
            f"least interference = smallest shaft - largest hole = {plain(least)} µm",
            f"most interference = largest shaft - smallest hole = {plain(most)} µm",
        ),
        source="ISO 286-1 and ISO 286-2",
        validity="3 to 315 mm, grades 5 to 11, the zones kept here",
    )


def _inches(low: Decimal, high: Decimal) -> str:
    return f"{figure(convert(low, 'mm', 'in'), 4)} to {figure(convert(high, 'mm', 'in'), 4, 'in')}"


def hunting(given: Given) -> Answer:
    """Figures: pinion and ring, tooth counts."""
    counts = [given.figures[name] for name in ("pinion", "ring")]
    require(all(one == one.to_integral_value() for one in counts), "Tooth counts are whole numbers.")
    pinion, ring = (int(one) for one in counts)
    found = tooth_meeting(pinion, ring)
    return Answer(
        found.says,
        Tone.KNOW,
        (
            Line("ratio", f"{found.ratio:.3f}", note=f"{ring} / {pinion}"),
            Line("the same teeth meet again after", f"{found.pinion_turns} turns of the pinion",
                 f"{found.ring_turns} of the ring gear"),
        ),
        worked=(f"the largest number that divides {pinion} and {ring} is {found.common}",),
        source="greatest common divisor of the tooth counts (gear handbooks)",
        validity="5 to 120 teeth",
    )  # fmt: skip


def length_at_20(given: Given) -> Answer:
    """Figures: reading (mm), part and gauge temperature (°C), part_expansion and gauge_expansion (millionths per K),
    tolerance (mm)."""
    reading = given.figures["reading"]
    rates = [given.figures.get(name, Decimal("11.5")) for name in ("part_expansion", "gauge_expansion")]
    part, gauge = (given.figures[name] for name in ("part", "gauge"))
    require(all(5 <= one <= 40 for one in rates), "An expansion is from 5 to 40 millionths per K.")
    found = at_20(reading, part, gauge, *(Fraction(one) / 1_000_000 for one in rates))
    lines = (
        Line("at 20 °C", figure(found.length, 4, "mm"), figure(convert(found.length, "mm", "in"), 5, "in")),
        Line("correction", figure(found.correction * 1000, 1, "µm")),
    )
    tolerance = given.figures.get("tolerance")
    soak = tolerance is not None and let_it_soak(found.correction, tolerance)
    return Answer(
        f"At 20 °C it measures {figure(found.length, 4, 'mm')}." + (" Let it soak and read it again." if soak else ""),
        Tone.WAIT if soak else Tone.KNOW,
        lines,
        worked=(f"L20 = {plain(reading)} · [1 - α·({plain(part)} - 20) + α·({plain(gauge)} - 20)]",),
        assumed=(
            f"Expansion {plain(rates[0])} (part) and {plain(rates[1])} (gauge) millionths per K.",
            "Where an expansion was left out it is that of steel, 11.5 (from memory).",
        ),
        source="ISO 1: lengths are stated at 20 °C",
        validity="the part is as warm all through as the probe says",
    )


def _known(unit: str) -> None:
    """Refuse a unit that is not kept here, with the list of those that are."""
    try:
        unit_named(unit)
    except ValueError as fault:
        raise OutsideValidity(str(fault), field="unit") from fault


def unit_change(given: Given) -> Answer:
    """Facts: from and to. Figures: value."""
    value, first, second = given.figures["value"], given.fact("from"), given.fact("to")
    for name in (first, second):
        _known(name)
    require(same_dimension(first, second), f"{first} and {second} are of two kinds.")
    found = convert(value, first, second)
    shown = figure(found, 6).rstrip("0").rstrip(".") if found.denominator != 1 else str(found)
    return Answer(
        f"{plain(value)} {first} are {shown} {second}.",
        Tone.KNOW,
        (Line(second, shown),),
        source="exact factors: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, standard gravity 9.80665 m/s²",
    )
