"""Gears: backlash and shift, the pinion's depth and marks, the shim pack, the round and the pattern."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from measurements.bench.answer import Answer, Line, Tone
from measurements.bench.book import Entry, Field, Part
from measurements.bench.gear import backlash_round
from measurements.bench.given import Given, figure, in_mm
from measurements.bench.marks import CUTS, EDGE
from measurements.bench.pattern import tooth_pattern
from measurements.bench.topics.typed import CALCULATED, TURNING, fixed, number, turned, whole
from measurements.engineering.gears.backlash import DialSet, Teeth, backlash_per_shift
from measurements.engineering.gears.drawer import choose_pack
from measurements.engineering.gears.pinion import MARK_UNIT_IN, MarkSign, depth_shim, shim_for_marks
from measurements.engineering.limits import plain
from measurements.engineering.validity import require

R, LOW, HIGH = Part.READING, Part.LOW, Part.HIGH
_DIALS: Mapping[str, DialSet] = {dial.value: dial for dial in DialSet}
_SIGNS: Mapping[str, MarkSign] = {sign.value: sign for sign in MarkSign}
_MOST_SIZES = 8
_MOST_PACK = 10
_MARKS = ("centre", "high", "low", "toe", "heel", "high toe", "high heel", "low toe", "low heel", EDGE)


def backlash_shift(given: Given) -> Answer:
    """Figures: pinion, ring (teeth), drive, coast, spiral (degrees), shift (in). Fact: dial."""
    teeth = Teeth.of_ring(
        whole(given, "pinion", "Pinion teeth"), whole(given, "ring", "Ring gear teeth"),
        number(given, "drive"), number(given, "coast"), number(given, "spiral"),
    )  # fmt: skip
    factor = backlash_per_shift(teeth, _DIALS[given.fact("dial")])
    shift = number(given, "shift")
    return Answer(
        f"Moving the ring gear {fixed(shift, 4, 'in')} changes the backlash by {fixed(shift * factor, 4, 'in')}.",
        Tone.KNOW,
        (
            Line("backlash for each unit of shift", fixed(factor, 4), note=f"read {given.fact('dial')}"),
            Line("pitch angle of the ring gear", f"{fixed(teeth.pitch_angle_deg, 2)}°"),
            Line("change of backlash", fixed(shift * factor, 4, "in"), turned(shift * factor, "in", "mm", 3)),
        ),
        reason=("Away from the pinion is more backlash, toward it is less.",),
        worked=(
            f"k = sin {fixed(teeth.pitch_angle_deg, 2)}° · (tan {teeth.drive_angle_deg:g}°"
            f" + tan {teeth.coast_angle_deg:g}°), for the way of reading = {fixed(factor, 4)}",
        ),
        assumed=("Shafts at a right angle; a hypoid set has its own angles, there the factor is only indicative.",),
        source="derived from rigid flanks, checked by turning them back to contact (calculated)",
        validity="flank angles 5 to 40°, spiral 0 to 60°, small shifts of a set that meshes",
        caution=TURNING,
    )


def pinion_depth(given: Given) -> Answer:
    """Figures: axis_to_seat, mounting, bearing (mm), mark (whole), mark_unit (mm)."""
    figures, mark = given.figures, whole(given, "mark", "Mark on the pinion")
    unit = figures.get("mark_unit", Decimal("0.01"))
    shim = depth_shim(figures["axis_to_seat"], figures["mounting"], figures["bearing"], mark, unit)
    return Answer(
        f"Start with a head shim of {figure(shim, 3, 'mm')}.",
        Tone.DO,
        (Line("head shim", figure(shim, 3, "mm"), turned(shim, "mm", "in", 4)),),
        worked=(
            f"shim = {plain(figures['axis_to_seat'])} - ({plain(figures['mounting'])} + {mark} · {plain(unit)})"
            f" - {plain(figures['bearing'])} = {figure(shim, 3, 'mm')}",
        ),
        assumed=("The shim sits under the head-bearing cup; a plus mark means a longer mounting distance.",),
        source="stack of the four lengths (calculated); the sign of the mark belongs to the product",
        validity="marks from -30 to +30; the contact pattern decides",
        caution=TURNING,
    )


def pinion_marks(given: Given) -> Answer:
    """Figures: shim (in), old_mark, new_mark (whole). Fact: sign."""
    old, new = (whole(given, name, label) for name, label in (("old_mark", "Old mark"), ("new_mark", "New mark")))
    found = shim_for_marks(given.figures["shim"], old, new, _SIGNS[given.fact("sign")], MARK_UNIT_IN)
    way = "thicker" if found.change > 0 else "thinner"
    change = "the same shim" if not found.change else f"{figure(abs(found.change), 4, 'in')} {way}"
    return Answer(
        f"Try a head shim of {figure(found.new, 4, 'in')} first: {change}.",
        Tone.DO,
        (Line("head shim", f"{figure(found.old, 4)} -> {figure(found.new, 4)} in", in_mm(found.new)),),
        reason=(found.says,),
        worked=(f"change = {figure(found.change * 1000, 1)} thousandths for {new - old:+d} on the mark: {change}",),
        assumed=("One mark is .001 in.",),
        source="TM 9-2320-266-34 (plus needs less) and TM 5-3895-369-14 table 5-4 (plus needs more): the two differ",
        validity="marks from -30 to +30; a first shim to try, the contact pattern decides",
        caution=TURNING,
    )


def shim_pack(given: Given) -> Answer:
    """Figures: target, tolerance (mm). Role: sizes (mm)."""
    sizes = given.values("sizes")
    require(len(sizes) <= _MOST_SIZES, f"{len(sizes)} sizes were typed; {_MOST_SIZES} can be searched.")
    target, room = given.figures["target"], given.figures.get("tolerance", Decimal(0))
    require(target <= _MOST_PACK, f"A pack of {plain(target)} mm is no shim pack: at most {_MOST_PACK} mm.")
    pack = choose_pack(target, sizes, room)
    pieces = " + ".join(plain(Decimal(str(float(piece)))) for piece in pack.pieces)
    return Answer(
        f"Take {pieces} = {figure(pack.total, 3, 'mm')}.",
        Tone.DO,
        (
            Line("pieces", str(len(pack.pieces)), note=pieces),
            Line("pack", figure(pack.total, 3, "mm"), turned(pack.total, "mm", "in", 4)),
        ),
        reason=("Few pieces: each joint of a pack gives way a little.",),
        worked=(f"fewest pieces whose sum is {plain(target)} within {plain(room)}: {pieces}",),
        assumed=("Enough of each size are in the drawer; measure the pack before it is fitted.",),
        source="the search is exact; fewest pieces is common practice, no source",
        validity=f"at most {_MOST_SIZES} sizes and 12 pieces, sizes above zero",
        caution=("Shim edges cut.",),
    )


def round_of_points(given: Given) -> Answer:
    """The advice of the bench from points in their order. Role: points; limits of points and variation (in)."""
    count = len(given.values("points"))
    require(count >= 4, f"{count} points were typed; a round needs 4, and 8 to tell an oval gear from a bad tooth.")
    return backlash_round(replace(given, figures={**given.figures, "points": Decimal(count)}))


def contact_pattern(given: Given) -> Answer:
    """The advice of the bench. Facts: cut, drive, coast, head_shim (where it sits). Figures: depth_step; head (in)."""
    readings = {"cut": {"": given.fact("cut")}, "mark": {name: given.fact(name) for name in ("drive", "coast")}}
    head = given.figures.get("head")
    if head is not None:
        readings |= {"head": {"": head}}  # type: ignore[dict-item]
    sits = Decimal(given.fact("head_shim") == _THICKER[0])
    return tooth_pattern(replace(given, readings=readings, figures={**given.figures, "thicker_is_in": sits}))


_THICKER = ("thicker moves the pinion in", "thicker moves the pinion out")
GEARS = (
    Entry(
        "backlash_shift", "Backlash when the ring gear is moved", "Gears",
        (
            Field("pinion", "Pinion teeth", "", "10"),
            Field("ring", "Ring gear teeth", "", "41"),
            Field("drive", "Flank angle of the drive side", "deg", "20"),
            Field("coast", "Flank angle of the coast side", "deg", "20"),
            Field("spiral", "Spiral angle, 0 straight", "deg", "0", needed=False),
            Field("dial", "The dial stands", "", DialSet.SQUARE_TO_TOOTH.value, choices=tuple(_DIALS)),
            Field("shift", "The ring gear moves by", "in", "0.010"),
        ),
        backlash_shift, CALCULATED + ": 41/10 straight, 20° flanks, square to the tooth: 0.7072", also="shim factor",
    ),
    Entry(
        "pinion_depth", "Head shim from the depth", "Gears",
        (
            Field("axis_to_seat", "Ring gear axis to the shim's seat", "mm", "112.65"),
            Field("mounting", "Mounting distance of the drawing", "mm", "76.20"),
            Field("mark", "Mark on the pinion, with its sign", "", "5", needed=False),
            Field("mark_unit", "One mark is", "mm", "0.01", needed=False),
            Field("bearing", "Height of the head bearing", "mm", "34.92"),
        ),
        pinion_depth, CALCULATED + ": 112.65 - (76.20 + 0.05) - 34.92 = 1.48 mm", also="shim pinion",
    ),
    Entry(
        "pinion_marks", "Head shim for another pinion mark", "Gears",
        (
            Field("shim", "Head shim that was in", "in", "0.0300"),
            Field("old_mark", "Mark of the old pinion", "", "2"),
            Field("new_mark", "Mark of the new pinion", "", "-1"),
            Field("sign", "On this product", "", MarkSign.PLUS_NEEDS_MORE.value, choices=tuple(_SIGNS)),
        ),
        pinion_marks, "TM 5-3895-369-14 table 5-4: +2 to -1 is .003 in less", also="shim depth",
    ),
    Entry(
        "shim_pack", "Shim pack from the drawer", "Gears",
        (
            Field("target", "Pack wanted", "mm", "0.88"),
            Field("sizes", "Sizes in the drawer", "mm", "0.08 0.13 0.25 0.50", R, several=True),
            Field("tolerance", "May differ by", "mm", "", needed=False),
        ),
        shim_pack, CALCULATED + ": 0.13 + 0.25 + 0.50 = 0.88", also="thickness pieces",
    ),
    Entry(
        "backlash_round", "Backlash round the gear", "Gears",
        (
            Field("points", "Backlash at equal steps round, in order", "in",
                  "0.0072 0.0079 0.0082 0.0079 0.0072 0.0065 0.0062 0.0065", R, several=True),
            Field("low", "Least at a point", "in", "0.0060", LOW, role="points"),
            Field("high", "Most at a point", "in", "0.0100", HIGH, role="points"),
            Field("variation", "Most between largest and smallest", "in", "0.0015", HIGH),
            Field("read_to", "The dial repeats to", "in", "0.0002"),
            Field("factor", "Backlash for each unit of shift", "", "0.65"),
            Field("bench_runout", "Back-face runout on the bench", "in", "", R, needed=False),
            Field("housing_runout", "Back-face runout in the housing", "in", "", R, needed=False),
        ),
        round_of_points, CALCULATED + ": mean 0.0072, once per turn 0.0010 with its top at 90°", also="runout points",
    ),
    Entry(
        "contact_pattern", "Contact pattern by cut", "Gears",
        (
            Field("cut", "How the gears are cut", "", "face-milled", choices=tuple(CUTS)),
            Field("drive", "Mark on the drive side", "", "low toe", choices=_MARKS),
            Field("coast", "Mark on the coast side", "", "low heel", choices=_MARKS),
            Field("head_shim", "Head shim of this product", "", _THICKER[0], choices=_THICKER),
            Field("depth_step", "First step of depth", "in", "0.004"),
            Field("head", "Head shim pack now", "in", "", needed=False),
        ),
        contact_pattern, "public army manual: face-milled, drive low toe with coast low heel is a pinion too deep",
        also="tooth mark teeth",
    ),
)  # fmt: skip
