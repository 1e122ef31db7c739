"""Preheat and cooling: EN 1011-2 methods A and B, annex D, as quoted on public welding pages."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.preheat import (
    combined_thickness,
    cooling_time,
    governing_cet,
    largest_without_preheat,
    method_b_parts,
    preheat_method_b,
    start_refusal,
)
from measurements.engineering.validity import OutsideValidity

cets, plates = st.floats(0.2, 0.5), st.floats(10, 90)
hydrogens, heats = st.floats(1, 20), st.floats(0.5, 4.0)


@pytest.mark.parametrize(
    ("figures", "celsius"),
    [
        ((0.35, 20, 5, 1.5), 87.301),  # as quoted
        ((0.35, 30, 5, 1.5), 115.84),  # as quoted, 116
        ((0.4225, 12.7, 5, 1.0), 121.41),  # calculated, 4130 at its middle
    ],
)
def test_method_b(figures: tuple[float, float, float, float], celsius: float) -> None:
    assert preheat_method_b(*figures).celsius == pytest.approx(celsius, abs=0.005)


def test_a_negative_result_is_none_by_formula_and_never_shown() -> None:
    found = preheat_method_b(0.25, 12, 2, 2)
    assert found.formula == pytest.approx(-59.4, abs=0.05)
    assert (found.celsius, found.fahrenheit) == (None, None)
    assert found.text.startswith("None by formula")
    assert "-" not in found.text


def test_preheat_is_said_in_whole_degrees_upwards() -> None:
    found = preheat_method_b(0.35, 20, 5, 1.5)
    assert found.text == "At least 88 °C, measured on both sides."
    assert found.fahrenheit == pytest.approx(189.1, abs=0.1)


@given(cets, plates, hydrogens, heats)
def test_the_four_parts_sum_to_the_formula(cet: float, plate: float, hydrogen: float, heat: float) -> None:

    whole = 697 * cet + 160 * math.tanh(plate / 35) + 62 * hydrogen**0.35 + (53 * cet - 32) * heat - 328
    assert sum(method_b_parts(cet, plate, hydrogen, heat)) == pytest.approx(whole)
    assert preheat_method_b(cet, plate, hydrogen, heat).formula == pytest.approx(whole)


@given(st.floats(0.2, 0.45), st.floats(10, 80), st.floats(1, 18), st.floats(0.5, 3.5))
def test_carbon_thickness_and_hydrogen_raise_preheat_and_heat_lowers_it(
    cet: float, plate: float, hydrogen: float, heat: float
) -> None:
    base = preheat_method_b(cet, plate, hydrogen, heat).formula
    assert preheat_method_b(cet + 0.05, plate, hydrogen, heat).formula > base
    assert preheat_method_b(cet, plate + 10, hydrogen, heat).formula > base
    assert preheat_method_b(cet, plate, hydrogen + 2, heat).formula > base
    assert preheat_method_b(cet, plate, hydrogen, heat + 0.5).formula < base


def test_the_ends_of_the_range_are_allowed() -> None:
    assert preheat_method_b(0.5, 90, 20, 0.5, yield_mpa=1000).celsius is not None
    assert preheat_method_b(0.2, 10, 1, 4.0).celsius is None


@given(st.floats(0.2, 0.5), st.floats(10, 90), st.floats(1, 20), st.floats(0.5, 4.0))
def test_preheat_is_never_shown_at_or_below_room_temperature(
    cet: float, plate: float, hydrogen: float, heat: float
) -> None:
    found = preheat_method_b(cet, plate, hydrogen, heat)
    assert (found.celsius is None) == (found.formula <= 20)


@pytest.mark.parametrize(
    ("figures", "yield_mpa", "says"),
    [
        ((0.19, 20, 5, 1.5), 460, "CET must be from 0.2 to 0.5 %"),
        ((0.51, 20, 5, 1.5), 460, "CET must be"),
        ((0.35, 7.94, 5, 1.5), 460, "plate thickness must be from 10 to 90 mm; 7.94 mm is outside"),
        ((0.35, 20, 0.5, 1.5), 460, "hydrogen must be from 1 to 20"),
        ((0.35, 20, 5, 0.4), 460, "heat input must be from 0.5 to 4 kJ/mm"),
        ((0.35, 20, 5, 1.5), 1001, "Method B holds to 1000 MPa"),
        ((0.35, 20, 5, 1.5), 0, "yield strength must be more than zero"),
    ],
)
def test_method_b_outside_its_range_is_refused(
    figures: tuple[float, float, float, float], yield_mpa: float, says: str
) -> None:
    with pytest.raises(OutsideValidity, match=says):
        preheat_method_b(*figures, yield_mpa=yield_mpa)


def test_the_weld_metal_governs_when_the_parent_is_not_clearly_richer() -> None:
    # as quoted: parent - weld below .03 -> weld + .03
    assert governing_cet(0.42, 0.30) == 0.42
    assert governing_cet(0.42, 0.41) == pytest.approx(0.44)
    assert governing_cet(0.42) == 0.42
    with pytest.raises(OutsideValidity, match=r"CET of the parent"):
        governing_cet(4.2)
    with pytest.raises(OutsideValidity, match=r"CET of the weld"):
        governing_cet(0.42, 4.1)


@pytest.mark.parametrize(
    ("hydrogen", "at_49", "at_43"),
    [
        # EN 1011-2 table C.1: combined thickness at 1 and 2 kJ/mm
        (16, (25, 50), (40, 80)),
        (15, (30, 55), (50, 90)),
        (10, (35, 65), (60, 100)),
        (5, (50, 100), (100, 100)),
        (3, (60, 100), (100, 100)),
        (0, (60, 100), (100, 100)),
    ],
)
def test_method_a(hydrogen: float, at_49: tuple[int, int], at_43: tuple[int, int]) -> None:
    assert tuple(largest_without_preheat(0.49, hydrogen, heat) for heat in (1, 2)) == at_49
    assert tuple(largest_without_preheat(0.43, hydrogen, heat) for heat in (1, 2)) == at_43


def test_method_a_stays_on_the_safe_side_between_its_entries() -> None:
    assert largest_without_preheat(0.44, 16, 1.9) == largest_without_preheat(0.49, 16, 1)
    assert largest_without_preheat(0.30, 16, 2.5) == largest_without_preheat(0.43, 16, 2)


@pytest.mark.parametrize(("hydrogen", "largest"), [(15.1, 25), (10.1, 30), (5.1, 35), (3.1, 50), (2.9, 60)])
def test_method_a_takes_the_higher_hydrogen_above_each_bound(hydrogen: float, largest: int) -> None:
    assert largest_without_preheat(0.49, hydrogen, 1) == largest


def test_4130_lies_above_the_table() -> None:
    with pytest.raises(OutsideValidity, match=r"needs preheat"):
        largest_without_preheat(0.618, 5, 1)
    for figures in ((0.4, 5, 0.9), (1.2, 5, 1), (0.4, -1, 1)):
        with pytest.raises(OutsideValidity):
            largest_without_preheat(*figures)


def test_combined_thickness() -> None:
    # as quoted: butt 12.7 -> 25.4; tee 12.7 + 20 web -> 45.4 (the plate counts on both sides)
    assert combined_thickness(12.7, 12.7) == pytest.approx(25.4)
    assert combined_thickness(12.7, 12.7, 20) == pytest.approx(45.4)
    with pytest.raises(OutsideValidity, match=r"at least two heat paths"):
        combined_thickness(12.7)
    with pytest.raises(OutsideValidity, match=r"thickness of a path"):
        combined_thickness(12.7, 0)


@pytest.mark.parametrize(
    ("heat", "plate", "preheat", "seconds", "flat"),
    [
        (1.2, 20, 20, 6.3462, False),  # as quoted
        (1.2, 10, 20, 16.3635, True),  # as quoted
        (1.0, 12.7, 150, 13.135, True),  # calculated
    ],
)
def test_cooling_times(heat: float, plate: float, preheat: float, seconds: float, flat: bool) -> None:
    found = cooling_time(heat, plate, preheat)
    assert found.seconds == pytest.approx(seconds, rel=1e-4)
    assert found.two_dimensional is flat


def test_transition_thickness() -> None:
    # calculated: 1.2 kJ/mm from 20 °C -> 16.058 mm; both forms meet there
    found = cooling_time(1.2, 20, 20)
    assert found.transition_mm == pytest.approx(16.058, abs=0.001)
    below = cooling_time(1.2, found.transition_mm * 0.9999999, 20)
    assert below.two_dimensional
    assert below.seconds == pytest.approx(found.seconds, rel=1e-5)


@given(st.floats(0.2, 5), st.floats(3, 80), st.floats(0, 350), st.floats(1, 50))
def test_preheat_slows_cooling_and_shape_scales_it(heat: float, plate: float, preheat: float, more: float) -> None:
    base = cooling_time(heat, plate, preheat)
    assert cooling_time(heat, plate, preheat + more).seconds > base.seconds
    shaped = cooling_time(heat, plate, preheat, shape_2d=0.9, shape_3d=0.9)
    assert shaped.seconds == pytest.approx(0.9 * base.seconds)


@pytest.mark.parametrize(
    ("figures", "shapes", "says"),
    [
        ((0, 10, 20), {}, "heat input"),
        ((10.5, 10, 20), {}, "heat input must be from 0.1 to 10 kJ/mm"),
        ((1, 0, 20), {}, "plate thickness"),
        ((1, 10, 500), {}, "preheat must be from -20 to 450 °C"),
        ((1, 10, 20), {"shape_2d": 1.1}, "shape factor 2D"),
        ((1, 10, 20), {"shape_3d": 0.1}, "shape factor 3D"),
    ],
)
def test_cooling_outside_its_range_is_refused(
    figures: tuple[float, float, float], shapes: dict[str, float], says: str
) -> None:
    with pytest.raises(OutsideValidity, match=says):
        cooling_time(*figures, **shapes)


def test_the_arc_starts_only_between_preheat_and_interpass() -> None:
    assert start_refusal(150, 150) == ""
    assert start_refusal(250, 150) == ""
    assert start_refusal(149, 150).startswith("Do not start: 149 °C is measured, 150 °C is needed")
    assert "Let it cool" in start_refusal(251, 150)
    assert start_refusal(-40, 150).startswith("Do not start: -40 °C")
    with pytest.raises(OutsideValidity, match=r"above the highest interpass"):
        start_refusal(200, 300)
    with pytest.raises(OutsideValidity, match=r"measured temperature"):
        start_refusal(2000, 150)
