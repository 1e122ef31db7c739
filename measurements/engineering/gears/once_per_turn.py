"""What the backlash points round a ring gear say: runout, oval, one bad tooth, or nothing.

Formula: n points equally spaced over one turn, y_i at t_i = 360*i/n degrees, are fitted by least squares to
  one lobe   y = m + A*cos(t - p)           (seating, runout: once per turn)
  two lobes  the same plus B*cos(2*(t - q)) (gear pulled oval or warped: twice per turn)
Equal spacing makes the terms independent, so each is a plain sum over the points.
Symbols: m mean, A amplitude (half of top to bottom), p the angle of the largest backlash counted from point 1
in the order of the points, residual = point minus fit.
Units: lengths in and out in one unit (the fit has none of its own); spread is exact, the fit is a float.
Validity: at least 4 points, equally spaced, in order, all of the same way of reading. Four points cannot tell
two lobes from a bad tooth, and with 4 the single residual hides in the fit: say so and read 8.
Errors: the dial's own repeatability enters every residual; below it nothing can be told.
What the shapes mean: common practice, no source; the spread limit .002 in: public truck service pages.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from measurements.engineering.gears.backlash import face_runout_from_variation
from measurements.engineering.units import Exact
from measurements.engineering.validity import Number, above_zero, finite, not_below_zero, require

FEWEST = 4
FEWEST_FOR_TWO_LOBES = 6
EXPLAINED = 0.9  # share of the scatter a fit must explain before it is named; proposal, no source
STANDS_OUT = 3  # times the rms of the other residuals before one point is called a tooth; proposal, no source


class Shape(Enum):
    """What the points look like."""

    EVEN = "even"
    ONCE_PER_TURN = "once per turn"
    TWICE_PER_TURN = "twice per turn"
    ONE_POINT = "one point stands out"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class Lobe:
    """One term of the fit: amplitude and the angle of its (first) top, in degrees from point 1."""

    amplitude: float
    phase_deg: float

    def at(self, angle_deg: float, times: int) -> float:
        """Its share at an angle; `times` is 1 for one lobe, 2 for two."""
        return self.amplitude * math.cos(math.radians(times * (angle_deg - self.phase_deg)))


@dataclass(frozen=True, slots=True)
class Round:
    """The backlash round, reduced: exact figures of the points and the one-lobe fit."""

    points: tuple[Fraction, ...]
    smallest: Fraction
    largest: Fraction
    spread: Fraction
    mean: float
    lobe: Lobe
    residuals: tuple[float, ...]

    @property
    def residual(self) -> float:
        """The largest departure of a point from the one-lobe fit."""
        return max(abs(value) for value in self.residuals)

    @property
    def explained(self) -> float:
        """The share of the points' scatter (sum of squares) that one lobe explains; 1 without scatter."""
        if self.spread == 0:
            return 1.0
        return explained_share([float(point) - self.mean for point in self.points], self.residuals)

    def outside(self, low: Exact, high: Exact) -> tuple[int, ...]:
        """Numbers (from 1) of the points outside the limits; the limits themselves are inside."""
        return tuple(n for n, point in enumerate(self.points, start=1) if not Fraction(low) <= point <= Fraction(high))


def explained_share(scatter: Sequence[float], residuals: Sequence[float]) -> float:
    """1 - residual sum of squares / total sum of squares; the points must scatter."""
    return 1 - sum(value**2 for value in residuals) / sum(value**2 for value in scatter)


def fit_round(points: Sequence[Exact]) -> Round:
    """Reduce backlash points, equally spaced over one turn and in order."""
    require(
        len(points) >= FEWEST,
        f"A once-per-turn fit needs at least {FEWEST} equally spaced points; there are {len(points)}.",
        field="points",
    )
    for number, point in enumerate(points, start=1):
        finite(f"backlash at point {number}", point)
    exact = tuple(Fraction(point) for point in points)
    values = [float(point) for point in exact]
    mean = math.fsum(values) / len(values)
    lobe = _lobe(values, times=1)
    return Round(
        points=exact,
        smallest=min(exact),
        largest=max(exact),
        spread=max(exact) - min(exact),
        mean=mean,
        lobe=lobe,
        residuals=tuple(
            value - mean - lobe.at(angle, 1) for value, angle in zip(values, _angles(len(values)), strict=True)
        ),
    )


def _angles(count: int) -> list[float]:
    return [360 * index / count for index in range(count)]


def _lobe(values: Sequence[float], times: int) -> Lobe:
    angles = [math.radians(times * angle) for angle in _angles(len(values))]
    cosine = 2 / len(values) * math.fsum(v * math.cos(a) for v, a in zip(values, angles, strict=True))
    sine = 2 / len(values) * math.fsum(v * math.sin(a) for v, a in zip(values, angles, strict=True))
    phase = math.degrees(math.atan2(sine, cosine)) % 360 % 360  # a tiny negative angle % 360 is 360.0
    return Lobe(math.hypot(cosine, sine), phase / times)


@dataclass(frozen=True, slots=True)
class RoundReading:
    """The shape, what it points at, and what to look at next."""

    shape: Shape
    says: str
    look_at: str
    point: int = 0  # the point that stands out, from 1; 0 when none does


def read_round(fitted: Round, spread_limit: Exact, repeatability: Number) -> RoundReading:
    """Tell runout from an oval gear and from a bad tooth.

    `spread_limit` is the card's limit for largest minus smallest; `repeatability` is what the dial repeats to.
    """
    above_zero("spread limit", spread_limit)
    not_below_zero("repeatability of the dial", repeatability)
    if fitted.spread <= Fraction(spread_limit):
        return RoundReading(Shape.EVEN, "The spread is inside its limit.", "Nothing to look for.")
    if fitted.explained >= EXPLAINED or fitted.residual <= float(repeatability):
        return RoundReading(
            Shape.ONCE_PER_TURN,
            "The backlash rises and falls once per turn: the ring gear runs out, it is not a bad tooth.",
            "Back-face runout in the housing; then the side-bearing seats, the case flange and the bolts for a burr.",
        )
    lonely = _lonely_point(fitted, repeatability)
    if lonely:
        return RoundReading(
            Shape.ONE_POINT,
            f"Point {lonely} stands out from an otherwise even round.",
            "That tooth: a burr, a nick or dirt. Clean it, stone it, read that point again; else inspect the set.",
            lonely,
        )
    return _oval_or_unclear(fitted)


def _lonely_point(fitted: Round, repeatability: Number) -> int:
    """The number of a point whose distance from the median dwarfs the others' scatter, else 0."""
    if len(fitted.points) < FEWEST_FOR_TWO_LOBES:
        return 0
    points = fitted.points
    middle = sorted(points)[len(points) // 2]
    far = max(range(len(points)), key=lambda index: abs(points[index] - middle))
    others = points[:far] + points[far + 1 :]
    centre = sum(others, Fraction(0)) / len(others)
    # Squares of exact figures: a tie in binary floats would fall otherwise in inches than in millimetres.
    scatter = sum(((value - centre) ** 2 for value in others), Fraction(0)) / len(others)
    least = max(scatter, Fraction(repeatability) ** 2)
    return far + 1 if (points[far] - centre) ** 2 > STANDS_OUT**2 * least else 0


def _oval_or_unclear(fitted: Round) -> RoundReading:
    count = len(fitted.points)
    if count < FEWEST_FOR_TWO_LOBES:
        return RoundReading(
            Shape.UNCLEAR,
            f"{count} points do not tell an oval gear from a bad tooth.",
            "Read at least 8 equally spaced points.",
        )
    two = _lobe([float(point) for point in fitted.points], times=2)
    left = [r - two.at(angle, 2) for r, angle in zip(fitted.residuals, _angles(count), strict=True)]
    scatter = [float(point) - fitted.mean for point in fitted.points]
    if explained_share(scatter, left) >= EXPLAINED and two.amplitude > fitted.lobe.amplitude:
        return RoundReading(
            Shape.TWICE_PER_TURN,
            "The backlash rises and falls twice per turn: the ring gear is pulled oval or bent.",
            "Ring-gear bolts: torque and order; flange and gear back for dirt; the gear for warping.",
        )
    return RoundReading(
        Shape.UNCLEAR,
        "The points follow neither one turn nor one tooth.",
        "Read again: caps at final torque, preload present, dial square and tight, gears clean.",
    )


class Seat(Enum):
    """Where the runout comes from."""

    GEAR = "ring gear or case"
    SEATING = "seating in the housing"
    RADIAL = "off centre, not the face"


@dataclass(frozen=True, slots=True)
class RunoutSource:
    """The axial runout the backlash asks for, against what the dial showed."""

    expected: float
    seat: Seat
    says: str


def locate_runout(fitted: Round, factor: Number, bench_tir: Number, housing_tir: Number) -> RunoutSource:
    """Compare spread / k with the back-face runout read on the bench and in the housing.

    A reading "agrees" when it is at least two thirds of what the spread asks for (proposal, no source).
    """
    not_below_zero("bench runout", bench_tir)
    not_below_zero("runout in the housing", housing_tir)
    expected = face_runout_from_variation(fitted.spread, factor)
    enough = expected * 2 / 3
    if float(bench_tir) >= enough:
        seat, says = (
            Seat.GEAR,
            "The bench already showed it: the gear is not seated on the case, or the case runs out.",
        )
    elif float(housing_tir) >= enough:
        seat, says = (
            Seat.SEATING,
            "The gear ran true on the bench and runs out in the housing: not the gear. Look for a burr or dirt under a"
            " side-bearing cone or cup, and for a cap on the wrong side.",
        )
    else:
        seat, says = (
            Seat.RADIAL,
            "The back face runs true in the housing: the gear may sit off centre on its pilot, or a bearing runs out."
            " Check the pilot and the dial's set-up before any shim is moved.",
        )
    return RunoutSource(expected, seat, says)
