"""Tapered-bearing theory: calculated rows of the give, power laws, starting torque by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.bearings.theory import TaperedBearing, preload_of_pair_n, starting_torque
from measurements.engineering.validity import OutsideValidity

HEAD = TaperedBearing(rollers=17, contact_angle_deg=15, roller_length_mm=16)
bearings = st.builds(TaperedBearing, st.integers(6, 60), st.floats(5, 35), st.floats(5, 60))
loads = st.floats(10, 50_000)


@pytest.mark.parametrize(("load", "give"), [(2_500, 0.00976), (5_000, 0.01820), (10_000, 0.03397)])
def test_give_of_the_worked_bearing(load: float, give: float) -> None:
    """Calculated: 17 rollers of 16 mm at 15 degrees."""
    assert HEAD.axial_give_mm(load) == pytest.approx(give, rel=1e-3)


@given(bearings, loads)
def test_twice_the_load_gives_1_866_times(bearing: TaperedBearing, load: float) -> None:
    """2 to the power .9 = 1.866."""
    assert bearing.axial_give_mm(2 * load) / bearing.axial_give_mm(load) == pytest.approx(1.866, abs=5e-4)


@given(bearings, loads)
def test_load_is_found_back_from_the_give(bearing: TaperedBearing, load: float) -> None:
    assert bearing.axial_load_n(bearing.axial_give_mm(load)) == pytest.approx(load, rel=1e-9)


@given(bearings, loads)
def test_more_rollers_longer_rollers_and_a_steeper_angle_give_less(bearing: TaperedBearing, load: float) -> None:
    z, a, length = bearing.rollers, bearing.contact_angle_deg, bearing.roller_length_mm
    for stiffer in ((z + 1, a, length), (z, a + 1, length), (z, a, length + 1)):
        if stiffer[0] <= 60 and stiffer[1] <= 35:
            assert TaperedBearing(*stiffer).axial_give_mm(load) < bearing.axial_give_mm(load)


@given(bearings, bearings, loads)
def test_a_pair_shares_one_force(one: TaperedBearing, other: TaperedBearing, load: float) -> None:
    squeeze = one.axial_give_mm(load) + other.axial_give_mm(load)
    assert preload_of_pair_n(one, other, squeeze) == pytest.approx(load, rel=1e-9)
    assert preload_of_pair_n(other, one, squeeze) == pytest.approx(load, rel=1e-9)


def test_starting_torque_by_hand() -> None:
    """Calculated: arm 2 mm, .20, 5 000 N, 2 degrees: .002 * .2 * 5000 * cos 2 = 1.9988 N·m."""
    assert starting_torque(5_000, 2, 2).newton_metres == pytest.approx(1.9988, abs=5e-5)
    assert starting_torque(5_000, 2, 0).newton_metres == pytest.approx(2)
    assert starting_torque(0, 2, 35).newton_metres == 0


def test_zero_load_is_no_give() -> None:
    assert HEAD.axial_give_mm(0) == 0
    assert HEAD.axial_load_n(0) == 0
    assert preload_of_pair_n(HEAD, HEAD, 0) == 0


def test_edges_are_inside() -> None:
    assert math.isfinite(TaperedBearing(6, 5, 1).axial_give_mm(1))
    assert math.isfinite(TaperedBearing(60, 35, 1).axial_give_mm(1))


@pytest.mark.parametrize(
    ("rollers", "angle", "length", "words"),
    [
        (5, 15, 16, "number of rollers must be from 6 to 60"),
        (61, 15, 16, "number of rollers"),
        (17, 4.9, 16, "contact angle must be from 5 to 35"),
        (17, 35.1, 16, "contact angle"),
        (17, 15, 0, "roller length"),
    ],
)
def test_bearings_outside_validity(rollers: int, angle: float, length: float, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        TaperedBearing(rollers, angle, length)


def test_loads_outside_validity() -> None:
    with pytest.raises(OutsideValidity, match="axial load"):
        HEAD.axial_give_mm(-1)
    with pytest.raises(OutsideValidity, match="axial give"):
        HEAD.axial_load_n(-1)
    with pytest.raises(OutsideValidity, match="squeeze"):
        preload_of_pair_n(HEAD, HEAD, -1)
    with pytest.raises(OutsideValidity, match="axial load"):
        starting_torque(-1, 2, 2)
    with pytest.raises(OutsideValidity, match="arm"):
        starting_torque(1, 0, 2)
    with pytest.raises(OutsideValidity, match="roller angle"):
        starting_torque(1, 2, 36)
