"""Backlash against shift: rows checked by turning rigid flanks back to contact, and by vectors here."""

import math
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.gears.backlash import (
    SEEN_BACKLASH,
    SEEN_FACE_RUNOUT,
    SEEN_SPREAD_IN,
    DialSet,
    Flank,
    Teeth,
    agma_backlash,
    agma_backlash_for_module,
    backlash_per_shift,
    face_runout_from_variation,
    reading_ratio,
    variation_from_face_runout,
    variation_from_radial_runout,
)
from measurements.engineering.validity import OutsideValidity

cones = st.floats(0.5, 90)
flanks = st.floats(5, 40)
spirals = st.floats(0, 60)


# Calculated: rigid flanks rotated back to contact by root-finding with a shift of 0.05.
@pytest.mark.parametrize(
    ("cone", "drive", "coast", "spiral", "expected"),
    [
        (45, 20, 20, 0, 0.5147),
        (75.96, 20, 20, 0, 0.7062),
        (76.3, 22.5, 22.5, 30, 0.9294),
        (90, 20, 20, 0, 0.7279),
    ],
)
def test_shift_along_rotation(cone: float, drive: float, coast: float, spiral: float, expected: float) -> None:
    teeth = Teeth(cone, drive, coast, spiral)
    assert backlash_per_shift(teeth, DialSet.ALONG_ROTATION) == pytest.approx(expected, rel=1e-3)


def test_pair_of_41_and_10() -> None:
    """Calculated: straight teeth, 20 degrees."""
    ring = Teeth.of_ring(10, 41, 20, 20)
    assert ring.pitch_angle_deg == pytest.approx(76.293, abs=5e-4)
    assert backlash_per_shift(ring, DialSet.SQUARE_TO_TOOTH) == pytest.approx(0.7072, abs=5e-5)
    assert backlash_per_shift(ring, DialSet.ALONG_NORMAL) == pytest.approx(0.6646, abs=5e-5)
    pinion = Teeth.of_pinion(10, 41, 20, 20)
    assert backlash_per_shift(pinion, DialSet.SQUARE_TO_TOOTH) == pytest.approx(0.1725, abs=5e-5)


@pytest.mark.parametrize(("flank", "ring", "pinion"), [(18, 0.63, 0.0015), (20, 0.71, 0.0016), (22.5, 0.81, 0.0019)])
def test_ratio_4_3_square_to_the_tooth(flank: float, ring: float, pinion: float) -> None:
    """Calculated (textbook bevel geometry): ring per unit, and pinion in .010 in."""
    assert backlash_per_shift(Teeth.of_ring(10, 43, flank, flank), DialSet.SQUARE_TO_TOOTH) == pytest.approx(
        ring, abs=0.005
    )
    of_pinion = backlash_per_shift(Teeth.of_pinion(10, 43, flank, flank), DialSet.SQUARE_TO_TOOTH)
    assert 0.010 * of_pinion == pytest.approx(pinion, abs=5.1e-5)


@given(cones, flanks, flanks, spirals)
def test_agrees_with_rigid_flanks_in_vectors(cone: float, drive: float, coast: float, spiral: float) -> None:
    """An independent derivation: two flank planes, a shift along the axis, a turn that closes each gap."""
    g, a, b = math.radians(cone), (math.radians(drive), math.radians(coast)), math.radians(spiral)
    # Axes at the pitch point: lengthwise along the cone, tangential, square to the cone.
    axis = (math.cos(g), 0.0, math.sin(g))
    turns = []
    for sign, angle in zip((1, -1), a, strict=True):
        normal = (
            -sign * math.cos(angle) * math.sin(b),
            sign * math.cos(angle) * math.cos(b),
            math.sin(angle),
        )
        gap = sum(x * n for x, n in zip(axis, normal, strict=True))
        turns.append(-gap / normal[1])
    expected = abs(turns[0] - turns[1])
    found = backlash_per_shift(Teeth(cone, drive, coast, spiral), DialSet.ALONG_ROTATION)
    assert found == pytest.approx(expected, rel=1e-9)


def test_parallel_axes_agree_with_the_exact_involute() -> None:
    """Calculated: module 4, 20 and 40 teeth, centres .10 further: exact 0.07308, first order 0.07279."""
    pressure, centres, wider = math.radians(20), 120.0, 120.1
    working = math.acos(centres * math.cos(pressure) / wider)
    exact = 2 * wider * ((math.tan(working) - working) - (math.tan(pressure) - pressure))
    rack = backlash_per_shift(Teeth(90, 20, 20), DialSet.ALONG_ROTATION) * 0.10
    assert exact == pytest.approx(0.07308, abs=5e-6)
    assert rack == pytest.approx(0.07279, abs=5e-6)


@given(cones, flanks, flanks, spirals)
def test_drive_and_coast_may_change_places(cone: float, drive: float, coast: float, spiral: float) -> None:
    one, other = Teeth(cone, drive, coast, spiral), Teeth(cone, coast, drive, spiral)
    for dial in (DialSet.ALONG_ROTATION, DialSet.SQUARE_TO_TOOTH):
        assert backlash_per_shift(one, dial) == pytest.approx(backlash_per_shift(other, dial), rel=1e-12)
    assert backlash_per_shift(one, DialSet.ALONG_NORMAL, Flank.DRIVE) == pytest.approx(
        backlash_per_shift(other, DialSet.ALONG_NORMAL, Flank.COAST), rel=1e-12
    )


@given(st.floats(1, 80), st.floats(5, 35), spirals, st.floats(0.1, 5))
def test_grows_with_cone_and_flank_angle(cone: float, flank: float, spiral: float, more: float) -> None:
    base = backlash_per_shift(Teeth(cone, flank, flank, spiral), DialSet.ALONG_ROTATION)
    assert backlash_per_shift(Teeth(cone + more, flank, flank, spiral), DialSet.ALONG_ROTATION) > base
    assert backlash_per_shift(Teeth(cone, flank + more, flank, spiral), DialSet.ALONG_ROTATION) > base


@given(cones, flanks, flanks, spirals)
def test_the_more_square_the_dial_the_smaller_the_figure(
    cone: float, drive: float, coast: float, spiral: float
) -> None:
    teeth = Teeth(cone, drive, coast, spiral)
    turning, square, normal = (backlash_per_shift(teeth, dial) for dial in DialSet)
    assert turning >= square > normal


# Calculated: 1/(cos a cos b); a gear maker's published note says up to 40 % above.
@pytest.mark.parametrize(("spiral", "expected"), [(35, 1.299), (40, 1.389)])
def test_transverse_reads_above_normal(spiral: float, expected: float) -> None:
    teeth = Teeth(76, 20, 20, spiral)
    assert reading_ratio(teeth, DialSet.ALONG_NORMAL, DialSet.ALONG_ROTATION) == pytest.approx(expected, abs=5e-4)


@given(flanks, spirals, st.sampled_from(DialSet), st.sampled_from(DialSet), st.sampled_from(Flank))
def test_there_and_back_is_one(flank: float, spiral: float, one: DialSet, other: DialSet, side: Flank) -> None:
    teeth = Teeth(60, flank, 20, spiral)
    there, back = reading_ratio(teeth, one, other, side), reading_ratio(teeth, other, one, side)
    assert there * back == pytest.approx(1, rel=1e-12)


def test_coast_flank_is_used_when_the_dial_stands_on_it() -> None:
    teeth = Teeth(60, 15, 30)
    assert reading_ratio(teeth, DialSet.SQUARE_TO_TOOTH, DialSet.ALONG_NORMAL, Flank.COAST) == pytest.approx(
        math.cos(math.radians(30))
    )


def test_limits_of_the_angles_are_inside() -> None:
    assert backlash_per_shift(Teeth(90, 5, 40, 60), DialSet.SQUARE_TO_TOOTH) > 0


@pytest.mark.parametrize(
    ("angles", "words"),
    [
        ((0, 20, 20, 0), "pitch angle must be more than zero"),
        ((90.1, 20, 20, 0), "pitch angle must be from 0 to 90"),
        ((76, 4.9, 20, 0), "drive flank angle must be from 5 to 40"),
        ((76, 20, 40.1, 0), "coast flank angle must be from 5 to 40"),
        ((76, 20, 20, 60.1), "spiral angle must be from 0 to 60"),
        ((76, 20, 20, -1), "spiral angle"),
    ],
)
def test_teeth_outside_validity_are_refused(angles: tuple[float, float, float, float], words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        Teeth(*angles)


def test_no_teeth_are_refused() -> None:
    with pytest.raises(OutsideValidity, match="tooth count"):
        Teeth.of_ring(0, 41, 20, 20)


def test_face_runout_and_variation() -> None:
    """Published: .058 mm of face runout, .05 mm of variation at k .863; story: .0034 / .7 is about .0049."""
    assert variation_from_face_runout(0.058, 0.863) == pytest.approx(0.050, abs=5e-4)
    assert round(face_runout_from_variation(Decimal("0.0034"), Decimal("0.7")), 4) == 0.0049
    with pytest.raises(OutsideValidity, match="shim factor"):
        face_runout_from_variation(0.1, 0)
    with pytest.raises(OutsideValidity, match="shim factor"):
        variation_from_face_runout(0.1, 0)
    with pytest.raises(OutsideValidity, match="face runout"):
        variation_from_face_runout(-0.1, 0.7)
    with pytest.raises(OutsideValidity, match="variation"):
        face_runout_from_variation(-0.1, 0.7)


@given(st.floats(0, 1), cones, flanks, spirals)
def test_radial_runout_follows_its_formula(r: float, cone: float, flank: float, spiral: float) -> None:
    expected = 2 * r * math.tan(math.radians(flank)) * math.cos(math.radians(cone)) / math.cos(math.radians(spiral))
    assert variation_from_radial_runout(r, Teeth(cone, flank, flank, spiral)) == pytest.approx(
        expected, rel=1e-9, abs=1e-15
    )


def test_radial_runout_is_twice_what_the_gear_is_off_its_centre() -> None:
    """Backlash where the gear stands off by e, less where it stands nearer by e, from exact involutes.

    A spur gear (a bevel gear of a cone near 0), mates at 120 mm: opening the centres from C to C' gives the backlash
    2·C'·(inv a' - inv a), where C·cos a = C'·cos a' (gear handbooks, from memory).
    """
    pressure, centres, off = math.radians(20), 120.0, 0.1

    def backlash(now: float) -> float:
        working = math.acos(centres * math.cos(pressure) / now)
        return 2 * now * (math.tan(working) - working - math.tan(pressure) + pressure)

    tight = centres + off  # so that both ends have some
    swing = backlash(tight + off) - backlash(tight - off)
    spur = Teeth(0.5, 20, 20)
    assert variation_from_radial_runout(2 * off, spur) == pytest.approx(swing, rel=0.01)
    assert variation_from_radial_runout(off, spur) == pytest.approx(swing / 2, rel=0.01), "the control: half of it"


def test_radial_runout_below_zero_is_refused() -> None:
    with pytest.raises(OutsideValidity, match="radial runout"):
        variation_from_radial_runout(-0.1, Teeth(76, 20, 20))


# AGMA table as quoted publicly: both columns of every row, and the edges between rows.
@pytest.mark.parametrize(
    ("pitch", "fine", "coarse"),
    [
        ("1", ".020 .030", ".045 .065"),
        ("1.3", ".018 .026", ".035 .055"),
        ("1.6", ".016 .022", ".025 .045"),
        ("1.8", ".014 .018", ".020 .040"),
        ("2.2", ".012 .016", ".020 .030"),
        ("2.9", ".010 .013", ".015 .025"),
        ("3.2", ".008 .011", ".012 .022"),
        ("3.7", ".007 .009", ".010 .020"),
        ("4.3", ".006 .008", ".008 .016"),
        ("5", ".005 .007", ".006 .013"),
        ("7.9", ".004 .006", ".005 .010"),
        ("8", ".003 .005", ".004 .008"),
        ("10", ".002 .004", ".003 .005"),
        ("16", ".002 .004", ".003 .005"),
    ],
)
def test_agma_rows(pitch: str, fine: str, coarse: str) -> None:
    for quality, row in ((13, fine), (7, fine), (6, coarse), (3, coarse)):
        found = agma_backlash(Decimal(pitch), quality)
        assert [found.low_in, found.high_in] == [Decimal(x) for x in row.split()]


def test_agma_never_widens_with_finer_pitch() -> None:
    rows = [agma_backlash(Decimal(n) / 10, 8) for n in range(10, 161)]
    assert all(a.low_in >= b.low_in and a.high_in >= b.high_in for a, b in pairwise(rows))


def test_agma_by_module_is_by_pitch() -> None:
    assert agma_backlash_for_module(Decimal("5.08"), 8) == agma_backlash(Decimal(5), 8)
    with pytest.raises(OutsideValidity, match="module"):
        agma_backlash_for_module(Fraction(0), 8)


def test_agma_outside_is_refused() -> None:
    with pytest.raises(OutsideValidity, match="diametral pitch must be from 1 to 16"):
        agma_backlash(Decimal("16.1"), 8)
    for quality in (2, 14):
        with pytest.raises(OutsideValidity, match=f"quality numbers 3 to 13; {quality} is outside"):
            agma_backlash(Decimal(5), quality)


def test_seen_ranges_name_their_source() -> None:
    """.005-.008 (truck pages, TM 9-2320-289-34), .008-.018 and .012 (TM 10-3930-660-34), spread .002."""
    assert [(s.low_in, s.high_in) for s in SEEN_BACKLASH] == [
        (Decimal(".005"), Decimal(".008")),
        (Decimal(".005"), Decimal(".009")),
        (Decimal(".008"), Decimal(".018")),
        (Decimal(".012"), Decimal(".012")),
    ]
    assert all(s.source for s in SEEN_BACKLASH + SEEN_FACE_RUNOUT)
    assert [s.high_in for s in SEEN_FACE_RUNOUT] == [Decimal(".002"), Decimal(".004"), Decimal(".008")]
    assert [s.low_in for s in SEEN_FACE_RUNOUT] == [0, Decimal(".003"), 0]
    assert Decimal(".002") == SEEN_SPREAD_IN


def test_agma_names_its_columns_at_their_border() -> None:
    said = [agma_backlash(Decimal(5), quality).what for quality in (6, 7)]  # the two columns of the quoted table
    assert said == ["diametral pitch 5 to 6, quality 3-6", "diametral pitch 5 to 6, quality 7-13"]


def test_a_pair_without_a_spiral_is_straight() -> None:
    pair = [make(10, 41, 20, 20) for make in (Teeth.of_ring, Teeth.of_pinion)]
    assert [teeth.spiral_angle_deg for teeth in pair] == [0, 0]
