"""Bolts: strength, assembly values, lubricant, clamp, order, engagement."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from measurements.bench.answer import Answer, Line, Tone
from measurements.bench.bolts import bolt_circle
from measurements.bench.book import Entry, Field
from measurements.bench.given import Given
from measurements.bench.topics.typed import CALCULATED, fixed, number, turned, whole
from measurements.engineering.bolts import assembly_values, preload, proof_load, strength
from measurements.engineering.limits import Limits
from measurements.engineering.threads import least_engagement, thread
from measurements.engineering.tightening import clamp_torque, least_preload, relubricated_torque
from measurements.engineering.validity import require, scaled

CAUTION = ("Pull, do not push. A bolt pulled past its yield is scrap; a re-used one grips less.",)


def bolt_strength(given: Given) -> Answer:
    """Facts: thread, grade."""
    bolt, grade = thread(given.fact("thread")), given.fact("grade")
    proof, area, steel = proof_load(bolt, grade), bolt.stress_area, strength(bolt, grade)
    force = preload(bolt, grade)
    return Answer(
        f"The proof load is {fixed(proof / 1000, 1, 'kN')} ({turned(proof, 'N', 'lbf', 0)}).",
        Tone.KNOW,
        (
            Line("stress area", fixed(area * 1e6, 2, "mm²"), turned(area, "m²", "in²", 4)),
            Line("proof load", fixed(proof / 1000, 1, "kN"), turned(proof, "N", "lbf", 0)),
            Line("preload at 75 %", fixed(force / 1000, 1, "kN"), turned(force, "N", "lbf", 0)),
        ),
        worked=(
            f"A = π/4 · (d - {'0.9382' if bolt.metric else '0.9743'} · P)², d {bolt.diameter * 1000:.3f} mm,"
            f" P {bolt.pitch * 1000:.4f} mm = {fixed(area * 1e6, 2, 'mm²')}",
            f"proof load = A · {fixed(steel.proof / 1e6, 0, 'MPa')}",
        ),
        assumed=("The marking on the head is the class typed; 75 % is for a joint that is taken apart again.",),
        source="ISO 898-1 and SAE J429; unified stress area of ASME B1.1",
        validity="M5 to M39 of class 8.8 to 12.9, 1/4 to 1 1/2 in of grade 5 and 8",
        caution=CAUTION,
    )


def assembly(given: Given) -> Answer:
    """Facts: thread, grade. Figures: friction, face and hole (mm)."""
    bolt, friction = thread(given.fact("thread")), number(given, "friction")
    face, hole = number(given, "face"), number(given, "hole")
    found = assembly_values(bolt, given.fact("grade"), friction=friction, face=face / 1000, hole=hole / 1000)
    return Answer(
        f"At most {fixed(found.torque, 1, 'N·m')}, for {fixed(found.preload / 1000, 1, 'kN')} of preload.",
        Tone.KNOW,
        (
            Line("most torque", fixed(found.torque, 1, "N·m"), turned(found.torque, "N·m", "ft-lb", 1)),
            Line("preload", fixed(found.preload / 1000, 1, "kN"), turned(found.preload, "N", "lbf", 0)),
        ),
        reason=("It is a most, at 90 % of yield, not a target.",),
        worked=(
            f"T = F · (0.16 · {bolt.pitch * 1000:g} + 0.58 · {bolt.pitch_diameter * 1000:.3f} · {friction:g}"
            f" + ({face:g} + {hole:g})/4 · {friction:g}) mm",
        ),
        assumed=(f"Friction {friction:g} in the thread and under the head alike.",),
        source="VDI 2230, agrees with its published table within 0.6 %",
        validity="metric bolts, friction 0.04 to 0.4; the drawing's torque decides",
        caution=CAUTION,
    )


def lubricant(given: Given) -> Answer:
    """Figures: torque (N·m), before and after, nut factors."""
    torque, before, after = (number(given, name) for name in ("torque", "before", "after"))
    found = relubricated_torque(torque, before, after)
    return Answer(
        f"With this lubricant tighten to {fixed(found, 1, 'N·m')}, not {fixed(torque, 1, 'N·m')}.",
        Tone.DO,
        (Line("torque", fixed(found, 1, "N·m"), turned(found, "N·m", "ft-lb", 1)),),
        reason=("Lubricant lowers the nut factor: the dry torque would stretch the bolt too far.",),
        worked=(f"T = {torque:g} · {after:g} / {before:g} = {fixed(found, 2, 'N·m')}",),
        assumed=("Both factors are those of this lot; a thread adhesive has its own, in its data sheet.",),
        source="T = K d F at one preload (Shigley, Mechanical Engineering Design, 8-27)",
        validity="nut factors 0.05 to 0.5",
        caution=CAUTION,
    )


def clamp(given: Given) -> Answer:
    """Figures: count, preload (kN), friction, radius (mm), scatter (tightening factor)."""
    count, force, friction = whole(given, "count", "Bolts"), number(given, "preload") * 1000, number(given, "friction")
    radius, scatter = number(given, "radius") / 1000, number(given, "scatter", "1")
    found = clamp_torque(count, force, friction, radius, scatter)
    return Answer(
        f"The bolts carry {fixed(found, 1, 'N·m')} by friction.",
        Tone.KNOW,
        (
            Line("torque carried", fixed(found, 1, "N·m"), turned(found, "N·m", "ft-lb", 1)),
            Line("least preload of a bolt", fixed(least_preload(force, scatter) / 1000, 2, "kN")),
        ),
        worked=(
            f"T = n · F · μ · r / α = {count} · {force:g} N · {friction:g} · {radius:g} m / {scatter:g}"
            f" = {fixed(found, 1, 'N·m')}",
        ),
        assumed=("Clean dry faces, no dowels; the shanks carry no shear.",),
        source="friction of a clamped ring (textbook mechanics); scatter α of VDI 2230",
        validity="friction 0.02 to 0.5; a tightening factor of 1 and more; an engineer reviews it",
        caution=CAUTION,
    )


def order(given: Given) -> Answer:
    """The advice of the bench. Figures: count, target (ft-lb); wrench, extension (in), angle (degrees)."""
    count, target = whole(given, "count", "Bolts"), given.figures["target"]
    require(1 <= count <= 100, f"A bolt circle of {count} bolts is not worked out: 1 to 100.")
    require(target > 0, "The torque must be more than zero.")
    both = [name in given.figures for name in ("wrench", "extension")]
    require(all(both) or not any(both), "Type the wrench with the extension, or neither.")
    figures = {**given.figures, "count": Decimal(count)}
    return bolt_circle(replace(given, figures=figures, limits={"torque": Limits(target, target)}))


def engagement(given: Given) -> Answer:
    """Fact: thread. Figures: bolt and nut (tensile strength, ksi)."""
    bolt = thread(given.fact("thread"))
    steel, nut = (scaled(given.figures[name], "ksi", "Pa") for name in ("bolt", "nut"))
    found = least_engagement(bolt, bolt_tensile_pa=steel, nut_tensile_pa=nut)
    return Answer(
        f"At least {turned(found.length, 'm', 'in', 3)} of full thread, so that the bolt breaks first.",
        Tone.KNOW,
        (
            Line("least engagement", turned(found.length, "m", "in", 3), fixed(found.length * 1000, 1, "mm")),
            Line("in diameters", fixed(found.length / bolt.diameter, 2), note=f"the {found.weaker} strips at less"),
        ),
        worked=(
            f"L = A · {number(given, 'bolt'):g} ksi / (half of the weaker thread's strength · its shear area per"
            f" length), A = {turned(bolt.stress_area, 'm²', 'in²', 4)}",
        ),
        assumed=("Threads of class 2A and 2B; add the chamfers and the bell mouth of the hole.",),
        source="FED-STD-H28/2B; class limits of ASME B1.1 (from memory)",
        validity="inch threads of 1/4 to 1 1/2 in",
        caution=("A stripped hole is not seen from outside: feel for a torque that stops rising.",),
    )


THREAD, GRADE = (
    Field("thread", "Thread", "", "M12", words=True),
    Field("grade", "Class or grade", "", "10.9", words=True),
)
BOLTS = (
    Entry("bolt_strength", "Stress area and proof load", "Bolts", (THREAD, GRADE), bolt_strength,
          "ISO 898-1: M12 has 84.3 mm² and 70.0 kN in class 10.9 (84.27 and 69.9 from unrounded figures)"),
    Entry(
        "assembly_values", "Most torque by VDI 2230", "Bolts",
        (
            Field("thread", "Thread", "", "M12x1.25", words=True), GRADE,
            Field("friction", "Friction of thread and head", "", "0.12"),
            Field("face", "Bearing face of the head, diameter", "mm", "16.6"),
            Field("hole", "Hole, diameter", "mm", "13.5"),
        ),
        assembly, "published table of VDI 2230: M12×1.25 10.9 at 0.12 is 70.5 kN and 133 N·m, within 1 %",
    ),
    Entry(
        "lubricant_change", "Torque with another lubricant", "Bolts",
        (
            Field("torque", "Torque before", "N·m", "126"),
            Field("before", "Nut factor before", "", "0.20"),
            Field("after", "Nut factor now", "", "0.12"),
        ),
        lubricant, CALCULATED + ": M12 at 52.5 kN, 126 N·m at 0.20 and 75.6 N·m at 0.12", also="oil dry adhesive",
    ),
    Entry(
        "clamp_capacity", "Torque a bolt circle carries", "Bolts",
        (
            Field("count", "Bolts", "", "10"),
            Field("preload", "Preload of a bolt", "kN", "52.5"),
            Field("friction", "Friction of the faces", "", "0.15"),
            Field("radius", "Radius of the bolt circle", "mm", "85"),
            Field("scatter", "Tightening factor, 1 when left out", "", "1.6", needed=False),
        ),
        clamp, CALCULATED + ": 10 · 52.5 kN · 0.15 · 0.085 m / 1.6 = 4183.6 N·m", also="ring gear",
    ),
    Entry(
        "tightening_order", "Order and passes of a bolt circle", "Bolts",
        (
            Field("count", "Bolts", "", "10"),
            Field("target", "Torque of a bolt", "ft-lb", "90"),
            Field("wrench", "Length of the wrench", "in", "", needed=False),
            Field("extension", "Length of the extension", "in", "", needed=False),
            Field("angle", "Angle, 0 straight on", "deg", "", needed=False),
        ),
        order, CALCULATED + ": ten bolts, 1 6 3 8 2 7 4 9 5 10", also="sequence star pattern",
    ),
    Entry(
        "engagement", "Thread engagement", "Bolts",
        (
            Field("thread", "Thread", "", "1/2-20", words=True),
            Field("bolt", "Tensile strength of the bolt", "ksi", "150"),
            Field("nut", "Tensile strength of the tapped part", "ksi", "60"),
        ),
        engagement, "a public library of FED-STD-H28/2B: 1/2-20, 150 in 60 ksi, 0.739 in", also="tapped hole depth",
    ),
)  # fmt: skip
