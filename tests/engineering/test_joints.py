"""Cardan joints: kinematics confirmed by dense sampling and a numeric derivative; limits as published."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.geometry.joints import (
    PhasedJoint,
    acceleration,
    angle_for_acceleration,
    compound_angle,
    driveline,
    joint,
    velocity_ratio,
)
from measurements.engineering.validity import OutsideValidity

angles = st.floats(0.1, 45)


# Calculated; confirmed by dense sampling.
@pytest.mark.parametrize(
    ("angle", "unevenness", "lead"),
    [(3, 0.002743, 0.03929), (15, 0.06935, 0.99312), (30, 0.28868, 4.1172), (45, 0.70711, 9.8793)],
)
def test_unevenness_and_lead(angle: float, unevenness: float, lead: float) -> None:
    found = joint(angle)
    assert found.unevenness == pytest.approx(unevenness, rel=1e-4, abs=5e-7)
    assert found.lead_deg == pytest.approx(lead, rel=1e-4)
    assert found.fastest - found.slowest == pytest.approx(found.unevenness, rel=1e-9)


@given(angles)
def test_lead_by_sampling_a_turn(angle: float) -> None:
    """The driven shaft's angle is atan2(sin q cos b, cos q) from the yoke that stands square to the plane."""
    b = math.radians(angle)
    leads = []
    for half in range(180):
        q = math.radians(half / 2)
        leads.append(abs(math.degrees(math.atan2(math.sin(q) * math.cos(b), math.cos(q)) - q)))
    assert joint(angle).lead_deg == pytest.approx(max(leads), rel=1e-3, abs=1e-9)


def test_ratio_at_one_angle() -> None:
    """30 degrees, input at .7 rad: 1.014373; a numeric derivative of the driven angle agrees."""
    turn, b, h = 0.7, math.radians(30), 1e-6

    def driven(q: float) -> float:
        return math.atan2(math.sin(q), math.cos(q) * math.cos(b))

    found = velocity_ratio(30, math.degrees(turn))
    assert found == pytest.approx(1.014373, abs=5e-7)
    assert (driven(turn + h) - driven(turn - h)) / (2 * h) == pytest.approx(found, rel=1e-7)


@given(angles, st.floats(-720, 720))
def test_ratio_stays_in_its_range_and_repeats_each_half_turn(angle: float, turn: float) -> None:
    found, ratio = joint(angle), velocity_ratio(angle, turn)
    assert found.slowest * (1 - 1e-12) <= ratio <= found.fastest * (1 + 1e-12)
    assert velocity_ratio(angle, turn + 180) == pytest.approx(ratio, rel=1e-9)
    assert velocity_ratio(angle, 0) == pytest.approx(found.fastest)
    assert velocity_ratio(angle, 90) == pytest.approx(found.slowest)


def test_straight_joint_is_even() -> None:
    found = joint(0)
    assert (found.slowest, found.fastest, found.unevenness, found.lead_deg) == (1, 1, 0, 0)
    assert acceleration(0, 3_000) == 0


def test_acceleration_row() -> None:
    """3 degrees at 3 000 rpm: 270.7 rad/s2 (calculated); w^2 b^2 is 270.6, right to a part in a thousand."""
    found = acceleration(3, 3_000)
    assert found == pytest.approx(270.7, abs=0.05)
    assert found == pytest.approx((3_000 * math.pi / 30 * math.radians(3)) ** 2, rel=1e-3)


@given(angles, st.floats(100, 6_000))
def test_acceleration_by_sampling(angle: float, rpm: float) -> None:
    """d(ratio)/dq times speed squared, at its greatest over a half turn."""
    b, speed = math.radians(angle), rpm * math.pi / 30
    s = math.sin(b) ** 2
    sampled = max(
        math.cos(b) * s * math.sin(2 * q) / (1 - s * math.cos(q) ** 2) ** 2
        for q in (math.radians(half / 2) for half in range(1, 180))
    )
    assert acceleration(angle, rpm) == pytest.approx(sampled * speed**2, rel=1e-3)


@pytest.mark.parametrize(("rpm", "angle"), [(3_000, 3.65), (5_000, 2.19)])
def test_angle_for_400(rpm: float, angle: float) -> None:
    """Calculated; 400 rad/s2 is common guidance, from memory."""
    assert angle_for_acceleration(400, rpm) == pytest.approx(angle, abs=0.005)


@given(st.floats(1, 5_000), st.floats(100, 6_000))
def test_angle_for_acceleration_is_the_largest(limit: float, rpm: float) -> None:
    angle = angle_for_acceleration(limit, rpm)
    assert acceleration(angle, rpm) <= limit
    if angle < 44.99:
        assert acceleration(angle + 1e-6, rpm) > limit * (1 - 1e-9)


def test_any_angle_will_do_at_a_standstill() -> None:
    assert angle_for_acceleration(400, 0) == pytest.approx(45)
    assert angle_for_acceleration(0, 3_000) == pytest.approx(0, abs=1e-12)


def test_5_and_4_degrees_leave_3() -> None:
    found = driveline([PhasedJoint(5, True), PhasedJoint(4, False)])
    assert found.equivalent_deg == pytest.approx(3.0)
    assert not found.within
    assert driveline([PhasedJoint(4, True), PhasedJoint(5, False)]).equivalent_deg == pytest.approx(3.0)


def test_published_limit_is_2_98_degrees() -> None:
    """U <= .0027 for a whole driveline is 2.98 degrees (calculated)."""
    assert driveline([PhasedJoint(2.97, True)]).within
    assert not driveline([PhasedJoint(2.99, True)]).within
    assert joint(2.98).unevenness == pytest.approx(0.0027, abs=1e-5)
    assert driveline([PhasedJoint(2.99, True)], limit=0.003).within


@given(angles)
def test_equal_angles_in_phase_cancel(angle: float) -> None:
    found = driveline([PhasedJoint(angle, True), PhasedJoint(angle, False)])
    assert (found.equivalent_deg, found.unevenness, found.within) == (0, 0, True)


def test_compound_angle() -> None:
    assert compound_angle(3, 2) == pytest.approx(3.6035, abs=5e-5)
    assert compound_angle(-3, 2) == compound_angle(2, 3) == compound_angle(3, -2)
    assert compound_angle(3, 0) == pytest.approx(3)


@given(st.floats(0, 45), st.floats(0, 45))
def test_compound_angle_by_the_shafts_direction(up: float, across: float) -> None:
    """The angle between the axis and the vector (1, tan up, tan across)."""
    v, h = math.tan(math.radians(up)), math.tan(math.radians(across))
    expected = math.degrees(math.acos(1 / math.sqrt(1 + v**2 + h**2)))
    assert compound_angle(up, across) == pytest.approx(expected, abs=1e-5)


def test_outside_validity() -> None:
    for angle in (-0.1, 45.1):
        with pytest.raises(OutsideValidity, match="joint angle must be from 0 to 45"):
            joint(angle)
    with pytest.raises(OutsideValidity, match="speed"):
        acceleration(3, -1)
    with pytest.raises(OutsideValidity, match="acceleration limit"):
        angle_for_acceleration(-1, 3_000)
    with pytest.raises(OutsideValidity, match="at least one joint"):
        driveline([])
    with pytest.raises(OutsideValidity, match="limit of unevenness"):
        driveline([PhasedJoint(1, True)], limit=-1)
    with pytest.raises(OutsideValidity, match="more uneven than one at 45"):
        driveline([PhasedJoint(40, True), PhasedJoint(40, True)])
    with pytest.raises(OutsideValidity, match="joint angle"):
        compound_angle(46, 0)
