"""Shafts in torsion: calculated rows, the 1.5 in shaft also as a textbook prints it (from memory)."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.geometry.sections import Tube
from measurements.engineering.geometry.shafts import twist, twist_inches, yield_torque
from measurements.engineering.validity import OutsideValidity, scaled

shafts = st.builds(lambda d, share: Tube(d, d * share), st.floats(10, 100), st.floats(0.05, 0.5))


def test_inch_shaft() -> None:
    """1.5 in, 3 000 in-lb, 54 in, G 11.5e6 psi: 4 527 psi, 1.624 degrees.

    A textbook prints 4 530 and 1.62 (from memory).
    """
    found = twist_inches(Tube.solid(38.1), 3_000, 54)
    assert found.shear_psi == pytest.approx(4_527, abs=0.5)
    assert found.twist_deg == pytest.approx(1.624, abs=5e-4)


def test_metric_twin() -> None:
    inch = twist_inches(Tube.solid(38.1), 3_000, 54)
    metric = twist(Tube.solid(38.1), scaled(3_000, "in-lb", "N·m"), 54 * 25.4, scaled(11.5e6, "psi", "MPa"))
    assert metric.shear_mpa == pytest.approx(inch.shear_mpa, rel=1e-12)
    assert metric.twist_deg == pytest.approx(inch.twist_deg, rel=1e-12)


def test_yield_of_an_axle_shaft() -> None:
    """38.1 mm, .577 x 1 035 MPa: 6 485 N·m, all yielded 4/3 of it (calculated)."""
    found = yield_torque(Tube.solid(38.1), 1_035)
    assert found.first_nm == pytest.approx(6_485, abs=0.5)
    assert found.plastic_nm == pytest.approx(found.first_nm * 4 / 3)
    assert found.first_ft_lb == pytest.approx(6_485 / 1.3558179, rel=1e-4)


@given(shafts, st.floats(100, 2_000))
def test_yield_torque_makes_yield_stress(shaft: Tube, strength: float) -> None:
    torque = yield_torque(shaft, strength)
    assert twist(shaft, torque.first_nm, 100).shear_mpa == pytest.approx(0.577 * strength, rel=1e-9)
    assert 1 <= torque.plastic_nm / torque.first_nm <= 4 / 3 + 1e-12


@given(shafts)
def test_plastic_torque_by_adding_rings(shaft: Tube) -> None:
    """2 pi t_y times the integral of r^2 from inside to outside."""
    outside, inside = shaft.outside_mm / 2, shaft.inside_mm / 2
    expected = 2 * math.pi / 3 * (outside**3 - inside**3) * 0.577 * 400 / 1000
    assert yield_torque(shaft, 400).plastic_nm == pytest.approx(expected, rel=1e-9)


@given(shafts, st.floats(1, 10_000), st.floats(1, 2_000))
def test_twist_goes_with_torque_and_length(shaft: Tube, torque: float, length: float) -> None:
    one = twist(shaft, torque, length)
    assert twist(shaft, torque, 2 * length).twist_deg == pytest.approx(2 * one.twist_deg)
    double = twist(shaft, 2 * torque, length)
    assert (double.shear_mpa, double.twist_deg) == pytest.approx((2 * one.shear_mpa, 2 * one.twist_deg))
    # The surface turns by shear/G over the length.
    by_surface = math.degrees(one.shear_mpa / 79_300 * length / (shaft.outside_mm / 2))
    assert one.twist_deg == pytest.approx(by_surface, rel=1e-9)


def test_outside_validity() -> None:
    shaft = Tube.solid(38.1)
    with pytest.raises(OutsideValidity, match="torque"):
        twist(shaft, -1, 1)
    with pytest.raises(OutsideValidity, match="length"):
        twist(shaft, 1, -1)
    with pytest.raises(OutsideValidity, match="shear modulus"):
        twist(shaft, 1, 1, 0)
    with pytest.raises(OutsideValidity, match="yield strength"):
        yield_torque(shaft, 0)
    for share in (0.49, 0.61):
        with pytest.raises(OutsideValidity, match="share of yield in shear"):
            yield_torque(shaft, 1_035, share)
    assert yield_torque(shaft, 1_000, 0.6).first_nm / yield_torque(shaft, 1_000, 0.5).first_nm == pytest.approx(1.2)
