"""What tapered-bearing theory says of preload: indicative only, accept on rotating torque.

Formulas: starting torque M = e*mu*F_a*cos b; axial give d = 7.7e-5/sin a * Q^.9/l^.8, Q = F_a/(Z sin a);
two bearings squeezed together F = (d/(c1 + c2))^(1/.9) with d = c*F^.9 for each.
Symbols: e arm of the rib friction, mu = .20, b roller's angle to its axis, a contact angle, Z rollers, l roller
length. Units: N, mm, N·m, degrees. Validity: one steel bearing with all rollers loaded, contact angle 5 to 35
degrees, 6 to 60 rollers. Errors: tens of per cent with speed, oil and the housing's give.
Source: bearing theory as printed in public engineering texts.
"""

import math
from dataclasses import dataclass

from measurements.engineering.bearings.rotating_torque import Torque
from measurements.engineering.validity import above_zero, between, not_below_zero

RIB_FRICTION = 0.20


@dataclass(frozen=True, slots=True)
class TaperedBearing:
    """What the theory needs of one tapered roller bearing."""

    rollers: int
    contact_angle_deg: float
    roller_length_mm: float

    def __post_init__(self) -> None:
        between("number of rollers", self.rollers, 6, 60)
        between("contact angle", self.contact_angle_deg, 5, 35, "degrees")
        above_zero("roller length", self.roller_length_mm, "mm")

    @property
    def give(self) -> float:
        """c in d = c * F_a^.9 (mm and N)."""
        sine = math.sin(math.radians(self.contact_angle_deg))
        return 7.7e-5 / sine / math.pow(self.roller_length_mm, 0.8) / math.pow(self.rollers * sine, 0.9)

    def axial_give_mm(self, axial_n: float) -> float:
        """How far the cone gives under an axial load."""
        not_below_zero("axial load", axial_n, "N")
        return self.give * math.pow(axial_n, 0.9)

    def axial_load_n(self, give_mm: float) -> float:
        """The axial load that makes the cone give so far (indicative)."""
        not_below_zero("axial give", give_mm, "mm")
        return math.pow(give_mm / self.give, 1 / 0.9)


def preload_of_pair_n(one: TaperedBearing, other: TaperedBearing, squeeze_mm: float) -> float:
    """Preload of two bearings against one another, squeezed together by a length.

    Both carry the same force F and their gives add: F = (d / (c1 + c2))^(1/.9). Indicative: the housing
    and shaft are taken as rigid, so the real preload is less.
    """
    not_below_zero("squeeze", squeeze_mm, "mm")
    return math.pow(squeeze_mm / (one.give + other.give), 1 / 0.9)


def starting_torque(axial_n: float, arm_mm: float, roller_angle_deg: float) -> Torque:
    """M = e * .20 * F_a * cos b for one bearing (theory, indicative)."""
    not_below_zero("axial load", axial_n, "N")
    above_zero("arm of the rib friction", arm_mm, "mm")
    between("roller angle", roller_angle_deg, 0, 35, "degrees")
    return Torque(arm_mm / 1000 * RIB_FRICTION * axial_n * math.cos(math.radians(roller_angle_deg)))
