"""Threads: designation, stress area, and the engagement that breaks the bolt before the thread strips.

Stress area: metric A = π/4 (d - 0.9382 P)² (ISO 898-1); unified A = 0.7854 (d - 0.9743/n)² (ASME B1.1,
FED-STD-H28; the metric formula gives another figure for inch threads). Lengths in m inside.
"""

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from measurements.engineering.units import convert
from measurements.engineering.validity import OutsideValidity, above_zero, between, require

_METRIC = re.compile(r"M(\d{1,2}(?:\.\d)?)(?:[x×](\d(?:\.\d{1,2})?))?", re.ASCII)
_UNIFIED = re.compile(r"(?:(\d) )?(\d{1,2})/(\d{1,2})-(\d{1,2})|(\d)-(\d{1,2})", re.ASCII)
# ISO 261 coarse pitches in mm (from memory), M5 to M36.
_COARSE_PAIRS = "5:0.8 6:1 8:1.25 10:1.5 12:1.75 14:2 16:2 18:2.5 20:2.5 22:2.5 24:3 27:3 30:3.5 33:3.5 36:4"
_COARSE = dict(pair.split(":") for pair in _COARSE_PAIRS.split())
_INCH = 0.0254


@dataclass(frozen=True, slots=True)
class Thread:
    """A 60° thread: basic major diameter and pitch in m, and whether it is metric."""

    name: str
    diameter: float
    pitch: float
    metric: bool

    @property
    def inches(self) -> float:
        """Basic major diameter in inches, without the last bits that a conversion adds."""
        return round(self.diameter / _INCH, 9)

    @property
    def pitch_diameter(self) -> float:
        """d2 = d - 0.649519 P."""
        return self.diameter - 0.649519 * self.pitch

    @property
    def root_diameter(self) -> float:
        """d3 = d - 1.226869 P."""
        return self.diameter - 1.226869 * self.pitch

    @property
    def stress_area(self) -> float:
        """Tensile stress area in m²."""
        factor = 0.9382 if self.metric else 0.9743
        return math.pi / 4 * (self.diameter - factor * self.pitch) ** 2


def thread(name: str) -> Thread:
    """The thread of a designation such as M12×1.25, M12 (coarse), 1/2-20 or 1 1/8-12."""
    metric, unified = _METRIC.fullmatch(name), _UNIFIED.fullmatch(name)
    if metric:
        pitch = metric[2] or _COARSE.get(metric[1], "")
        require(bool(pitch), f"The coarse pitch of {name} is not kept here: write it, as in M12×1.25.")
        diameter, step, unit = Fraction(metric[1]), Fraction(pitch), "mm"
    elif unified:
        whole, top, bottom, per_inch, size, size_per_inch = unified.groups()
        require((bottom or "1").strip("0") != "" and (per_inch or size_per_inch).strip("0") != "", _shape(name))
        diameter = Fraction(size) if size else int(whole or 0) + Fraction(int(top), int(bottom))
        step, unit = Fraction(1, int(per_inch or size_per_inch)), "in"
    else:
        raise OutsideValidity(_shape(name), field="thread")
    require(0 < step < diameter / 2, f"The pitch of {name} does not fit its diameter.", field="thread")
    return Thread(name, float(convert(diameter, unit, "m")), float(convert(step, unit, "m")), bool(metric))


def _shape(name: str) -> str:
    return f"“{name}” is not a thread designation such as M12×1.25 or 1/2-20."


@dataclass(frozen=True, slots=True)
class Engagement:
    """Length in m that breaks the bolt first, and which thread would strip at less."""

    length: float
    weaker: str


def least_engagement(bolt: Thread, *, bolt_tensile_pa: float, nut_tensile_pa: float) -> Engagement:
    """Least length of full thread, FED-STD-H28/2B; unified coarse and fine threads, classes 2A and 2B.

    Shear strength is taken as half the tensile strength. External shear area per length at the largest
    internal minor diameter, internal at the smallest external major diameter.
    Errors: material strengths of castings and the bell mouth of a hole; add the chamfers.
    """
    require(not bolt.metric, "Engagement is worked out for inch threads only: the class limits are 2A/2B.")
    between("bolt diameter", bolt.inches, 0.25, 1.5, "in")
    above_zero("tensile strength of the bolt", bolt_tensile_pa, "Pa")
    above_zero("tensile strength of the nut", nut_tensile_pa, "Pa")
    limits = _class_2(bolt.inches, bolt.pitch / _INCH)
    pitch = bolt.pitch / _INCH
    nut_area = (
        math.pi / pitch * limits.major_least * (pitch / 2 + 0.57735 * (limits.major_least - limits.nut_pitch_most))
    )
    bolt_area = (
        math.pi
        / pitch
        * limits.nut_minor_most
        * (pitch / 2 + 0.57735 * (limits.bolt_pitch_least - limits.nut_minor_most))
    )
    load = bolt.stress_area / _INCH**2 * bolt_tensile_pa
    in_nut, in_bolt = load / (nut_tensile_pa / 2 * nut_area), load / (bolt_tensile_pa / 2 * bolt_area)
    weaker = "nut thread" if in_nut >= in_bolt else "bolt thread"
    return Engagement(max(in_nut, in_bolt) * _INCH, weaker)


@dataclass(frozen=True, slots=True)
class _Class2:
    major_least: float
    bolt_pitch_least: float
    nut_pitch_most: float
    nut_minor_most: float


def _class_2(diameter: float, pitch: float) -> _Class2:
    """Limits 2A/2B in inches after the tolerance formulas of ASME B1.1 (from memory), rounded as printed."""
    tolerance = 0.0015 * diameter ** (1 / 3) + 0.0015 * math.sqrt(diameter) + 0.015 * pitch ** (2 / 3)
    allowance = round(0.3 * tolerance, 4)
    pitch_diameter = round(diameter - 0.64951905 * pitch, 4)
    return _Class2(
        major_least=round(diameter - allowance, 4) - round(0.060 * pitch ** (2 / 3), 4),
        bolt_pitch_least=pitch_diameter - allowance - round(tolerance, 4),
        nut_pitch_most=pitch_diameter + round(1.3 * tolerance, 4),
        nut_minor_most=round(diameter - 1.08253175 * pitch, 3) + round(0.25 * pitch - 0.4 * pitch**2, 3),
    )
