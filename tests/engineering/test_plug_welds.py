"""Plug welds: AWS D1.1 rules as quoted publicly; spacing and share from memory; strengths calculated."""

import math
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.plug_welds import (
    FILLERS,
    arc_between,
    carried_outside,
    casting_refusal,
    counted_torque,
    fillet_ring_stress,
    hole_in_rule,
    least_spacing,
    plug_metal_g,
    plug_rule,
    plug_shear_lbf,
    plug_torque_lbf_in,
)
from measurements.engineering.validity import OutsideValidity


@pytest.mark.parametrize(
    ("thickness", "least", "most", "fill"),
    [
        ("0.25", "0.5625", "0.6875", "0.25"),
        ("0.375", "0.6875", "0.84375", "0.375"),
        ("0.5", "0.8125", "1.125", "0.5"),
        ("0.75", "1.0625", "1.6875", "0.625"),
        # calculated
        ("0.3125", "0.625", "0.75", "0.3125"),
        ("0.26", "0.625", "0.75", "0.26"),  # up to the next sixteenth
        ("0.625", "0.9375", "1.40625", "0.625"),
        ("1.5", "1.8125", "3.375", "0.75"),
    ],
)
def test_plug_rule(thickness: str, least: str, most: str, fill: str) -> None:
    rule = plug_rule(Decimal(thickness))
    assert (rule.least_hole, rule.most_hole, rule.fill) == (Fraction(least), Fraction(most), Fraction(fill))


@given(st.decimals(Decimal("0.125"), Decimal("1.9"), places=3), st.decimals(0, Decimal("0.1"), places=3))
def test_a_thicker_part_takes_a_larger_hole(thickness: Decimal, more: Decimal) -> None:
    rule, thicker = plug_rule(thickness), plug_rule(thickness + more)
    assert rule.least_hole <= thicker.least_hole
    assert rule.least_hole < rule.most_hole
    assert (rule.least_hole * 16).denominator == 1
    assert 0 <= rule.least_hole - Fraction(thickness) - Fraction(5, 16) < Fraction(1, 16)
    assert rule.fill <= Fraction(thickness)


@pytest.mark.parametrize(
    ("fit", "outside", "hole", "on_fit", "on_outside", "least_outside"),
    [
        # the two demonstration axles, three plugs a side (calculated)
        (3.5, 4.5, "0.8125", 3.67, 4.71, 4.18),
        (2.625, 3.25, "0.625", 2.75, 3.40, 3.10),
    ],
)
def test_three_plugs_on_a_neck(
    fit: float, outside: float, hole: str, on_fit: float, on_outside: float, least_outside: float
) -> None:
    arc = arc_between(fit, 3)
    assert arc == pytest.approx(on_fit, abs=0.006)
    assert arc >= least_spacing(Decimal(hole))
    assert carried_outside(arc, fit, outside) == pytest.approx(on_outside, abs=0.006)
    assert carried_outside(arc, fit, fit) == arc
    least = carried_outside(float(least_spacing(Decimal(hole))), fit, outside)
    assert least == pytest.approx(least_outside, abs=0.006)


def test_a_fourth_plug_would_stand_too_close() -> None:
    assert arc_between(3.5, 4) < least_spacing(Decimal("0.8125"))


@pytest.mark.parametrize(("hole", "inside"), [("0.8125", True), ("0.8124", False), ("1.125", True), ("1.1251", False)])
def test_a_hole_is_judged_inclusively(hole: str, inside: bool) -> None:
    assert hole_in_rule(Decimal(hole), Decimal("0.500")) is inside


def test_plug_strength() -> None:
    # calculated: 3/4 in, E70 -> 9 277.5 lbf each; four on 3.5 in -> 5 411.9 lbf·ft
    each = plug_shear_lbf(0.75, FILLERS["E70"])
    assert each == pytest.approx(9277.5, abs=0.05)
    assert plug_torque_lbf_in(4, each, 3.5) / 12 == pytest.approx(5411.9, abs=0.05)
    # the same in metric: 19.05 mm on 88.9 mm -> 41.27 kN and 7 337.5 N·m
    assert each * 4.4482216152605 / 1000 == pytest.approx(41.27, abs=0.005)
    assert plug_torque_lbf_in(4, each, 3.5) * 0.1129848290276 == pytest.approx(7337.5, abs=0.1)


@pytest.mark.parametrize(
    ("filler", "ksi"), [("E70", 70), ("ER70", 70), ("E80", 80), ("ER80", 80), ("E90", 90), ("ER90", 90)]
)
def test_a_filler_s_number_is_its_strength(filler: str, ksi: int) -> None:
    # AWS classification: the two digits are the least tensile strength in ksi
    assert FILLERS[filler] == ksi


def test_one_plug_is_allowed() -> None:
    assert arc_between(2.0, 1) == pytest.approx(2 * math.pi)
    assert plug_torque_lbf_in(1, 1000, 2.0) == pytest.approx(1000)
    assert plug_metal_g(1, 20, 10, 1000) == pytest.approx(math.pi)
    assert counted_torque(0, 5).counted == 5


def test_plug_metal() -> None:
    # calculated: four plugs of 19.05 x 9.5 mm -> 85.0 g
    assert plug_metal_g(4, 19.05, 9.5) == pytest.approx(85.0, abs=0.05)


def test_fillet_ring() -> None:
    # 88.9 mm, 8 mm leg, 8 kN·m -> 113.94 MPa, the same from a weld-group library
    assert fillet_ring_stress(8000, 8, 88.9) == pytest.approx(113.94, abs=0.005)


@given(st.floats(1, 1e5), st.floats(2, 12), st.floats(25, 200))
def test_fillet_stress_falls_with_leg_and_diameter(torque: float, leg: float, diameter: float) -> None:
    base = fillet_ring_stress(torque, leg, diameter)
    assert fillet_ring_stress(torque, leg * 2, diameter) == pytest.approx(base / 2)
    assert fillet_ring_stress(torque, leg, diameter * 2) == pytest.approx(base / 4)


def test_friction_and_weld_are_not_added() -> None:
    assert (counted_torque(3042, 5412).counted, counted_torque(3042, 5412).by) == (5412, "weld")
    assert (counted_torque(6000, 5412).counted, counted_torque(6000, 5412).by) == (
        6000,
        "friction of the fit",
    )


def test_only_a_weldable_casting_is_plugged() -> None:
    assert casting_refusal(weldable_grade=True) == ""
    assert "no plug welding into any other casting" in casting_refusal(weldable_grade=False)


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: plug_rule(Decimal("0.1")), "thickness must be from 0.125 to 2 in"),
    (lambda: plug_rule(Decimal("2.1")), "thickness must be from"),
    (lambda: least_spacing(Decimal(0)), "hole diameter"),
    (lambda: arc_between(0, 3), "diameter"),
    (lambda: arc_between(3.5, 0), "At least one plug"),
    (lambda: carried_outside(0, 3.5, 4.5), "arc"),
    (lambda: carried_outside(1, 0, 4.5), "fit diameter"),
    (lambda: carried_outside(1, 3.5, 3), "outside must not be smaller"),
    (lambda: plug_shear_lbf(0, 70), "plug diameter"),
    (lambda: plug_shear_lbf(0.75, 490), "strength of the weld metal must be from 40 to 120 ksi"),
    (lambda: plug_shear_lbf(0.75, 70, 0.9), "allowable share"),
    (lambda: plug_torque_lbf_in(0, 1, 1), "At least one plug"),
    (lambda: plug_torque_lbf_in(1, 0, 1), "shear of one plug"),
    (lambda: plug_torque_lbf_in(1, 1, 0), "fit diameter"),
    (lambda: plug_metal_g(0, 1, 1), "At least one plug"),
    (lambda: plug_metal_g(1, 0, 1), "plug diameter"),
    (lambda: plug_metal_g(1, 1, 0), "depth"),
    (lambda: plug_metal_g(1, 1, 1, 0), "density"),
    (lambda: fillet_ring_stress(0, 8, 88.9), "torque"),
    (lambda: fillet_ring_stress(1, 0, 88.9), "leg of the fillet"),
    (lambda: fillet_ring_stress(1, 8, 8), "larger than the fillet's leg"),
    (lambda: counted_torque(0, 0), "larger of the two"),
    (lambda: fillet_ring_stress(math.nan, 8, 88.9), "plain figure"),
]


@pytest.mark.parametrize(("refused", "says"), REFUSED)
def test_figures_outside_their_range_are_refused(refused: Callable[[], object], says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        refused()


def test_plug_metal_is_of_steel_unless_said_otherwise() -> None:
    # 20 mm round and 10 mm deep is 3.14159 cm³; steel 7.85 g/cm³ (common practice, no source): 24.6615 g (calculated)
    assert plug_metal_g(1, 20, 10) == pytest.approx(24.66150233, rel=1e-9)


def test_where_weld_and_friction_carry_the_same_the_weld_is_named() -> None:
    assert counted_torque(5412, 5412).by == "weld"  # house rule: the weld does not depend on the fit
