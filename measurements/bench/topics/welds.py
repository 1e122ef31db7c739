"""Welds: carbon equivalents, cooling time, plugs, and until when a welder is qualified."""

from __future__ import annotations

from datetime import date, timedelta

from measurements.bench.answer import Answer, Line, Tone
from measurements.bench.book import Entry, Field
from measurements.bench.given import Given, figure
from measurements.bench.topics.typed import CALCULATED, ENGINEER, fixed, number, turned, whole
from measurements.engineering.limits import plain
from measurements.engineering.plug_welds import (
    least_spacing,
    plug_metal_g,
    plug_rule,
    plug_shear_lbf,
    plug_torque_lbf_in,
)
from measurements.engineering.preheat import cooling_time
from measurements.engineering.qualification import Scheme, qualified_until
from measurements.engineering.validity import OutsideValidity, require
from measurements.engineering.welds import Equivalent, carbon_equivalent

HOT = ("Hot metal looks cold. Gloves, extraction, fire watch; the qualified procedure stands above this.",)
_ELEMENTS = {
    "carbon": "C", "manganese": "Mn", "silicon": "Si", "chromium": "Cr", "molybdenum": "Mo", "vanadium": "V",
    "nickel": "Ni", "copper": "Cu", "boron": "B",
}  # fmt: skip
_SCHEMES = {
    "AWS D1.1": Scheme.AWS_D1_1,
    "ISO 9606-1, tested anew every 3 years": Scheme.ISO_9606_RETEST,
    "ISO 9606-1, with test evidence every 2 years": Scheme.ISO_9606_EVIDENCE,
    "ISO 9606-1, under ISO 3834": Scheme.ISO_9606_WITH_ISO_3834,
}


def equivalents(given: Given) -> Answer:
    """Figures: the elements in %."""
    analysis = {symbol: given.figures[name] for name, symbol in _ELEMENTS.items() if name in given.figures}
    found = {kind: carbon_equivalent(analysis, kind) for kind in Equivalent}
    missing = dict.fromkeys(name for one in found.values() for name in one.assumed_zero)
    told = ", ".join(f"{kind.value[0]} {figure(one.value, 4)}" for kind, one in found.items())
    flagged = f" Counted as 0, since not typed: {', '.join(missing)}." if missing else ""
    return Answer(
        f"{told} %.{flagged}",
        Tone.KNOW,
        tuple(Line(kind.value[0], figure(one.value, 5, "%"), note=one.remark) for kind, one in found.items()),
        reason=("A missing element would raise the figure: ask for the certificate.",) if missing else (),
        worked=(
            "CE = C + Mn/6 + (Cr+Mo+V)/5 + (Ni+Cu)/15; CET = C + (Mn+Mo)/10 + (Cr+Cu)/20 + Ni/40",
            "Pcm = C + Si/30 + (Mn+Cu+Cr)/20 + Ni/60 + Mo/15 + V/10 + 5B",
            "with " + ", ".join(f"{name} {plain(value)}" for name, value in analysis.items()),
        ),
        source="carbon equivalents CE (IIW), CET (EN 1011-2) and Pcm as quoted",
        validity="unalloyed and low-alloy steel; carbon and manganese must be known",
        caution=HOT,
    )


def cooling(given: Given) -> Answer:
    """Figures: heat (kJ/mm), thickness (mm), preheat (°C), shape."""
    heat, plate, warm, shape = (number(given, name, "1") for name in ("heat", "thickness", "preheat", "shape"))
    found = cooling_time(heat, plate, warm, shape_2d=shape, shape_3d=shape)
    flow = "through the plate only" if found.two_dimensional else "also down into the plate"
    formula = (
        "(4300 - 4.3 T0) · 10⁵ · (Q/d)² · [1/(500-T0)² - 1/(800-T0)²]" if found.two_dimensional
        else "(6700 - 5 T0) · Q · [1/(500-T0) - 1/(800-T0)]"
    )  # fmt: skip
    return Answer(
        f"From 800 to 500 °C it takes {fixed(found.seconds, 2, 's')}.",
        Tone.KNOW,
        (
            Line("t8/5", fixed(found.seconds, 2, "s"), note=f"heat flows {flow}"),
            Line("transition thickness", fixed(found.transition_mm, 2, "mm")),
        ),
        worked=(f"t8/5 = {formula} · {shape:g}, Q {heat:g} kJ/mm, d {plate:g} mm, T0 {warm:g} °C",),
        assumed=("Shape factor 1 is a bead on plate, 0.9 a butt weld between runs.",),
        source="EN 1011-2 annex D as quoted",
        validity="unalloyed and low-alloy steel, preheat up to 450 °C, 0.1 to 10 kJ/mm",
        caution=HOT,
    )


def plug(given: Given) -> Answer:
    """Figure: thickness (in)."""
    rule = plug_rule(given.figures["thickness"])
    spacing = least_spacing(rule.least_hole)
    hole = f"{figure(rule.least_hole, 5)} to {figure(rule.most_hole, 5, 'in')}"
    return Answer(
        f"Hole {hole}, filled {figure(rule.fill, 4, 'in')} deep.",
        Tone.KNOW,
        (
            Line("least hole", figure(rule.least_hole, 4, "in"), turned(rule.least_hole, "in", "mm", 2)),
            Line("largest hole", figure(rule.most_hole, 5, "in"), turned(rule.most_hole, "in", "mm", 2)),
            Line("fill", figure(rule.fill, 4, "in"), turned(rule.fill, "in", "mm", 2)),
            Line("centres apart, at least", figure(spacing, 3, "in"), note="four least holes; 4 times a larger one"),
        ),
        worked=(f"least = {plain(given.figures['thickness'])} + 5/16, up to the next 1/16; most = +1/8 or 2 1/4 · t",),
        assumed=("Drill the outer part only; the part under it is a weldable steel.",),
        source="AWS D1.1 as quoted publicly (spacing from memory); the clause moves with the edition",
        validity="parts of 1/8 to 2 in",
        caution=HOT,
    )


def plug_strength(given: Given) -> Answer:
    """Figures: count, diameter, depth (in), metal (ksi), fit_diameter (in)."""
    count, hole = whole(given, "count", "Plugs"), number(given, "diameter")
    one = plug_shear_lbf(hole, number(given, "metal"))
    torque = plug_torque_lbf_in(count, one, number(given, "fit_diameter")) / 12
    lines = [
        Line("one plug, shear", fixed(one, 1, "lbf"), turned(one, "lbf", "kN", 2)),
        Line("torque of all", fixed(torque, 1, "ft-lb"), turned(torque, "ft-lb", "N·m", 1)),
    ]
    if "depth" in given.figures:
        grams = plug_metal_g(count, hole * 25.4, number(given, "depth") * 25.4)
        lines.append(Line("weld metal to fill them", fixed(grams, 1, "g")))
    return Answer(
        f"Each plug may carry {fixed(one, 1, 'lbf')}, all of them {fixed(torque, 1, 'ft-lb')}.",
        Tone.KNOW,
        tuple(lines),
        reason=("Never add the friction of the press fit: the stiffer path loads first. The larger alone counts.",),
        worked=(
            f"F = 0.30 · {number(given, 'metal'):g} ksi · π/4 · {hole:g}² = {fixed(one, 1, 'lbf')}",
            f"T = {count} · F · {number(given, 'fit_diameter'):g} / 2",
        ),
        source="AWS D1.1 (share 0.30 from memory)",
        validity="weld metal of 40 to 120 ksi",
        caution=(*HOT, *ENGINEER),
    )


def _day(text: str, what: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as fault:
        raise OutsideValidity(f"{what}: “{text[:20]}” is no day. Write it as year-month-day: 2026-03-02.") from fault


def qualification(given: Given) -> Answer:
    """Facts: issued, uses (days in a row), today, scheme."""
    issued, today = _day(given.fact("issued"), "Day of the test"), _day(given.fact("today"), "Day asked for")
    texts = given.fact("uses").replace(";", " ").split()
    require(len(texts) <= 60, f"{len(texts)} days were typed; 60 can be taken.")
    uses = [_day(text, f"Days of use: day {number}") for number, text in enumerate(texts, start=1)]
    until = qualified_until(issued, uses, _SCHEMES[given.fact("scheme")])
    left = until.days_left(today)
    holds = until.on(today) and issued <= today
    last, days = until.ends - timedelta(days=1), f"{left} day is left" if left == 1 else f"{left} days are left"
    if today < issued:
        says = f"Not qualified on {today}: the test was on {issued}."
    elif holds:
        says = f"Qualified on {today}: the last day is {last}, {days}."
    else:
        says = f"Not qualified on {today}: the last day was {last}."
    return Answer(
        says,
        Tone.GO if holds else Tone.STOP,
        (Line("last day", str(last)), Line("why it ends", until.reason)),
        worked=(f"tested {issued}, used on {len(uses)} days; six calendar months from the last use that counts",),
        assumed=("The process is the one on the certificate. Work done while lapsed does not bring it back.",),
        source="AWS D1.1 (six months) and ISO 9606-1 as quoted",
        validity="one process of one welder",
        caution=("Nobody welds on a lapsed qualification: ask for the test first.",),
    )


_EXAMPLE = "C 0.1 Si 0.3 Mn 1 Cu 0.2 Cr 0.3 Ni 0.3 Mo 0.1 V 0.02 B 0.001"
_SHOWN = dict(zip(_EXAMPLE.split()[::2], _EXAMPLE.split()[1::2], strict=True))
WELDS = (
    Entry(
        "carbon_equivalent", "Carbon equivalents", "Welds",
        tuple(
            Field(name, name.capitalize(), "%", _SHOWN[symbol], needed=symbol in ("C", "Mn"))
            for name, symbol in _ELEMENTS.items()
        ),
        equivalents, f"a public worked example of Pcm: {_EXAMPLE} is 0.20367", also="CE CET Pcm chemistry steel",
    ),
    Entry(
        "cooling_time", "Cooling time of a weld", "Welds",
        (
            Field("heat", "Heat input, kJ/mm", "", "1.2"),
            Field("thickness", "Plate", "mm", "10"),
            Field("preheat", "Preheat", "C", "20"),
            Field("shape", "Shape factor, 1 when left out", "", "", needed=False),
        ),
        cooling, "a public worked example of EN 1011-2 annex D: 1.2 kJ/mm on 10 mm is 16.36 s", also="t8/5",
    ),
    Entry("plug_weld", "Plug weld: hole, fill, spacing", "Welds",
          (Field("thickness", "Thickness of the outer part", "in", "0.375"),),
          plug, "rules of AWS D1.1 from memory: 3/8 in takes 11/16 to 27/32 in, filled 3/8 in", also="rosette"),
    Entry(
        "plug_strength", "Shear of plug welds", "Welds",
        (
            Field("count", "Plugs", "", "4"),
            Field("diameter", "Diameter of a plug", "in", "0.75"),
            Field("metal", "Strength of the weld metal", "ksi", "70"),
            Field("fit_diameter", "Fit diameter", "in", "3.5"),
            Field("depth", "Depth of the fill", "in", "", needed=False),
        ),
        plug_strength, CALCULATED + ": 0.30 · 70 000 · π/4 · 0.75² = 9277.5 lbf", also="torque rosette",
    ),
    Entry(
        "qualification", "Until when a welder is qualified", "Welds",
        (
            Field("issued", "Day of the test, year-month-day", "", "2025-08-31", words=True),
            Field("uses", "Days on which the process was used", "", "", needed=False, words=True),
            Field("today", "Day asked for", "", "2026-02-27", words=True),
            Field("scheme", "By", "", "AWS D1.1", choices=tuple(_SCHEMES)),
        ),
        qualification, "calendar: 31 August and six months end with February (calculated)", also="certificate dates",
    ),
)  # fmt: skip
