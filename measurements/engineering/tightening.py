"""Tightening: scatter of the preload, change of lubricant, the wrench with an extension, order and passes.

Errors: the same torque on equal bolts spreads the preload by a quarter and more; a lubricant lowers K, so
the dry torque over-stretches a lubricated bolt. An over-stretched bolt snaps: pull, do not push.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from measurements.engineering.validity import above_zero, between, finite, not_below_zero, require, shown


class Method(Enum):
    """Half-width of the preload scatter, (best, worst) shares; published bands, impact from memory."""

    YIELD_OR_ANGLE = (0.05, 0.12)
    WRENCH_TORQUE_FROM_TESTS = (0.17, 0.23)
    WRENCH_TORQUE_ESTIMATED = (0.23, 0.28)
    POWER_DRIVER = (0.26, 0.43)
    IMPACT = (0.43, 0.60)


def tightening_factor(half_width: float) -> float:
    """α_A = F_max/F_min = (1 + ε)/(1 - ε)."""
    between("half-width of the scatter", half_width, 0, 0.9)
    return (1 + half_width) / (1 - half_width)


def least_preload(most: float, factor: float) -> float:
    """F_min = F_max/α_A."""
    above_zero("largest preload", most, "N")
    require(factor >= 1, f"A tightening factor is 1 or more; {shown(factor)} is not.")
    return most / factor


@dataclass(frozen=True, slots=True)
class Scatter:
    """Preloads measured at one torque."""

    mean: float
    deviation: float

    @property
    def share(self) -> float:
        """Standard deviation over the mean."""
        return self.deviation / self.mean


def measured_scatter(preloads: Sequence[float]) -> Scatter:
    """Mean and standard deviation (n - 1) of measured preloads, any one unit."""
    require(len(preloads) >= 2, "Two preloads at least are needed for a scatter.")
    require(min(preloads) > 0, "A preload must be more than zero.")
    return Scatter(statistics.fmean(preloads), statistics.stdev(preloads))


def relubricated_torque(dry_torque: float, dry_factor: float, wet_factor: float) -> float:
    """The torque for the same preload with another lubricant: T K_wet/K_dry."""
    above_zero("torque", dry_torque)
    between("nut factor before", dry_factor, 0.05, 0.5)
    between("nut factor after", wet_factor, 0.05, 0.5)
    return dry_torque * wet_factor / dry_factor


def extension_setting(target: float, wrench: float, extension: float, degrees: float = 0.0) -> float:
    """What the wrench is set to, T L/(L + E cosθ); one unit of length, θ 0 straight on, 90 square to it.

    Source: US TM 9-254. L is from the square drive to the middle of the grip, so hold it there.
    """
    above_zero("target torque", target)
    above_zero("length of the wrench", wrench)
    not_below_zero("length of the extension", extension)
    between("angle of the extension", degrees, -180, 180, "degrees")
    arm = wrench + extension * math.cos(math.radians(degrees))
    require(arm > wrench / 10, "Turned back so far the extension leaves no arm: turn it or take another.")
    return target * wrench / arm


@dataclass(frozen=True, slots=True)
class Wrench:
    """A torque wrench: marked range and permissible deviation, in any one unit of torque."""

    low: float
    high: float
    overdue: bool = False

    def __post_init__(self) -> None:
        require(0 < self.low < self.high, "The marked range of a wrench goes from a small to a large torque.")

    def refusal(self, setting: float) -> str:
        """Why this wrench must not be used at this setting, or an empty text."""
        finite("setting", setting)
        if self.overdue:
            return "This wrench is overdue for calibration: take another."
        if not self.low <= setting <= self.high:
            return (
                f"{shown(setting)} is outside the marked range {shown(self.low)} to {shown(self.high)}:"
                " take a wrench that reaches it."
            )
        return ""


def click_wrench_deviation(torque_nm: float) -> float:
    """Permissible deviation of a click wrench as a share: 6 % to 10 N·m, 4 % above (ISO 6789)."""
    above_zero("torque", torque_nm, "N·m")
    return 0.06 if torque_nm <= 10 else 0.04


def clamp_torque(count: int, preload: float, friction: float, bolt_circle_radius: float, factor: float = 1.0) -> float:
    """Torque a clamped ring carries by friction, n F μ r/α_A; dry faces, no dowels, bolts not sheared."""
    require(count >= 1, "A bolt circle has at least one bolt.", field="count")
    above_zero("preload", preload)
    between("friction", friction, 0.02, 0.5)
    above_zero("radius of the bolt circle", bolt_circle_radius)
    return count * least_preload(preload, factor) * friction * bolt_circle_radius


def tightening_order(count: int) -> tuple[int, ...]:
    """Bolts 1 to n in the order to tighten them.

    Even: each bolt is followed by the one opposite, the next pair is the one farthest from those done (the
    lower number on a tie). Odd: steps of (n - 1)/2, which meets every bolt. Common practice.
    """
    require(1 <= count <= 100, f"A bolt circle of {count} bolts is not worked out: 1 to 100.", field="count")
    if count % 2:
        stride = max((count - 1) // 2, 1)
        return tuple(stride * turn % count + 1 for turn in range(count))
    half = count // 2
    firsts, nearest = [0], [_apart(bolt, 0, half) for bolt in range(half)]
    while len(firsts) < half:
        best = nearest.index(max(nearest))  # the lower number on a tie
        firsts.append(best)
        nearest = [min(near, _apart(bolt, best, half)) for bolt, near in enumerate(nearest)]
    return tuple(bolt + 1 for first in firsts for bolt in (first, first + half))


def _apart(bolt: int, other: int, around: int) -> int:
    """Distance on a circle where opposite bolts are one place; 0 only for a bolt and itself."""
    return min((bolt - other) % around, (other - bolt) % around)


@dataclass(frozen=True, slots=True)
class Pass:
    """One round of the pattern: its torque, and whether each bolt is ticked or a figure is entered."""

    share: float
    torque: float
    order: tuple[int, ...]
    figure: bool


def tightening_passes(count: int, target: float, shares: Sequence[float] = (0.3, 0.7, 1.0)) -> tuple[Pass, ...]:
    """The passes in the pattern (30, 70, 100 %, from memory) and a last one around the circle with a figure.

    The idea of a pattern and a final circular check is ASME PCC-1's.
    """
    above_zero("target torque", target)
    require(
        bool(shares) and list(shares) == sorted(set(shares)) and shares[0] > 0 and shares[-1] == 1,
        "The passes must rise to the full torque.",
    )
    order = tightening_order(count)
    pattern = tuple(Pass(share, share * target, order, figure=False) for share in shares)
    return (*pattern, Pass(1.0, target, tuple(range(1, count + 1)), figure=True))
