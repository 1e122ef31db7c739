"""Backlash against a shift of a bevel or hypoid gear along its own axis.

Formula (derived from rigid flanks; checked by turning them back to contact by root-finding):
a gear shifted by dx along its axis away from the mesh moves dx*sin(G) square to its pitch cone, and each
flank opens by that times sin(a) along its normal. Hence the change of backlash per unit of shift, k:

  read in the plane of rotation      k = sin G * (tan a_drive + tan a_coast) / cos b
  read square to the tooth trace     k = sin G * (tan a_drive + tan a_coast)
  read along the flank's normal      k = sin G * (tan a_drive + tan a_coast) * cos a_flank

Symbols: G pitch-cone half angle of the gear that is moved; a normal pressure angle of each flank;
b spiral angle at the point where the dial touches. The lengthwise part dx*cos(G) only turns the gear; the
taper of the teeth adds nothing to first order. The pinion is the same with its own pitch angle.
Units: degrees in; k has no unit, so one k serves millimetres and inches.
Validity: 0 < G <= 90 degrees, flank angles 5 to 40, spiral 0 to 60; small shifts of a set that meshes.
A hypoid uses its own ring pitch angle, spiral angle and two flank angles; without them k is indicative.
Errors: a dial set another way than stated changes the figure up to 40 % (1/(cos a * cos b) at 20 and 40
degrees is 1.389): record how it was set.
Source: derived here; a public truck manual moves .003 in of shim for .002 in of backlash, another .002 for
.001.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from typing import Self

from measurements.engineering.units import Exact, convert
from measurements.engineering.validity import Number, above_zero, between, not_below_zero, require


class DialSet(Enum):
    """How the indicator stood when the backlash was read."""

    ALONG_ROTATION = "in the plane of rotation"
    SQUARE_TO_TOOTH = "square to the tooth"
    ALONG_NORMAL = "along the flank's normal"


class Flank(Enum):
    """Drive side (convex of the ring gear) or coast side (concave); ordinary, not reverse-cut, use."""

    DRIVE = "drive"
    COAST = "coast"


@dataclass(frozen=True, slots=True)
class Teeth:
    """What of the teeth decides the backlash of the gear that is moved; all angles in degrees."""

    pitch_angle_deg: float
    drive_angle_deg: float
    coast_angle_deg: float
    spiral_angle_deg: float = 0.0

    def __post_init__(self) -> None:
        above_zero("pitch angle", self.pitch_angle_deg, "degrees")
        between("pitch angle", self.pitch_angle_deg, 0, 90, "degrees")
        between("drive flank angle", self.drive_angle_deg, 5, 40, "degrees")
        between("coast flank angle", self.coast_angle_deg, 5, 40, "degrees")
        between("spiral angle", self.spiral_angle_deg, 0, 60, "degrees")

    @classmethod
    def of_ring(
        cls, pinion_teeth: int, ring_teeth: int, drive_deg: float, coast_deg: float, spiral_deg: float = 0.0
    ) -> Self:
        """The ring gear of a bevel pair at 90 degrees: pitch angle = atan(ring teeth / pinion teeth)."""
        return cls(_pitch_angle_deg(ring_teeth, pinion_teeth), drive_deg, coast_deg, spiral_deg)

    @classmethod
    def of_pinion(
        cls, pinion_teeth: int, ring_teeth: int, drive_deg: float, coast_deg: float, spiral_deg: float = 0.0
    ) -> Self:
        """The pinion of the same pair: pitch angle = atan(pinion teeth / ring teeth)."""
        return cls(_pitch_angle_deg(pinion_teeth, ring_teeth), drive_deg, coast_deg, spiral_deg)

    def flank_angle(self, flank: Flank) -> float:
        """The normal pressure angle of one flank in radians."""
        return math.radians(self.drive_angle_deg if flank is Flank.DRIVE else self.coast_angle_deg)


def _pitch_angle_deg(own_teeth: int, other_teeth: int) -> float:
    above_zero("pinion tooth count", min(own_teeth, other_teeth))
    return math.degrees(math.atan2(own_teeth, other_teeth))


def backlash_per_shift(teeth: Teeth, dial: DialSet, flank: Flank = Flank.DRIVE) -> float:
    """k of the module's formula: backlash gained per unit of shift out of mesh."""
    square = math.sin(math.radians(teeth.pitch_angle_deg)) * (
        math.tan(math.radians(teeth.drive_angle_deg)) + math.tan(math.radians(teeth.coast_angle_deg))
    )
    return square * reading_ratio(teeth, DialSet.SQUARE_TO_TOOTH, dial, flank)


def reading_ratio(teeth: Teeth, frm: DialSet, to: DialSet, flank: Flank = Flank.DRIVE) -> float:
    """What a backlash read one way is to be multiplied by to be as if read the other way.

    Along the normal = square to the tooth * cos a; square to the tooth = along rotation * cos b.
    """
    scale = {
        DialSet.ALONG_ROTATION: 1 / math.cos(math.radians(teeth.spiral_angle_deg)),
        DialSet.SQUARE_TO_TOOTH: 1.0,
        DialSet.ALONG_NORMAL: math.cos(teeth.flank_angle(flank)),
    }
    return scale[to] / scale[frm]


def variation_from_face_runout(runout_tir: Number, factor: Number) -> float:
    """Backlash variation round the gear from back-face runout (total indicator reading): f * k."""
    not_below_zero("face runout", runout_tir)
    above_zero("shim factor", factor)
    return float(runout_tir) * float(factor)


def face_runout_from_variation(variation: Number, factor: Number) -> float:
    """The back-face runout that would explain a variation of backlash: spread / k."""
    not_below_zero("variation", variation)
    above_zero("shim factor", factor)
    return float(variation) / float(factor)


def variation_from_radial_runout(runout: Number, teeth: Teeth) -> float:
    """Largest less smallest backlash of a turn from a radial runout r, as a dial shows it: 2*r*tan(a)*cos(G)/cos(b).

    A gear mounted off its centre by e runs out by r = 2*e: it is nearer by e at one side and farther by e at the other.
    tan(a) is the mean of the two flanks' tangents; the backlash is read in the plane of rotation.
    """
    not_below_zero("radial runout", runout)
    tangents = math.tan(teeth.flank_angle(Flank.DRIVE)) + math.tan(teeth.flank_angle(Flank.COAST))
    cone = math.cos(math.radians(teeth.pitch_angle_deg))
    return float(runout) * tangents * cone / math.cos(math.radians(teeth.spiral_angle_deg))


@dataclass(frozen=True, slots=True)
class SeenRange:
    """A range seen in a publication: a default to start a card from, never a limit of this shop."""

    what: str
    low_in: Decimal
    high_in: Decimal
    source: str


SEEN_BACKLASH = (
    SeenRange(
        "car and light truck",
        Decimal(".005"),
        Decimal(".008"),
        "public truck service pages; TM 9-2320-289-34",
    ),
    SeenRange("light axle, tightest point", Decimal(".005"), Decimal(".009"), "published manuals"),
    SeenRange("heavy carrier, gears run before", Decimal(".008"), Decimal(".018"), "TM 10-3930-660-34"),
    SeenRange("heavy carrier, new set", Decimal(".012"), Decimal(".012"), "TM 10-3930-660-34"),
)
SEEN_FACE_RUNOUT = (
    SeenRange("back face, standard", Decimal(0), Decimal(".002"), "TM 10-3930-653-14&P p. 4-124"),
    SeenRange("back face, general", Decimal(".003"), Decimal(".004"), "a training text"),
    SeenRange("back face, heavy carrier", Decimal(0), Decimal(".008"), "TM 10-3930-660-34"),
)
SEEN_SPREAD_IN = Decimal(".002")  # three, four or eight points; public truck service pages

# Diametral pitch from, to; backlash in inches for quality 7-13 and for 3-6.
_AGMA = tuple(
    (Decimal(a), Decimal(b), tuple(map(Decimal, fine.split())), tuple(map(Decimal, coarse.split())))
    for a, b, fine, coarse in (
        ("1", "1.25", ".020 .030", ".045 .065"),
        ("1.25", "1.5", ".018 .026", ".035 .055"),
        ("1.5", "1.75", ".016 .022", ".025 .045"),
        ("1.75", "2", ".014 .018", ".020 .040"),
        ("2", "2.5", ".012 .016", ".020 .030"),
        ("2.5", "3", ".010 .013", ".015 .025"),
        ("3", "3.5", ".008 .011", ".012 .022"),
        ("3.5", "4", ".007 .009", ".010 .020"),
        ("4", "5", ".006 .008", ".008 .016"),
        ("5", "6", ".005 .007", ".006 .013"),
        ("6", "8", ".004 .006", ".005 .010"),
        ("8", "10", ".003 .005", ".004 .008"),
        ("10", "16", ".002 .004", ".003 .005"),
    )
)


def agma_backlash(diametral_pitch: Exact, quality: int) -> SeenRange:
    """Backlash range for bevel and hypoid gears by diametral pitch (25.4 / module), in inches.

    Validity: pitch 1 to 16, quality number 3 to 13. A pitch on the edge of two rows takes the finer one.
    Source: AGMA table as quoted publicly; two rows are misprinted there and read here as 8-10 and 10-16.
    """
    between("diametral pitch", diametral_pitch, 1, 16)
    require(
        3 <= quality <= 13,
        f"The table covers quality numbers 3 to 13; {quality} is outside.",
        field="quality",
    )
    row = next(row for row in reversed(_AGMA) if row[0] <= diametral_pitch)
    low, high = row[2] if quality >= 7 else row[3]
    kind = "7-13" if quality >= 7 else "3-6"
    return SeenRange(
        f"diametral pitch {row[0]} to {row[1]}, quality {kind}", low, high, "AGMA table as quoted publicly"
    )


def agma_backlash_for_module(module_mm: Exact, quality: int) -> SeenRange:
    """The same by module in millimetres."""
    above_zero("module", module_mm, "mm")
    return agma_backlash(convert(Fraction(1), "in", "mm") / Fraction(module_mm), quality)
