"""Press fits. Sources: Shigley's Mechanical Engineering Design (solution 7-24), a public worked example
(50/80 mm), closed form checked by a second method (calculated)."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.assembly_heat import handbook_tonnage
from measurements.engineering.fits import (
    Elastic,
    Joint,
    PressBand,
    axial_capacity,
    contact_pressure,
    contact_pressure_psi,
    elastic_limit_pressure,
    holds,
    interference,
    press_band,
    reduce_readings,
    stress,
    torque_capacity,
)
from measurements.engineering.limits import Verdict
from measurements.engineering.units import convert
from measurements.engineering.validity import OutsideValidity

PSI_STEEL = Elastic.psi(30e6, 0.292)
STEEL = Elastic(207e9, 0.292)
STEEL_210 = Elastic(210e9, 0.3)
DUCTILE_IRON = Elastic(169e9, 0.275)
SHOP_STEEL = Elastic.psi(29e6, 0.29)
BRACKET = Joint(0.050, 0.080, 0.0, 0.040, STEEL_210, STEEL_210)
NECK = Joint(0.0889, 0.140, 0.0635, 0.0762, DUCTILE_IRON, STEEL)


def inches(d: float, outside: float, bore: float, length: float = 1.0, hub: Elastic = PSI_STEEL) -> Joint:
    return Joint.inches(diameter=d, hub_outside=outside, shaft_bore=bore, length=length, hub=hub, shaft=PSI_STEEL)


IRON_NECK = inches(3.5, 5.5, 2.5, 3.0, Elastic.psi(24.5e6, 0.275))


def sections(*rows: str) -> list[list[Decimal]]:
    return [[Decimal(figure) for figure in row.split()] for row in rows]


def test_readings_are_reduced() -> None:
    # calculated
    bore = reduce_readings(sections("88.812 88.815 88.810", "88.814 88.817 88.812"))
    outside = reduce_readings(sections("88.912 88.914 88.911", "88.910 88.913 88.910"))
    assert float(bore.mean) == pytest.approx(88.81333, abs=1e-5)
    assert float(outside.mean) == pytest.approx(88.91167, abs=1e-5)
    assert [section.ovality for section in bore.sections] == [Fraction("0.005")] * 2
    assert [3 * section.mean for section in bore.sections] == [Fraction("266.437"), Fraction("266.443")]
    assert bore.taper == Fraction("0.002")
    assert float(outside.taper) == pytest.approx(-0.00133, abs=1e-5)
    pair = interference(outside, bore)
    assert float(pair.mean) == pytest.approx(0.09833, abs=1e-5)
    assert (pair.smallest, pair.largest) == (Fraction("0.093"), Fraction("0.104"))
    assert bore.remark == ""


@pytest.mark.parametrize("rows", [("1 1 1",), ("1 1", "1 1")])
def test_too_few_readings_to_see_a_lobed_form_are_remarked(rows: tuple[str, ...]) -> None:
    assert "three clock positions" in reduce_readings(sections(*rows)).remark


@pytest.mark.parametrize("empty", [[], [[]], [[Decimal(1)], []]])
def test_a_depth_without_a_reading_is_refused(empty: list[list[Decimal]]) -> None:
    with pytest.raises(OutsideValidity, match=r"at least one reading"):
        reduce_readings(empty)


@pytest.mark.parametrize(
    ("joint", "delta_in", "psi"),
    [
        (inches(1.5, 2.5, 0), 0.0023, 14720),  # Shigley, solution 7-24
        (inches(1.5, 2.5, 0), 0.0007, 4480),  # the same
        (IRON_NECK, 0.0014, 1993.6),  # calculated, closed form only
        (IRON_NECK, 0.0037, 5268.8),
    ],
)
def test_contact_pressure_in_inches(joint: Joint, delta_in: float, psi: float) -> None:
    assert contact_pressure_psi(joint, delta_in) == pytest.approx(psi, rel=1e-4)


@pytest.mark.parametrize(
    ("joint", "delta", "mpa"),
    [
        (BRACKET, 0.04e-3, 51.19),  # public worked example, 51.2
        (NECK, 0.10e-3, 38.7546),  # calculated; confirmed by symbols and by a radial finite-element model
    ],
)
def test_contact_pressure_in_metric(joint: Joint, delta: float, mpa: float) -> None:
    assert contact_pressure(joint, delta) / 1e6 == pytest.approx(mpa, rel=1e-4)


def test_stress_of_the_worked_examples() -> None:
    bracket = stress(BRACKET, contact_pressure(BRACKET, 0.04e-3))
    assert bracket.hub_hoop / 1e6 == pytest.approx(116.81, rel=1e-4)  # public worked example: about 117
    assert bracket.hub_von_mises / 1e6 == pytest.approx(149.15, rel=1e-4)  # calculated
    assert bracket.hub_radial == bracket.shaft_hoop == -contact_pressure(BRACKET, 0.04e-3)
    neck = stress(NECK, contact_pressure(NECK, 0.10e-3))  # calculated
    assert [figure / 1e6 for figure in (neck.hub_hoop, neck.hub_von_mises, neck.shaft_hoop)] == pytest.approx(
        [91.125, 115.487, -158.248], rel=1e-4
    )


def test_margin_of_a_solid_shaft() -> None:
    # Shigley, solution 7-24: n = 57 000 / 14 720 = 3.87, printed 3.9; the hub is taken as strong
    joint = inches(1.5, 2.5, 0)
    yield_pa = float(convert(Decimal(57000), "psi", "Pa"))
    found = stress(joint, contact_pressure(joint, 0.0023 * 0.0254)).margin(1e12, yield_pa)
    assert found == pytest.approx(3.87, rel=1e-3)


def test_the_bore_of_a_thin_tube_governs_the_margin() -> None:
    found = stress(NECK, contact_pressure(NECK, 0.10e-3))
    assert found.margin(400e6, 400e6) == pytest.approx(400 / 158.248, rel=1e-4)
    assert found.margin(100e6, 400e6) == pytest.approx(100 / 115.487, rel=1e-4)


def test_margin_refuses_what_has_none() -> None:
    with pytest.raises(OutsideValidity, match=r"no stress and no margin"):
        stress(NECK, 0.0).margin(1e8, 1e8)
    with pytest.raises(OutsideValidity, match=r"yield strength must be more than zero"):
        stress(NECK, 1e6).margin(1e8, 0)


def test_elastic_limit_is_the_pressure_that_makes_the_margin_one() -> None:
    limit = elastic_limit_pressure(NECK, 250e6)
    assert stress(NECK, limit).hub_von_mises == pytest.approx(250e6)
    # DIN 7190 form as quoted: Re (1 - Q²)/√3, always the larger of the two
    assert elastic_limit_pressure(BRACKET, 300e6, modified_tresca=True) == pytest.approx(
        300e6 * (1 - 0.625**2) / 3**0.5
    )
    assert elastic_limit_pressure(NECK, 250e6, modified_tresca=True) > limit
    with pytest.raises(OutsideValidity, match=r"yield strength"):
        elastic_limit_pressure(NECK, -1)


def test_capacity_of_the_worked_example() -> None:
    # public worked example: 38.6 kN and 965 N·m
    pressure = contact_pressure(BRACKET, 0.04e-3)
    assert axial_capacity(BRACKET, pressure, 0.12) == pytest.approx(38594, rel=1e-4)
    assert torque_capacity(BRACKET, pressure, 0.12) == pytest.approx(964.86, rel=1e-4)


def test_capacity_in_inches() -> None:
    # calculated: 20 856 lbf and 3 042 lbf·ft at δ .0037, μ .12
    pressure = contact_pressure(IRON_NECK, 0.0037 * 0.0254)
    assert axial_capacity(IRON_NECK, pressure, 0.12) / 4.4482216152605 == pytest.approx(20856, rel=1e-4)
    assert torque_capacity(IRON_NECK, pressure, 0.12) / 1.3558179483314 == pytest.approx(3042, rel=2e-4)


def test_a_band_of_one_figure_is_one_force_and_the_faintest_pressure_has_a_margin() -> None:
    band = press_band(BRACKET, (0.04e-3, 0.04e-3), (0.12, 0.12))
    assert band.low == band.high == pytest.approx(38594, rel=1e-4)
    with pytest.raises(OutsideValidity, match="smallest friction must not be more"):
        press_band(BRACKET, (0.04e-3, 0.04e-3), (0.12, 0.11))
    assert stress(BRACKET, 0.1).margin(1e8, 1e8) > 1e8


def test_press_force_lies_in_the_order_of_the_handbook_tonnage() -> None:
    # calculated: 11.27 US tons at δ .004, μ .12; Machinery's Handbook's factor gives 8.64: one order, so a band is told
    force = axial_capacity(IRON_NECK, contact_pressure(IRON_NECK, 0.004 * 0.0254), 0.12)
    tons = force / 4.4482216152605 / 2000
    assert tons == pytest.approx(11.27, abs=0.005)
    handbook = handbook_tonnage(3.5, math.pi * 3.5 * 3, 0.004)
    assert 1 < tons / handbook < 2


def test_axial_and_torque_load_add_by_their_squares() -> None:
    pressure = contact_pressure(BRACKET, 0.04e-3)
    limit = axial_capacity(BRACKET, pressure, 0.12)
    assert holds(BRACKET, pressure, 0.12, axial=0.6 * limit, torque=0.799 * limit * 0.025)
    assert not holds(BRACKET, pressure, 0.12, axial=0.6 * limit, torque=0.801 * limit * 0.025)


@pytest.mark.parametrize(
    ("d", "outside", "bore", "length", "deltas", "window"),
    [
        # the press windows of the two demonstration axles (calculated; three significant figures):
        # equal steel 29e6 psi and .29, friction .08-.15 lubricated (from memory), FN2 interference
        (3.0625, 3.625, 1.625, 3.750, (0.0010, 0.0029), (3520, 19100)),
        (2.3125, 2.750, 1.250, 3.000, (0.0008, 0.0027), (2290, 14500)),
        (3.5, 4.500, 3.000, 3.000, (0.0014, 0.0037), (2890, 14300)),
        (2.625, 3.250, 2.250, 2.500, (0.0010, 0.0029), (1610, 8770)),
    ],
)
def test_press_windows(
    d: float,
    outside: float,
    bore: float,
    length: float,
    deltas: tuple[float, float],
    window: tuple[float, float],
) -> None:
    joint = Joint.inches(
        diameter=d, hub_outside=outside, shaft_bore=bore, length=length, hub=SHOP_STEEL, shaft=SHOP_STEEL
    )
    band = press_band(joint, (deltas[0] * 0.0254, deltas[1] * 0.0254), (0.08, 0.15))
    assert (float(f"{band.low_lbf:.3g}"), float(f"{band.high_lbf:.3g}")) == window


def test_a_logged_peak_is_judged_against_the_band() -> None:
    band = PressBand(1000.0, 2000.0)
    assert [band.verdict(peak) for peak in (999.9, 1000, 2000, 2000.1)] == [
        Verdict.BELOW,
        Verdict.IN,
        Verdict.IN,
        Verdict.ABOVE,
    ]
    assert "stop and measure" in band.advice(0)
    assert band.advice(1500) == "Inside the band."
    assert "galling" in band.advice(3000)


@pytest.mark.parametrize(
    ("deltas", "frictions", "name"),
    [((2e-5, 1e-5), (0.08, 0.15), "interference"), ((1e-5, 2e-5), (0.15, 0.08), "friction")],
)
def test_a_band_the_wrong_way_round_is_refused(
    deltas: tuple[float, float], frictions: tuple[float, float], name: str
) -> None:
    with pytest.raises(OutsideValidity, match=f"smallest {name} must not be more"):
        press_band(BRACKET, deltas, frictions)


def test_the_ends_of_the_ranges_are_allowed() -> None:
    assert contact_pressure(BRACKET, 0.01 * BRACKET.diameter) > 0
    assert holds(BRACKET, 0.0, 0.1, axial=0.0, torque=0.0)
    with pytest.raises(OutsideValidity, match=r"no stress"):
        stress(BRACKET, 0.0).margin(1e8, 1e8)
    assert stress(BRACKET, 0.5).margin(1e8, 1e8) > 1  # half a pascal is a stress, if a small one


@given(st.floats(0, 2e-4), st.floats(0, 2e-4))
def test_pressure_is_proportional_to_interference(one: float, other: float) -> None:
    together = contact_pressure(BRACKET, one + other)
    assert together == pytest.approx(contact_pressure(BRACKET, one) + contact_pressure(BRACKET, other), abs=1e-3)


@given(st.floats(0.0, 0.9), st.floats(1.05, 5.0))
def test_a_stiffer_pair_presses_harder(bore_share: float, outside_share: float) -> None:
    base = Joint(0.05, 0.05 * outside_share, 0.05 * bore_share, 0.04, STEEL, STEEL)
    thicker_hub = Joint(0.05, 0.05 * (outside_share + 0.5), 0.05 * bore_share, 0.04, STEEL, STEEL)
    solid = Joint(0.05, 0.05 * outside_share, 0.0, 0.04, STEEL, STEEL)
    pressure = contact_pressure(base, 1e-5)
    assert pressure < contact_pressure(thicker_hub, 1e-5)
    assert pressure <= contact_pressure(solid, 1e-5)


@given(st.floats(1.5, 6.0), st.floats(0.0005, 0.004))
def test_equal_solid_materials_have_the_short_form(outside: float, delta: float) -> None:
    # p = E δ (Do² - d²)/(2 d Do²)
    joint = inches(1.4, outside, 0)
    expected = 30e6 * delta * (outside**2 - 1.4**2) / (2 * 1.4 * outside**2)
    assert contact_pressure_psi(joint, delta) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"diameter": 0}, "fit diameter must be more than zero"),
        ({"shaft_bore": -1}, "shaft bore must not be below zero"),
        ({"length": 0}, "fit length must be more than zero"),
        ({"hub_outside": 3.5}, "hub's outside must be larger"),
        ({"shaft_bore": 3.5}, "shaft's bore must be smaller"),
        ({"diameter": float("nan")}, "fit diameter must be a plain figure"),
    ],
)
def test_a_joint_that_cannot_be_is_refused(change: dict[str, float], says: str) -> None:
    figures = {"diameter": 3.5, "hub_outside": 5.5, "shaft_bore": 2.5, "length": 3.0}
    with pytest.raises(OutsideValidity, match=says):
        Joint(**(figures | change), hub=STEEL, shaft=STEEL)


def test_materials_that_cannot_be_are_refused() -> None:
    with pytest.raises(OutsideValidity, match=r"modulus of elasticity"):
        Elastic(0, 0.3)
    with pytest.raises(OutsideValidity, match=r"Poisson's ratio must be from 0 to 0.5; 0.6 is outside"):
        Elastic(2e11, 0.6)


def test_clearance_and_absurd_interference_have_no_pressure() -> None:
    with pytest.raises(OutsideValidity, match=r"interference must not be below zero"):
        contact_pressure(BRACKET, -1e-6)
    with pytest.raises(OutsideValidity, match=r"above 0.5 mm \(1 % of the diameter\)"):
        contact_pressure(BRACKET, 0.6e-3)
    with pytest.raises(OutsideValidity, match=r"contact pressure must not be below zero"):
        stress(BRACKET, -1.0)
    with pytest.raises(OutsideValidity, match=r"friction coefficient must be from 0 to 1"):
        axial_capacity(BRACKET, 1e6, 1.2)
