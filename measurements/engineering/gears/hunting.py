"""Hunting tooth: how often the same two teeth of a pair meet.

Formula: g = greatest common divisor of the tooth counts. A pinion tooth meets Ng/g ring teeth, and the
pattern repeats after Ng/g pinion turns, which are Np/g ring turns.
Symbols: Np pinion teeth, Ng ring teeth. Validity: whole numbers, 5 <= Np <= Ng <= 120.
Source: number theory; class names as in the trade. Marks on sets that do not hunt: common practice, no source.
"""

import math
from dataclasses import dataclass
from enum import Enum

from measurements.engineering.validity import between


class Hunting(Enum):
    """Whether every pinion tooth meets every ring tooth."""

    HUNTING = "hunting"
    PARTLY = "partly hunting"
    NOT = "not hunting"


@dataclass(frozen=True, slots=True)
class ToothMeeting:
    """What the tooth counts say."""

    kind: Hunting
    common: int
    ratio: float
    pinion_turns: int
    ring_turns: int
    align_marks: bool
    says: str


def tooth_meeting(pinion_teeth: int, ring_teeth: int) -> ToothMeeting:
    """Class, repeat and whether timing marks matter."""
    between("ring tooth count", ring_teeth, 5, 120)
    between("pinion tooth count", pinion_teeth, 5, ring_teeth)
    common = math.gcd(pinion_teeth, ring_teeth)
    if common == 1:
        kind, says = (
            Hunting.HUNTING,
            "Every pinion tooth meets every ring tooth: there are no marks to align.",
        )
    elif common == pinion_teeth:
        kind, says = Hunting.NOT, "The same teeth always meet: align the timing marks as the set was lapped."
    else:
        kind, says = (
            Hunting.PARTLY,
            "Each tooth meets only some of the others: align the timing marks if it has any.",
        )
    return ToothMeeting(
        kind=kind,
        common=common,
        ratio=ring_teeth / pinion_teeth,
        pinion_turns=ring_teeth // common,
        ring_turns=pinion_teeth // common,
        align_marks=common > 1,
        says=says,
    )
