"""The demo story of a set-up from the first backlash to the last preload, and its sister product.

The readings are invented with the story; the numbers expected of them are calculated.
"""

from decimal import Decimal
from fractions import Fraction

from measurements.engineering.bearings.preload import (
    PreloadTry,
    next_preload,
    spacer_change_for_head_shim,
)
from measurements.engineering.gears.backlash import DialSet, Teeth
from measurements.engineering.gears.once_per_turn import Seat, Shape, fit_round, locate_runout, read_round
from measurements.engineering.gears.pattern import read_pattern
from measurements.engineering.gears.pattern_terms import GearCut, Height, Length, Mark, Move, Precondition
from measurements.engineering.gears.pinion import PinionMove, ShimSeat, shim_for_move
from measurements.engineering.gears.shims import RingMove, ShimFactor, factor_of_geometry, shim_move

LOW, HIGH, SPREAD = Decimal(".0060"), Decimal(".0100"), Decimal(".0020")
REPEATS = Decimal(".0002")
WANTED_TORQUE = (Decimal(20), Decimal(30))


def decimals(text: str) -> list[Decimal]:
    return [Decimal(word) for word in text.split()]


def test_runout_is_mended_by_seating_and_not_by_shims() -> None:
    before = fit_round(decimals(".0072 .0081 .0096 .0104 .0101 .0089 .0078 .0070"))
    assert before.outside(LOW, HIGH) == (4, 5)
    assert read_round(before, SPREAD, REPEATS).shape is Shape.ONCE_PER_TURN
    # A shim move would not help: the mean sits almost in the middle of the limits already.
    nothing = shim_move(Decimal(str(before.mean)), Decimal(".0085"), factor_of_sorrel(), Decimal(".001"))
    assert nothing.move is RingMove.NONE
    assert locate_runout(before, 0.7, bench_tir=0.0020, housing_tir=0.0045).seat is Seat.SEATING
    after = fit_round(decimals(".0079 .0082 .0086 .0087 .0085 .0083 .0080 .0079"))
    assert after.outside(LOW, HIGH) == ()
    assert (after.spread, read_round(after, SPREAD, REPEATS).shape) == (Decimal(".0008"), Shape.EVEN)


def factor_of_sorrel() -> ShimFactor:
    return factor_of_geometry(Teeth.of_ring(10, 43, 20, 20), DialSet.SQUARE_TO_TOOTH)


def test_pattern_is_not_read_while_the_backlash_runs_out() -> None:
    mark = Mark(Height.HIGH, Length.TOE), Mark(Height.HIGH, Length.HEEL)
    assert read_pattern(GearCut.FACE_HOBBED, *mark, [Precondition.BACKLASH]).move is Move.READ_AGAIN


def test_face_hobbed_axle_thickens_its_head_shim_and_redoes_the_preload() -> None:
    advice = read_pattern(GearCut.FACE_HOBBED, Mark(Height.HIGH, Length.TOE), Mark(Height.HIGH, Length.HEEL))
    assert advice.move is Move.PINION_IN
    shim = shim_for_move(Decimal(".035"), PinionMove.IN, Decimal(".004"), ShimSeat.UNDER_HEAD_CUP)
    assert shim.new == Decimal(".039")
    # The cup went with the shim: without a thicker preload pack the torque rises, 24 to 34 in-lb.
    assert spacer_change_for_head_shim(shim.change, ShimSeat.UNDER_HEAD_CUP) == Decimal(".004")
    out = next_preload([PreloadTry(Decimal(".050"), Decimal(34))], WANTED_TORQUE, Decimal(".001"))
    assert out.change > 0
    back = [PreloadTry(Decimal(".050"), Decimal(34)), PreloadTry(Decimal(".052"), Decimal(26))]
    assert next_preload(back, WANTED_TORQUE, Decimal(".001")).change == 0


def test_face_milled_sister_takes_the_same_amount_out_of_its_cage_pack() -> None:
    advice = read_pattern(GearCut.FACE_MILLED, Mark(Height.HIGH, Length.HEEL), Mark(Height.HIGH, Length.TOE))
    assert advice.move is Move.PINION_IN
    shim = shim_for_move(Decimal(".035"), PinionMove.IN, Decimal(".004"), ShimSeat.UNDER_CAGE_FLANGE)
    assert shim.change == Fraction(-4, 1000)
    assert spacer_change_for_head_shim(shim.change, ShimSeat.UNDER_CAGE_FLANGE) == 0
