"""Angles, straightness and lengths of an axle."""

from __future__ import annotations

from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone
from measurements.bench.book import Entry, Field, Part
from measurements.bench.given import Given, figure, mean
from measurements.bench.topics.typed import CALCULATED, fixed, joined, number, turned
from measurements.engineering.geometry.angles import clock_difference, reverse
from measurements.engineering.geometry.joints import (
    PhasedJoint,
    acceleration,
    compound_angle,
    driveline,
    joint,
    velocity_ratio,
)
from measurements.engineering.geometry.lengths import AxleWidth, Side, cut_length
from measurements.engineering.geometry.straightness import end_offset
from measurements.engineering.limits import plain
from measurements.engineering.validity import require

_SHAFT = ("A turning shaft catches sleeves: guard it, and never measure on it while it turns.",)


def pinion_angle(given: Given) -> Answer:
    """Figures: first, reversed (degrees)."""
    first, second = given.figures["first"], given.figures["reversed"]
    found = reverse(first, second)
    return Answer(
        f"The true angle is {figure(found.true_deg, 2)}°.",
        Tone.KNOW,
        (
            Line("true angle", f"{figure(found.true_deg, 2)}°"),
            Line("zero error of the gauge", f"{figure(found.zero_error_deg, 2)}°"),
        ),
        worked=(f"true = ({plain(first)} - {plain(second)})/2, zero error = ({plain(first)} + {plain(second)})/2",),
        assumed=("The gauge was turned end for end on the same place.",),
        source="reversal of a level (textbook metrology)",
        validity="readings from -90 to +90°",
        caution=("Support the axle before leaning over it.",),
    )


def clocking(given: Given) -> Answer:
    """Figures: one, other (degrees)."""
    one, other = given.figures["one"], given.figures["other"]
    found = clock_difference(one, other)
    return Answer(
        f"The ends are clocked {figure(found, 2)}° apart.",
        Tone.KNOW,
        (Line("difference", f"{figure(found, 2)}°", note="the short way round"),),
        worked=(f"(({plain(one)} - {plain(other)} + 180) mod 360) - 180 = {figure(found, 2)}°",),
        source="arithmetic",
        validity="any clock readings in degrees",
    )


def joint_angle(given: Given) -> Answer:
    """Figures: vertical, horizontal (degrees), rpm."""
    up, across, rpm = (number(given, name) for name in ("vertical", "horizontal", "rpm"))
    angle = compound_angle(up, across)
    found, pull = joint(angle), acceleration(angle, rpm)
    ripple = [f"{velocity_ratio(angle, degree):.6f}" for degree in range(0, 361, 10)]
    return Answer(
        f"The joint works at {fixed(angle, 4)}°: the driven shaft runs from {fixed(found.slowest, 4)} to"
        f" {fixed(found.fastest, 4)} times the speed, twice in a turn.",
        Tone.KNOW,
        (
            Line("joint angle", f"{fixed(angle, 4)}°"),
            Line("unevenness", fixed(found.unevenness, 6), note="published for a whole driveline: at most 0.0027"),
            Line("greatest lead", f"{fixed(found.lead_deg, 4)}°"),
            Line("greatest acceleration", fixed(pull, 1, "rad/s²"), note=f"at {rpm:g} rpm"),
        ),
        reason=("300 to 400 rad/s² is common guidance (from memory).",),
        worked=(
            f"angle = atan √(tan² {up:g}° + tan² {across:g}°) = {fixed(angle, 4)}°",
            f"unevenness = tan · sin of it = {fixed(found.unevenness, 6)}",
        ),
        source="kinematics of the cross joint; 0.0027 as published for a whole driveline",
        validity="0 to 45°, a steady speed",
        caution=_SHAFT,
        picture=Picture("turn", {"values": ripple, "says": "speed of the driven shaft"}),
    )


def whole_driveline(given: Given) -> Answer:
    """Roles: adds and takes, joint angles in degrees whose ripple adds to the first or takes from it."""
    both = (("adds", given.values("adds")), ("takes", given.values("takes")))
    found = driveline([PhasedJoint(float(one), kind == "adds") for kind, angles in both for one in angles])
    equal = f"{fixed(found.equivalent_deg, 2)}°"
    return Answer(
        f"Together they are as uneven as one joint at {equal}"
        + (": inside the published 2.98°." if found.within else ": more than the published 2.98°."),
        Tone.KNOW if found.within else Tone.STOP,
        (Line("equal to one joint at", equal), Line("unevenness", fixed(found.unevenness, 6), note="at most 0.0027")),
        worked=(f"√|sum of squares| of {joined(both[0][1])} less those of {joined(both[1][1]) or 'none'} = {equal}",),
        assumed=("The yokes are phased as typed: in one plane the second joint takes away what the first adds.",),
        source="kinematics of the cross joint; unevenness of at most 0.0027 as published",
        validity="each joint 0 to 45°",
        caution=_SHAFT,
    )


def straightness(given: Given) -> Answer:
    """Roles: vertical and horizontal (mm): as read, and again with the bar turned by 180°. Figure: length (mm)."""
    read = [given.values(name) for name in ("vertical", "horizontal")]
    require(all(len(one) <= 2 for one in read), "At most two figures each: as read, and with the bar turned.")
    require(len(read[0]) == len(read[1]), "Type as many vertical figures as horizontal ones.")
    up, forward = (mean(one) for one in read)
    found = end_offset(up, forward, given.figures["length"])
    bar = [] if len(read[0]) == 1 else [(Fraction(one[0]) - Fraction(one[1])) / 2 for one in read]
    lines = [
        Line("offset of the end", fixed(found.size, 4, "mm"), turned(found.size, "mm", "in", 4)),
        Line("direction", f"{fixed(found.direction_deg, 2)}°", note="0 straight forward, 90 straight up"),
        Line("toe and camber", f"{fixed(found.toe_deg, 4)}° and {fixed(found.camber_deg, 4)}°"),
    ]
    if bar:
        lines.append(Line("the bar's own error", f"{fixed(bar[0], 4)} up, {fixed(bar[1], 4)} forward, mm"))
    return Answer(
        f"The end lies {fixed(found.size, 4, 'mm')} off, at {fixed(found.direction_deg, 2)}°.",
        Tone.KNOW,
        tuple(lines),
        worked=(
            f"size = √({fixed(up, 4)}² + {fixed(forward, 4)}²)",
            f"direction = atan2({fixed(up, 4)}, {fixed(forward, 4)})",
        ),
        assumed=(
            "The mean of both ways is free of the bar's bend; its sag stays." if bar
            else "The bar is straight: it was not turned by 180° and read again.",
        ),
        source="arithmetic; reversal of the bar (textbook metrology)",
        validity="angles up to 10°",
        caution=("A straightening press springs back: stand clear of the housing, chain what can jump.",),
    )  # fmt: skip


def tube_lengths(given: Given) -> Answer:
    """Figures: width, centre, insertion, end_fitting, root_gap, weld_shrink, offset (mm)."""
    parts = {name: given.figures.get(name, Fraction(0)) for name in _LENGTHS}
    axle = AxleWidth(**parts)
    left, right = (cut_length(axle, side) for side in Side)
    shown = {name: fixed(value, 2) for name, value in parts.items()}
    return Answer(
        f"Cut the left tube to {figure(left, 2, 'mm')} and the right one to {figure(right, 2, 'mm')}.",
        Tone.DO,
        (
            Line("left tube", figure(left, 2, "mm"), turned(left, "mm", "in", 4)),
            Line("right tube", figure(right, 2, "mm"), turned(right, "mm", "in", 4)),
        ),
        worked=(
            f"L = ({shown['width']} - {shown['centre']})/2 ± {shown['offset']} + {shown['insertion']}"
            f" - {shown['end_fitting']} - {shown['root_gap']} + {shown['weld_shrink']}",
        ),
        assumed=("All lengths at 20 °C; the weld shrink is from this shop's own history.",),
        source="arithmetic of the axle's width",
        validity="a centre narrower than the axle",
        caution=("Measure twice, mark the heat on both pieces before the cut; an off-cut rolls.",),
    )


_LENGTHS = ("width", "centre", "insertion", "end_fitting", "root_gap", "weld_shrink", "offset")
R = Part.READING
GEOMETRY = (
    Entry("pinion_angle", "Pinion angle by reversal", "Geometry",
          (Field("first", "Gauge reads", "deg", "3.4"),
           Field("reversed", "Turned end for end it reads", "deg", "-2.8")),
          pinion_angle, CALCULATED + ": (3.4 + 2.8)/2 = 3.10°, zero error 0.30°", also="inclinometer level"),
    Entry("clocking", "Clocking of two ends", "Geometry",
          (Field("one", "One end", "deg", "358"), Field("other", "Other end", "deg", "3")),
          clocking, CALCULATED + ": 358° and 3° are -5° apart", also="angle difference"),
    Entry(
        "joint_angle", "Joint angle and ripple", "Geometry",
        (
            Field("vertical", "Angle seen from the side", "deg", "3"),
            Field("horizontal", "Angle seen from above", "deg", "2"),
            Field("rpm", "Speed, turns in a minute", "", "3000"),
        ),
        joint_angle, CALCULATED + ": atan √(tan² 3° + tan² 2°) = 3.6035°", also="universal driveline velocity",
    ),
    Entry(
        "driveline", "Joints of a driveline together", "Geometry",
        (
            Field("adds", "Angles of the joints that add", "deg", "5", R, several=True),
            Field("takes", "Angles of those that take away", "deg", "4", R, needed=False, several=True),
        ),
        whole_driveline, CALCULATED + ": √(5² - 4²) = 3.0°", also="universal yoke phase",
    ),
    Entry(
        "straightness", "Straightness from the bar", "Geometry",
        (
            Field("vertical", "Up, as read and with the bar turned", "mm", "0.25", R, several=True),
            Field("horizontal", "Forward, as read and with the bar turned", "mm", "-0.15", R, several=True),
            Field("length", "Length over which it was read", "mm", "760"),
        ),
        straightness, CALCULATED + ": √(0.25² + 0.15²) = 0.2915 mm at 120.96°", also="alignment toe camber",
    ),
    Entry(
        "cut_length", "Cut length from the finished width", "Geometry",
        (
            Field("width", "Finished width", "mm", "1550"),
            Field("centre", "Centre housing over its necks", "mm", "310"),
            Field("insertion", "Tube in the neck", "mm", "95"),
            Field("end_fitting", "End fitting outside", "mm", "60"),
            Field("root_gap", "Root gap", "mm", "1.5", needed=False),
            Field("weld_shrink", "Weld shrink", "mm", "1.0", needed=False),
            Field("offset", "Centre sits to the right by", "mm", "60", needed=False),
        ),
        tube_lengths, CALCULATED + ": 620 + 95 - 60 - 1.5 + 1.0 = 654.5, and 60 either way", also="tube saw",
    ),
)  # fmt: skip
