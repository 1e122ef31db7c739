"""Cardan joints: how unevenly the driven shaft turns, and which angles go together.

Formula, with joint angle b and input angle q (0: input yoke in the plane of the two shafts):
  w2/w1 = cos b/(1 - sin^2 b cos^2 q), from cos b to 1/cos b;  unevenness U = tan b sin b
  greatest lead = atan((1 - cos b)/(2 sqrt(cos b)))
  acceleration of the driven shaft at its greatest, exactly (cos 2q from s c^2 + (2 - s) c - 2 s = 0, s =
  sin^2 b);
  about w^2 b^2 for small angles
  whole driveline b_res = sqrt|sum of +- b^2|, plus or minus by the yoke's phase; wanted <= 2.98 degrees,
  the same as U <= .0027
  compound angle = atan sqrt(tan^2 v + tan^2 h)
Units: degrees in and out, rad/s^2, revolutions per minute. Validity: 0 <= b <= 45 degrees, steady input.
Errors: an angle gauge of .1 degree on 3 degrees is 7 % of U.
Sources: kinematics of the cross joint; U <= .0027 as published for a whole driveline; 300 to 400 rad/s^2 and at
most 1 degree between the two joints: common guidance, from memory; public driveline pages: equal within .5,
none over 4, none zero.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from measurements.engineering.validity import Number, between, not_below_zero, require

MOST_DEG = 45
UNEVENNESS_LIMIT = 0.0027
ACCELERATION_GUIDE = 400.0


@dataclass(frozen=True, slots=True)
class Joint:
    """What one joint does at its angle."""

    slowest: float
    fastest: float
    unevenness: float
    lead_deg: float


def joint(angle_deg: Number) -> Joint:
    """Velocity range, unevenness and greatest lead of one joint."""
    angle = _angle(angle_deg)
    cosine = math.cos(angle)
    return Joint(
        slowest=cosine,
        fastest=1 / cosine,
        unevenness=math.tan(angle) * math.sin(angle),
        lead_deg=math.degrees(math.atan((1 - cosine) / (2 * math.sqrt(cosine)))),
    )


def velocity_ratio(angle_deg: Number, turn_deg: Number) -> float:
    """Driven over driving speed at an input angle, 0 when the input yoke lies in the plane of the shafts."""
    angle, turn = _angle(angle_deg), math.radians(float(turn_deg))
    return math.cos(angle) / (1 - (math.sin(angle) * math.cos(turn)) ** 2)


def acceleration(angle_deg: Number, rpm: Number) -> float:
    """The greatest angular acceleration of the driven shaft in rad/s^2 at a steady input speed."""
    not_below_zero("speed", rpm, "rpm")
    angle = _angle(angle_deg)
    s = math.sin(angle) ** 2
    if s == 0:
        return 0.0
    c = (math.sqrt((2 - s) ** 2 + 8 * s**2) - (2 - s)) / (2 * s)
    return _speed(rpm) ** 2 * math.cos(angle) * s * math.sqrt(1 - c**2) / (1 - s * (1 + c) / 2) ** 2


def angle_for_acceleration(limit: Number, rpm: Number) -> float:
    """The largest joint angle in degrees that keeps under an acceleration limit (at most 45), by halving."""
    not_below_zero("acceleration limit", limit, "rad/s²")
    low, high = 0.0, float(MOST_DEG)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if acceleration(middle, rpm) <= float(limit) else (low, middle)
    return low


@dataclass(frozen=True, slots=True)
class PhasedJoint:
    """One joint of a driveline: its angle and whether its ripple adds (True) or takes away."""

    angle_deg: float
    adds: bool


@dataclass(frozen=True, slots=True)
class Driveline:
    """The single joint angle that would be as uneven as the whole line."""

    equivalent_deg: float
    unevenness: float
    within: bool


def driveline(joints: Sequence[PhasedJoint], limit: Number = UNEVENNESS_LIMIT) -> Driveline:
    """What is left of the ripple of several joints in a row."""
    require(bool(joints), "A driveline has at least one joint.", field="joints")
    not_below_zero("limit of unevenness", limit)
    squares = math.fsum((1 if one.adds else -1) * _angle(one.angle_deg) ** 2 for one in joints)
    equivalent = math.degrees(math.sqrt(abs(squares)))
    require(
        equivalent <= MOST_DEG,
        "Together these joints are more uneven than one at 45 degrees.",
        field="joints",
    )
    unevenness = joint(equivalent).unevenness
    return Driveline(equivalent, unevenness, unevenness <= float(limit))


def compound_angle(vertical_deg: Number, horizontal_deg: Number) -> float:
    """The true joint angle from its side-view and top-view angles, in degrees."""
    up, across = (math.tan(_angle(abs(float(value)))) for value in (vertical_deg, horizontal_deg))
    return math.degrees(math.atan(math.hypot(up, across)))


def _angle(angle_deg: Number) -> float:
    between("joint angle", angle_deg, 0, MOST_DEG, "degrees")
    return math.radians(float(angle_deg))


def _speed(rpm: Number) -> float:
    return float(rpm) * 2 * math.pi / 60
