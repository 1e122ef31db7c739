"""Tubes, shafts and splines: sections, bending, torsion."""

from __future__ import annotations

from measurements.bench.answer import Answer, Line, Picture, Tone
from measurements.bench.book import Entry, Field
from measurements.bench.given import Given
from measurements.bench.topics.typed import CALCULATED, ENGINEER, fixed, number, turned, whole
from measurements.engineering.geometry.beams import STEEL_E_MPA, TwoPads, bend
from measurements.engineering.geometry.sections import Tube, section
from measurements.engineering.geometry.shafts import twist_inches, yield_torque
from measurements.engineering.geometry.splines import Spline, SplineFactors, spline_stress
from measurements.engineering.validity import scaled


def tube_section(given: Given) -> Answer:
    """Figures: outside, wall (mm)."""
    tube = Tube(number(given, "outside"), number(given, "wall"))
    found = section(tube)
    return Answer(
        f"Area {fixed(found.area_mm2, 1, 'mm²')}, section modulus {fixed(found.modulus_mm3, 0, 'mm³')}.",
        Tone.KNOW,
        (
            Line("area", fixed(found.area_mm2, 1, "mm²"), fixed(found.area_in2, 4, "in²")),
            Line("second moment of area", fixed(found.bending_mm4, 0, "mm⁴"), fixed(found.bending_in4, 4, "in⁴")),
            Line("section modulus", fixed(found.modulus_mm3, 1, "mm³"), fixed(found.modulus_in3, 4, "in³")),
            Line("mass", fixed(found.mass_kg_m, 3, "kg/m"), fixed(found.mass_lb_ft, 3, "lb/ft")),
        ),
        worked=(
            f"I = π/64 · ({tube.outside_mm:g}⁴ - {tube.inside_mm:g}⁴) = {fixed(found.bending_mm4, 0, 'mm⁴')}",
            f"Z = 2 · I / {tube.outside_mm:g}, A = π/4 · ({tube.outside_mm:g}² - {tube.inside_mm:g}²)",
        ),
        assumed=("Round, of equal wall, steel of 7850 kg/m³. Measure: 1 % of diameter is 4 % of I.",),
        source="textbook mechanics",
        validity="a wall up to half the outside diameter, which is a solid bar",
        caution=("Lift a long tube with an aid.",),
        picture=_picture(tube),
    )


def _picture(tube: Tube) -> Picture:
    data = {"outside": f"{tube.outside_mm:.6g}", "inside": f"{tube.inside_mm:.6g}"}
    return Picture("section", data | {"says": f"Ø {tube.outside_mm:g}, wall {tube.wall_mm:g} mm"})


def tube_bending(given: Given) -> Answer:
    """Figures: outside, wall, arm, track (mm), load (kN)."""
    tube = Tube(number(given, "outside"), number(given, "wall"))
    case = TwoPads(number(given, "load") * 1000, number(given, "arm"), number(given, "track"))
    of_tube = section(tube)
    found = bend(case, of_tube)
    return Answer(
        f"The tube bends {fixed(found.deflection_mm, 3, 'mm')} in the middle at {fixed(found.stress_mpa, 2, 'MPa')}.",
        Tone.KNOW,
        (
            Line("stress", fixed(found.stress_mpa, 2, "MPa"), fixed(found.stress_psi, 0, "psi")),
            Line("deflection in the middle", fixed(found.deflection_mm, 3, "mm"), fixed(found.deflection_in, 4, "in")),
            Line("moment", fixed(found.moment_nm, 1, "N·m"), turned(found.moment_nm, "N·m", "ft-lb", 0)),
        ),
        worked=(
            f"M = {case.pad_load_n:g} · {case.wheel_to_pad_mm:g} N·mm, σ = M / {fixed(of_tube.modulus_mm3, 1)} mm³",
            f"deflection = M · (3 · {case.track_mm:g}² - 4 · {case.wheel_to_pad_mm:g}²) / (24 · {STEEL_E_MPA:g}"
            f" · {fixed(of_tube.bending_mm4, 0)})",
        ),
        assumed=("Steel, one section all along, a still load: a wheel that hits a hole loads several times as much.",),
        source="textbook beam table, two equal loads",
        validity="elastic; pads between the wheels",
        caution=ENGINEER,
        picture=_picture(tube),
    )


def shaft_torsion(given: Given) -> Answer:
    """Figures: diameter, bore, length (in), torque (in-lb), yield_strength (ksi)."""
    outside, bore = number(given, "diameter"), number(given, "bore")
    shaft = Tube.from_inches(outside, (outside - bore) / 2)
    torque, length, steel = (number(given, name) for name in ("torque", "length", "yield_strength"))
    found = twist_inches(shaft, torque, length)
    lines = [
        Line("shear stress", fixed(found.shear_psi, 0, "psi"), fixed(found.shear_mpa, 1, "MPa")),
        Line("twist", f"{fixed(found.twist_deg, 3)}°"),
    ]
    if "yield_strength" in given.figures:
        most = yield_torque(shaft, scaled(steel, "ksi", "MPa"))
        lines.append(Line("torque at first yield", fixed(most.first_ft_lb, 0, "ft-lb"), fixed(most.first_nm, 0, "N·m")))
    return Answer(
        f"The shaft twists {fixed(found.twist_deg, 3)}° at {fixed(found.shear_psi, 0, 'psi')}.",
        Tone.KNOW,
        tuple(lines),
        worked=(
            f"τ = 16 · T · D / (π · (D⁴ - d⁴)), T {torque:g} in-lb, D {outside:g} in, d {bore:g} in",
            f"twist = T · {length:g} / (G · J), G 11.5 million psi",
        ),
        assumed=("Plain round steel; yield in shear is 0.577 of that in tension.",),
        source="textbook mechanics",
        validity="elastic; no spline, keyway or shoulder",
        caution=ENGINEER,
        picture=_picture(shaft),
    )


def spline_torsion(given: Given) -> Answer:
    """Figures: teeth, pitch_diameter, root, length, depth (in), torque (in-lb), application, misalignment, life."""
    sizes = [number(given, name) for name in ("pitch_diameter", "root", "length", "depth")]
    teeth = whole(given, "teeth", "Teeth")
    factors = SplineFactors(*(number(given, name, "1") for name in ("application", "misalignment", "life")))
    torque = number(given, "torque")
    stress = spline_stress(Spline.from_inches(teeth, *sizes), scaled(torque, "in-lb", "N·m"), factors)
    root, tooth, flank, rated = (fixed(one, 0, "psi") for one in stress.in_psi())
    return Answer(
        f"Shear at the root {root}, of the teeth {tooth}; {flank} on the flanks.",
        Tone.KNOW,
        (
            Line("root of the shaft, shear", root, fixed(stress.root_mpa, 0, "MPa")),
            Line("teeth, shear", tooth, fixed(stress.tooth_mpa, 0, "MPa"), "half of the teeth carry"),
            Line("flanks, pressure", flank, fixed(stress.flank_mpa, 0, "MPa"), "bare"),
            Line("flanks, to compare with the allowed", rated, fixed(stress.rated_flank_mpa, 0, "MPa")),
        ),
        worked=(
            f"root = 16 · {torque:g} / (π · {sizes[1]:g}³)",
            f"teeth = 8 · {torque:g} / (π · {sizes[0]:g}² · {sizes[2]:g})",
            f"flanks = 2 · {torque:g} / ({sizes[0]:g} · {teeth} · {sizes[2]:g} · {sizes[3]:g})",
            f"application factor {factors.application:g}, misalignment {factors.misalignment:g}, life {factors.life:g}",
        ),
        source="Machinery's Handbook, 27th ed. p. 2173; geometry of ANSI B92.1",
        validity="side-fit splines of 6 to 100 teeth",
        caution=ENGINEER,
    )


_TUBE = (Field("outside", "Outside diameter", "mm", "88.9"), Field("wall", "Wall", "mm", "12.7"))
STRENGTH = (
    Entry("tube_section", "Section of a tube", "Tubes and shafts", _TUBE, tube_section,
          "a public finite-element section library: 88.9 × 12.7 has 3040 mm² and 2 267 500 mm⁴ (to 0.02 %)",
          also="area mass weight"),
    Entry(
        "tube_bending", "Tube under its two pads", "Tubes and shafts",
        (
            *_TUBE,
            Field("load", "Load at a pad", "kN", "15"),
            Field("arm", "Wheel to pad", "mm", "400"),
            Field("track", "Track", "mm", "1600"),
        ),
        tube_bending, CALCULATED + ": 15 kN · 400 mm / 51 021.8 mm³ = 117.60 MPa, 3.749 mm", also="stress deflection",
    ),
    Entry(
        "shaft_torsion", "Twist of a shaft", "Tubes and shafts",
        (
            Field("diameter", "Diameter", "in", "1.5"),
            Field("bore", "Bore, 0 when solid", "in", "0", needed=False),
            Field("torque", "Torque", "in-lb", "3000"),
            Field("length", "Length", "in", "54"),
            Field("yield_strength", "Yield strength", "ksi", "", needed=False),
        ),
        shaft_torsion, "a textbook example (from memory): 4530 psi and 1.62°", also="torsion stress",
    ),
    Entry(
        "spline", "Stress of a spline", "Tubes and shafts",
        (
            Field("teeth", "Teeth", "", "35"),
            Field("pitch_diameter", "Pitch diameter", "in", "1.45833"),
            Field("root", "Minor diameter of the shaft", "in", "1.40208"),
            Field("length", "Length in contact", "in", "2"),
            Field("depth", "Depth of contact", "in", "0.0375"),
            Field("torque", "Torque", "in-lb", "60000"),
            Field("application", "Application factor", "", "", needed=False),
            Field("misalignment", "Misalignment factor", "", "", needed=False),
            Field("life", "Life factor", "", "", needed=False),
        ),
        spline_torsion, CALCULATED + ": 8 · 60 000 / (π · 1.45833² · 2) = 35 921 psi in the teeth",
        also="torsion shaft teeth",
    ),
)  # fmt: skip
