"""Side shims and bearings: backlash to its place, preload, rotating torque, end play."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Tone
from measurements.bench.book import Entry, Field, Part
from measurements.bench.given import Given, Value, figure, in_mm
from measurements.bench.preload import preload_step
from measurements.bench.shims import SIZES, shim_advice
from measurements.bench.topics.typed import CALCULATED, TURNING, fixed, joined, turned
from measurements.engineering.bearings.end_play import back_off_of_end_play, end_play
from measurements.engineering.bearings.rotating_torque import Torque, carrier_share, total_at_pinion
from measurements.engineering.gears.shims import SideShims, side_shims
from measurements.engineering.limits import plain
from measurements.engineering.validity import above_zero, not_below_zero, require

R, LOW, HIGH = Part.READING, Part.LOW, Part.HIGH
_LEFT_RIGHT = ("left", "right")
_SENSES = ("thicker is less preload", "thicker is more preload")


def shims_of_ring(given: Given) -> Answer:
    """The advice of the bench. Roles: backlash and sizes (in); facts: ring_side. Figures: left, right (packs, in),
    step, read_to, was_pack and was_backlash of one earlier try (in)."""
    figures, side = dict(given.figures), given.fact("ring_side")
    sizes = given.values("sizes")
    require(len(sizes) <= len(SIZES), f"{len(sizes)} drawer sizes were typed; {len(SIZES)} can be taken.")
    packs: dict[str, Value] = {name: figures[name] for name in _LEFT_RIGHT if name in figures}
    require(len(packs) != 1, "Type both side packs, or neither: what one gets the other gives.")
    was = [figures[name] for name in ("was_pack", "was_backlash") if name in figures]
    require(len(was) != 1, "An earlier try is its ring-side pack with its backlash: type both, or neither.")
    for value in (*packs.values(), *was):
        not_below_zero("side pack or its backlash", Decimal(value))
    readings: dict[str, Mapping[str, Value]] = {"backlash": given.readings["backlash"], "packs": packs}
    earlier: dict[str, Mapping[str, Value]] = {}
    if was:
        earlier = {"packs": {side: was[0]}, "backlash": {"": was[1]}}
    figures |= dict(zip(SIZES, sizes, strict=False)) | {"ring_on_left": Decimal(side == "left")}
    return shim_advice(replace(given, readings=readings, figures=figures, tries=[earlier, readings]))


def packs_of_stacks(given: Given) -> Answer:
    """Figures: ring, other (zero-lash stacks), backlash, preload (mm), factor."""
    figures = given.figures
    stacks = SideShims(Fraction(figures["ring"]), Fraction(figures["other"]))
    new = side_shims(stacks, figures["backlash"], figures["preload"], figures["factor"])
    gap = Fraction(figures["backlash"]) / Fraction(figures["factor"])
    return Answer(
        f"Ring side {figure(new.ring, 4, 'mm')}, other side {figure(new.other, 4, 'mm')}.",
        Tone.DO,
        (
            Line("ring side", figure(new.ring, 4, "mm"), turned(new.ring, "mm", "in", 4)),
            Line("other side", figure(new.other, 4, "mm"), turned(new.other, "mm", "in", 4)),
            Line("sum", figure(new.total, 3, "mm"), note="the two stacks and the preload, whatever the backlash"),
        ),
        reason=("More shim on the ring side is less backlash; the sum carries the preload.",),
        worked=(
            f"d = j / k = {plain(figures['backlash'])} / {plain(figures['factor'])} = {figure(gap, 4)}",
            f"ring = {plain(figures['ring'])} - d + {plain(figures['preload'])}/2, other ="
            f" {plain(figures['other'])} + d + {plain(figures['preload'])}/2",
        ),
        source="arithmetic of the stack; more shim on the ring side is less backlash: TM 9-2320-289-34",
        validity="factor 0.3 to 1.3; stacks read with no backlash and no play",
        caution=TURNING,
    )


def preload_next(given: Given) -> Answer:
    """The advice of the bench from all tries. Roles: packs (in), torques (in-lb), alike in number; fact: sense."""
    packs, torques = given.values("packs"), given.values("torque")
    require(
        len(packs) == len(torques),
        f"{len(packs)} packs and {len(torques)} torques were typed: each try has one of both.",
    )
    tries: list[Mapping[str, Mapping[str, Value]]] = [
        {"pack": {"": pack}, "torque": {"": torque}} for pack, torque in zip(packs, torques, strict=True)
    ]
    figures = {**given.figures, "thicker_is_less": Decimal(given.fact("sense") == _SENSES[0])}
    return preload_step(replace(given, readings=tries[-1], figures=figures, tries=tries))


def with_carrier(given: Given) -> Answer:
    """Figures: pinion, carrier (N·m), ratio."""
    pinion, carrier, ratio = (given.figures[name] for name in ("pinion", "carrier", "ratio"))
    found, share = total_at_pinion(pinion, carrier, ratio), carrier_share(carrier, ratio)
    return Answer(
        f"With the carrier in the pinion should turn at {figure(found, 3, 'N·m')}.",
        Tone.KNOW,
        (
            Line("at the pinion", figure(found, 3, "N·m"), turned(found, "N·m", "in-lb", 1)),
            Line("of it the carrier", figure(share, 3, "N·m"), turned(share, "N·m", "in-lb", 1)),
        ),
        worked=(f"M = {plain(pinion)} + {plain(carrier)} / {plain(ratio)} = {figure(found, 3, 'N·m')}",),
        assumed=("Read while turning, no seal, bearings oiled.",),
        source="the carrier's torque over the ratio (calculated); read turning: TM 10-3930-660-34",
        validity="ratio 1 to 15",
        caution=TURNING,
    )


def torque_of_pull(given: Given) -> Answer:
    """Figures: pull (lbf), radius (in)."""
    pull, radius = given.figures["pull"], given.figures["radius"]
    not_below_zero("pull", pull, "lbf")
    above_zero("radius", radius, "in")
    found = Torque.from_inch_pounds(pull * radius)
    return Answer(
        f"The rotating torque is {fixed(found.inch_pounds, 2, 'in-lb')} ({fixed(found.newton_metres, 2, 'N·m')}).",
        Tone.KNOW,
        (Line("rotating torque", fixed(found.inch_pounds, 2, "in-lb"), fixed(found.newton_metres, 2, "N·m")),),
        worked=(f"M = F · r = {plain(pull)} · {plain(radius)} = {plain(pull * radius)} in-lb",),
        assumed=("The pull is square to the radius and steady, the bearings turn; not the pull that starts them.",),
        source="M = F r; read turning, not breakaway: TM 10-3930-660-34",
        validity="a string on a drum or a bar square to the pull",
        caution=TURNING,
    )


def play_of_dial(given: Given) -> Answer:
    """Roles: dial (in), pushed in and pulled out. Figures: wanted (in), threads per inch of the nut."""
    read = given.values("dial")
    play = end_play(read)
    lines = [Line("end play", figure(play, 4, "in"), in_mm(play))]
    worked = [f"play = largest - smallest of {joined(read)} = {figure(play, 4, 'in')}"]
    threads, wanted = given.figures.get("threads"), given.figures.get("wanted")
    require((threads is None) == (wanted is None), "Type the wanted play with the threads of the nut, or neither.")
    if threads is not None and wanted is not None:
        above_zero("threads per inch", threads)
        angle = back_off_of_end_play(1 / Fraction(threads), wanted)
        lines.append(Line("turn the nut back", f"{figure(angle, 0)}°", note="from no play and no preload"))
        worked.append(f"angle = {plain(wanted)} · 360 · {plain(threads)} = {figure(angle, 0)}°")
    return Answer(
        f"The end play is {figure(play, 4, 'in')}.",
        Tone.KNOW,
        tuple(lines),
        reason=("Seen in print: .001 to .005 in for wheel bearings, by dial.",),
        worked=tuple(worked),
        assumed=("The part was not rocked; the bearings were seated by turning.",),
        source="arithmetic; .001 to .005 in by dial: TMC RP 618A as reproduced",
        validity="two readings or more along the axis",
        caution=("Lock the nut as its maker says and read again: the lock takes play away.",),
    )


BEARINGS = (
    Entry(
        "side_shims", "Side shims from the backlash", "Gears",
        (
            Field("backlash", "Backlash at each point", "in", "0.0125 0.0125 0.0125 0.0125", R, several=True),
            Field("low", "Least backlash", "in", "0.0060", LOW, role="backlash"),
            Field("high", "Most backlash", "in", "0.0100", HIGH, role="backlash"),
            Field("step", "Step of the shims", "in", "0.001"),
            Field("read_to", "The dial repeats to", "in", "0.0002"),
            Field("ring_side", "Ring gear on the", "", "left", choices=_LEFT_RIGHT),
            Field("left", "Left pack now", "in", "0.250", needed=False),
            Field("right", "Right pack now", "in", "0.260", needed=False),
            Field("sizes", "Sizes in the drawer", "in", "", R, needed=False, several=True),
            Field("was_pack", "Ring-side pack of an earlier try", "in", "", needed=False),
            Field("was_backlash", "Mean backlash of that try", "in", "", needed=False),
        ),
        shims_of_ring, CALCULATED + ": .0125 to .0080 at .65 is .007, and then .0069 to .0090", also="ring and pinion",
    ),
    Entry(
        "side_packs", "Side packs from zero backlash", "Gears",
        (
            Field("ring", "Stack of the ring side at no backlash", "mm", "6.35"),
            Field("other", "Stack of the other side", "mm", "6.60"),
            Field("backlash", "Backlash wanted", "mm", "0.18"),
            Field("preload", "Preload of both sides together", "mm", "0.20"),
            Field("factor", "Backlash for each unit of shift", "", "0.7072"),
        ),
        packs_of_stacks, CALCULATED + ": 6.35 - 0.2545 + 0.10 = 6.1955 mm, sum 13.150 mm", also="shims",
    ),
    Entry(
        "preload_step", "Next preload shim", "Bearings",
        (
            Field("packs", "Preload packs tried, in order", "in", "0.030 0.028", R, several=True),
            Field("torque", "Rotating torque with each", "in-lb", "8 14", R, several=True),
            Field("low", "Least rotating torque", "in-lb", "20", LOW, role="torque"),
            Field("high", "Most rotating torque", "in-lb", "25", HIGH, role="torque"),
            Field("step", "Step of the shims", "in", "0.001"),
            Field("read_to", "The wrench reads to", "in-lb", "1"),
            Field("sense", "On this product", "", _SENSES[0], choices=_SENSES),
        ),
        preload_next, CALCULATED + ": 3 in-lb for each .001 in, 8.5 wanted, so three steps thinner", also="pinion",
    ),
    Entry(
        "carrier_torque", "Rotating torque with the carrier in", "Bearings",
        (
            Field("pinion", "Pinion alone", "N·m", "2.5"),
            Field("carrier", "Carrier bearings alone", "N·m", "3.0"),
            Field("ratio", "Ratio", "", "4.1"),
        ),
        with_carrier, CALCULATED + ": 2.5 + 3.0 / 4.1 = 3.232 N·m", also="preload share",
    ),
    Entry(
        "pull_torque", "Rotating torque from a pull", "Bearings",
        (Field("pull", "Pull on the string or bar", "lbf", "5"), Field("radius", "Radius", "in", "4")),
        torque_of_pull, CALCULATED + ": 5 · 4 = 20 in-lb = 2.26 N·m", also="preload spring scale",
    ),
    Entry(
        "end_play", "End play of a bearing", "Bearings",
        (
            Field("dial", "Dial pushed in and pulled out", "in", "0.0020 0.0055", R, several=True),
            Field("wanted", "End play wanted", "in", "0.0035", needed=False),
            Field("threads", "Threads of the nut in an inch", "", "16", needed=False),
        ),
        play_of_dial, CALCULATED + ": .0055 - .0020 = .0035 in; .0035 · 16 · 360 = 20°", also="hub wheel nut",
    ),
)  # fmt: skip
