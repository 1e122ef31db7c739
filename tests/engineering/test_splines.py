"""Splines: calculated rows (no published worked result was found) and the identity 8 T/(pi D^2 L)."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.geometry.splines import Spline, SplineFactors, spline_stress
from measurements.engineering.validity import OutsideValidity, scaled


def test_35_teeth() -> None:
    """24/48, D 1.45833, Dre 1.40208, L 2, h .0375 in, 60 000 in-lb: 110 866 / 35 921 / 31 347 psi."""
    spline = Spline.from_inches(35, 1.45833, 1.40208, 2, 0.0375)
    root, tooth, flank, _ = spline_stress(spline, scaled(60_000, "in-lb", "N·m")).in_psi()
    assert (root, tooth, flank) == pytest.approx((110_866, 35_921, 31_347), rel=2e-5)


def test_30_teeth() -> None:
    """D 1.25, L 1.5 in, 36 000 in-lb: tooth 39 114, flank 34 133 psi."""
    spline = Spline.from_inches(30, 1.25, 1.19, 1.5, 0.0375)
    _, tooth, flank, _ = spline_stress(spline, scaled(36_000, "in-lb", "N·m")).in_psi()
    assert (tooth, flank) == pytest.approx((39_114, 34_133), abs=0.6)


@given(st.integers(6, 100), st.floats(10, 80), st.floats(10, 100), st.floats(1, 20_000))
def test_tooth_shear_does_not_know_the_number_of_teeth(teeth: int, pitch: float, length: float, torque: float) -> None:
    found = spline_stress(Spline(teeth, pitch, pitch * 0.95, length, 1), torque)
    assert found.tooth_mpa == pytest.approx(8 * torque * 1000 / (math.pi * pitch**2 * length), rel=1e-9)


def test_factors() -> None:
    spline = Spline(35, 37, 35.6, 50, 0.95)
    plain = spline_stress(spline, 1_000)
    harder = spline_stress(spline, 1_000, SplineFactors(application=2, misalignment=1.5, life=0.5))
    assert harder.root_mpa == pytest.approx(2 * plain.root_mpa)
    assert harder.tooth_mpa == pytest.approx(6 * plain.tooth_mpa)
    assert harder.flank_mpa == plain.flank_mpa
    assert harder.rated_flank_mpa == pytest.approx(plain.flank_mpa * 6 / 9)


@given(st.floats(0, 10_000))
def test_stress_goes_with_torque(torque: float) -> None:
    spline = Spline(35, 37, 35.6, 50, 0.95)
    one, double = spline_stress(spline, torque), spline_stress(spline, 2 * torque)
    assert double.in_psi() == pytest.approx([2 * x for x in one.in_psi()])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"teeth": 5}, "number of teeth must be from 6 to 100"),
        ({"teeth": 101}, "number of teeth"),
        ({"pitch_diameter_mm": 0}, "pitch diameter"),
        ({"minor_diameter_mm": 0}, "minor diameter must be more"),
        ({"minor_diameter_mm": 37.1}, "inside its pitch circle"),
        ({"length_mm": 0}, "length in contact"),
        ({"contact_depth_mm": 0}, "depth of contact"),
    ],
)
def test_splines_outside_validity(change: dict[str, float], words: str) -> None:
    good = {
        "teeth": 35,
        "pitch_diameter_mm": 37,
        "minor_diameter_mm": 37,
        "length_mm": 50,
        "contact_depth_mm": 0.95,
    }
    Spline(**good)  # type: ignore[arg-type]
    with pytest.raises(OutsideValidity, match=words):
        Spline(**{**good, **change})  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["application", "misalignment", "life"])
def test_factors_outside_validity(name: str) -> None:
    with pytest.raises(OutsideValidity, match=f"{name} factor"):
        SplineFactors(**{name: 0})


def test_torque_outside_validity() -> None:
    with pytest.raises(OutsideValidity, match="torque"):
        spline_stress(Spline(35, 37, 35.6, 50, 0.95), -1)
