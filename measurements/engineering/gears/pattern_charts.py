"""The published charts for the two gear cuts, row by row; `pattern` reads them.

Each row: drive place, coast place, what it means, what to move, side effect, why, source, basis.
The same pair "drive high heel, coast high toe" means pinion in on a face-milled set and ring gear in on a
face-hobbed one: there is no chart for both.
"""

from dataclasses import dataclass

from measurements.engineering.gears.pattern_terms import Basis, GearCut, Height, Length, Move, PatternAdvice

H, M, L = Height.HIGH, Height.MIDDLE, Height.LOW
TOE, CENTRE, HEEL = Length.TOE, Length.CENTRE, Length.HEEL
Place = tuple[Height, Length]
Pair = tuple[Place, Place]

MILLED_SOURCE = "TM 9-2320-266-34 ch. 19; a gear maker's public shift summary for both cuts"
MILLED_RING_SOURCE = "a gear maker's public shift summary for both cuts; TM 10-3930-638-24&P p. 4-246"
HOBBED_SOURCE = "a gear maker's public shift summary for both cuts; TM 5-3805-260-24 pp. 3-243 to 3-245"
HOBBED_PINION_SOURCE = (
    "a gear maker's public shift summary for both cuts; a public light-truck table differs in its pinion-in row"
    " (read here as a misprint)"
)
INFERRED = "inferred from the single rows: no chart shows this pair"


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One row of a chart."""

    means: str
    move: Move
    reason: str
    source: str
    side_effect: str = ""
    basis: Basis = Basis.CHART

    def advice(self) -> PatternAdvice:
        """The row as an advice."""
        return PatternAdvice(self.move, self.means, self.reason, self.source, self.basis, self.side_effect)


_MILLED_RIGHT = ChartRow(
    "right",
    Move.NONE,
    "Centred and clear of the top; a small mark grows toward the heel under load.",
    MILLED_SOURCE,
)
_MILLED_RING_FAR = ChartRow(
    "ring gear too far, backlash large",
    Move.RING_IN,
    "On tapered teeth both marks go to the heel, a little high, when the ring gear stands too far.",
    MILLED_RING_SOURCE,
    "both marks go to toe and root; backlash less",
)
_MILLED_RING_NEAR = ChartRow(
    "ring gear too near, backlash small",
    Move.RING_OUT,
    "On tapered teeth both marks go to the toe, a little low, when the ring gear stands too near.",
    MILLED_RING_SOURCE,
    "both marks go to heel and top; backlash more",
)

_FACE_MILLED: dict[Pair, ChartRow] = {
    ((M, CENTRE), (M, CENTRE)): _MILLED_RIGHT,
    ((H, HEEL), (H, TOE)): ChartRow(
        "pinion too far out",
        Move.PINION_IN,
        "Both flanks high, drive to the heel and coast to the toe: on tapered teeth that is depth.",
        MILLED_SOURCE,
        "backlash a little less: check it again",
    ),
    ((L, TOE), (L, HEEL)): ChartRow(
        "pinion too deep",
        Move.PINION_OUT,
        "Both flanks low, drive to the toe and coast to the heel: on tapered teeth that is depth.",
        MILLED_SOURCE,
        "backlash a little more: check it again",
    ),
    ((M, HEEL), (M, HEEL)): _MILLED_RING_FAR,
    ((H, HEEL), (M, HEEL)): _MILLED_RING_FAR,
    ((M, HEEL), (H, HEEL)): _MILLED_RING_FAR,
    ((M, TOE), (M, TOE)): _MILLED_RING_NEAR,
    ((L, TOE), (M, TOE)): _MILLED_RING_NEAR,
    ((M, TOE), (L, TOE)): _MILLED_RING_NEAR,
    ((H, CENTRE), (H, CENTRE)): ChartRow(
        "mostly depth: pinion a little too far out",
        Move.PINION_IN,
        "Both flanks high, neither to an end: a small move in.",
        INFERRED,
        "backlash a little less: check it again",
        Basis.INFERENCE,
    ),
    ((L, CENTRE), (L, CENTRE)): ChartRow(
        "mostly depth: pinion a little too deep",
        Move.PINION_OUT,
        "Both flanks low, neither to an end: a small move out.",
        INFERRED,
        "backlash a little more: check it again",
        Basis.INFERENCE,
    ),
    ((H, HEEL), (H, HEEL)): ChartRow(
        "depth and backlash together",
        Move.RING_IN,
        "Both high and both to the heel: backlash first (ring gear in), then read again before the pinion is touched.",
        INFERRED,
        "both marks go to toe and root; backlash less",
        Basis.INFERENCE,
    ),
    ((L, TOE), (L, TOE)): ChartRow(
        "depth and backlash together",
        Move.RING_OUT,
        "Both low and both to the toe: backlash first (ring gear out), then read again before the pinion is touched.",
        INFERRED,
        "both marks go to heel and top; backlash more",
        Basis.INFERENCE,
    ),
}

_FACE_HOBBED: dict[Pair, ChartRow] = {
    ((M, CENTRE), (M, CENTRE)): ChartRow(
        "right",
        Move.NONE,
        "Centred. A slanted mark is normal on even-depth teeth: do not try to square it.",
        HOBBED_SOURCE,
    ),
    ((H, TOE), (H, HEEL)): ChartRow(
        "pinion too far out",
        Move.PINION_IN,
        "Both flanks high, drive to the toe and coast to the heel: on even-depth teeth that is depth.",
        HOBBED_PINION_SOURCE,
        "backlash a little less: check it again",
    ),
    ((L, HEEL), (L, TOE)): ChartRow(
        "pinion too deep",
        Move.PINION_OUT,
        "Both flanks low, drive to the heel and coast to the toe: on even-depth teeth that is depth.",
        HOBBED_PINION_SOURCE,
        "backlash a little more: check it again",
    ),
    ((H, HEEL), (H, TOE)): ChartRow(
        "ring gear too far, backlash large",
        Move.RING_IN,
        "Drive high at the heel, coast high at the toe: on even-depth teeth that is the ring gear, not the pinion.",
        HOBBED_SOURCE,
        "backlash less",
    ),
    ((L, TOE), (L, HEEL)): ChartRow(
        "ring gear too near, backlash small",
        Move.RING_OUT,
        "Drive low at the toe, coast low at the heel: on even-depth teeth that is the ring gear, not the pinion.",
        HOBBED_SOURCE,
        "backlash more",
    ),
}

CHARTS = {GearCut.FACE_MILLED: _FACE_MILLED, GearCut.FACE_HOBBED: _FACE_HOBBED}
