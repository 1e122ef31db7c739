"""Tube sections: calculated rows; one by a finite-element section library; EN 10219 from memory."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.geometry.sections import Tube, section
from measurements.engineering.validity import OutsideValidity

tubes = st.builds(lambda d, share: Tube(d, d * share), st.floats(10, 400), st.floats(0.01, 0.5))


@pytest.mark.parametrize(
    ("outside", "wall", "area", "bending", "modulus", "mass"),
    [
        (76.2, 6.35, 1393.4, 856_855, 22_489.6, 10.939),
        (88.9, 12.7, 3040.2, 2_267_920, 51_021.8, 23.866),
        (88.9, 5, 1317.9, 1_163_739, 26_180.8, 10.345),
        (114.3, 6.3, 2137.5, 3_127_138, 54_718, 16.780),
    ],
)
def test_calculated_rows(outside: float, wall: float, area: float, bending: float, modulus: float, mass: float) -> None:
    found = section(Tube(outside, wall))
    assert found.area_mm2 == pytest.approx(area, abs=0.05)
    assert found.bending_mm4 == pytest.approx(bending, abs=0.5)
    assert found.modulus_mm3 == pytest.approx(modulus, rel=1e-5)
    assert found.mass_kg_m == pytest.approx(mass, rel=1e-4)


def test_finite_element_section() -> None:
    """88.9 x 12.7 meshed by a general section library: within 0.03 %."""
    found = section(Tube(88.9, 12.7))
    assert found.area_mm2 == pytest.approx(3_039.94, rel=3e-4)
    assert found.bending_mm4 == pytest.approx(2_267_465, rel=3e-4)
    assert found.torsion_mm4 == pytest.approx(4_534_929, rel=3e-4)


def test_tables_of_hollow_sections() -> None:
    """EN 10219 as printed (from memory): 88.9 x 5 is 10.3 kg/m and 116 cm4; 114.3 x 6.3 is 16.8 and 313."""
    small, large = section(Tube(88.9, 5)), section(Tube(114.3, 6.3))
    assert (round(small.mass_kg_m, 1), round(small.bending_mm4 / 1e4)) == (10.3, 116)
    assert (round(large.mass_kg_m, 1), round(large.bending_mm4 / 1e4)) == (16.8, 313)


@given(tubes)
def test_rules_of_thumb(tube: Tube) -> None:
    """m = .0246615 (D - t) t kg/m; 10.69 (D - t) t lb/ft with inches; J = 2 I."""
    found = section(tube)
    assert found.mass_kg_m == pytest.approx(0.0246615 * (tube.outside_mm - tube.wall_mm) * tube.wall_mm, rel=1e-5)
    inches = (tube.outside_mm - tube.wall_mm) * tube.wall_mm / 25.4**2
    assert found.mass_lb_ft == pytest.approx(10.69 * inches, rel=1e-3)
    assert found.torsion_mm4 == 2 * found.bending_mm4


def test_thin_tube_formula_is_2_7_per_cent_low_on_a_thick_wall() -> None:
    thin = math.pi * ((88.9 - 12.7) / 2) ** 3 * 12.7
    assert 1 - thin / section(Tube(88.9, 12.7)).bending_mm4 == pytest.approx(0.027, abs=5e-4)


@given(tubes, st.floats(0.001, 0.5))
def test_more_wall_is_more_of_everything(tube: Tube, share: float) -> None:
    thicker = Tube(tube.outside_mm, tube.wall_mm + (tube.outside_mm / 2 - tube.wall_mm) * share)
    if thicker.wall_mm > tube.wall_mm * (1 + 1e-6):
        one, other = section(tube), section(thicker)
        assert other.area_mm2 > one.area_mm2
        assert other.bending_mm4 >= one.bending_mm4
        assert other.modulus_mm3 >= one.modulus_mm3


def test_solid_bar() -> None:
    found = section(Tube.solid(50))
    assert Tube.solid(50).inside_mm == 0
    assert found.bending_mm4 == pytest.approx(math.pi / 64 * 50**4)


def test_inch_and_metric_are_the_same_tube() -> None:
    """3.5 x .5 in is 88.9 x 12.7 mm; area 4.712 in2, I 5.449 in4, Z 3.114 in3 (calculated), 16.04 lb/ft."""
    found = section(Tube.from_inches(3.5, 0.5))
    assert found.bending_mm4 == pytest.approx(section(Tube(88.9, 12.7)).bending_mm4, rel=1e-12)
    assert found.area_in2 == pytest.approx(math.pi / 4 * (3.5**2 - 2.5**2), rel=1e-12)
    assert found.bending_in4 == pytest.approx(math.pi / 64 * (3.5**4 - 2.5**4), rel=1e-12)
    assert found.modulus_in3 == pytest.approx(math.pi / 32 * (3.5**4 - 2.5**4) / 3.5, rel=1e-12)
    assert found.mass_lb_ft == pytest.approx(10.69 * 3 * 0.5, rel=1e-3)


def test_other_density() -> None:
    assert section(Tube(50, 5), 2700).mass_kg_m == pytest.approx(section(Tube(50, 5)).mass_kg_m * 2700 / 7850)


@pytest.mark.parametrize(
    ("outside", "wall", "words"),
    [(0, 5, "outside diameter"), (50, 0, "wall"), (50, 25.01, "does not fit"), (math.nan, 5, "plain figure")],
)
def test_outside_validity(outside: float, wall: float, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        Tube(outside, wall)
    with pytest.raises(OutsideValidity, match="density"):
        section(Tube(50, 5), 0)
