"""The limit windows of the two demonstration axles, worked out from their inputs (calculated)."""

import re
from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest

from measurements.engineering.validity import OutsideValidity
from measurements.engineering.welds import arc_energy_kj_in
from measurements.engineering.windows import Window, form_of, window


def figures(**values: str) -> dict[str, Decimal]:
    return {name: Decimal(value) for name, value in values.items()}


# steel on steel, modulus and Poisson's ratio fixed by the shop; friction .08-.15 lubricated, from memory
SHOP = figures(modulus_psi="29000000", poisson="0.29", friction_low="0.08", friction_high="0.15")
SPEED = figures(travel_speed_low="9", travel_speed_high="13")
ARC_A = SPEED | figures(volts_low="23", volts_high="27", amps_low="190", amps_high="230")
ARC_B = SPEED | figures(volts_low="20", volts_high="24", amps_low="150", amps_high="185")
SPINDLE_A = SHOP | figures(
    tube_outside="3.625",
    bore="3.0625",
    spindle_bore="1.625",
    length="3.750",
    interference_low="0.0010",
    interference_high="0.0029",
)
NECK_A = SHOP | figures(
    neck_outside="4.500",
    fit_diameter="3.5",
    tube_bore="3.000",
    length="3.000",
    interference_low="0.0014",
    interference_high="0.0037",
)
SPINDLE_B = SHOP | figures(
    tube_outside="2.750",
    bore="2.3125",
    spindle_bore="1.250",
    length="3.000",
    interference_low="0.0008",
    interference_high="0.0027",
)
NECK_B = SHOP | figures(
    neck_outside="3.250",
    fit_diameter="2.625",
    tube_bore="2.250",
    length="2.500",
    interference_low="0.0010",
    interference_high="0.0029",
)


@pytest.mark.parametrize(
    ("inputs", "low", "high"),
    [(SPINDLE_A, 3520, 19100), (SPINDLE_B, 2290, 14500), (NECK_A, 2890, 14300), (NECK_B, 1610, 8770)],
)
def test_press_windows(inputs: dict[str, Decimal], low: int, high: int) -> None:
    assert window("press_force", inputs, "lbf") == Window(Decimal(low), Decimal(high))


def test_any_name_of_the_same_diameter_gives_the_same_window() -> None:
    general = SHOP | figures(
        hub_outside="3.625", fit_diameter="3.0625", shaft_bore="1.625", length="3.750",
        interference_low="0.0010", interference_high="0.0029",
    )  # fmt: skip
    assert window("press_force", general, "lbf") == window("press_force", SPINDLE_A, "lbf")


def test_without_interference_the_press_needs_no_force() -> None:
    assert window("press_force", SPINDLE_A | figures(interference_low="0"), "lbf").low == 0


@pytest.mark.parametrize(("inputs", "low", "high"), [(ARC_A, "20.1", "41.4"), (ARC_B, "13.8", "29.6")])
def test_arc_energy_windows(inputs: dict[str, Decimal], low: str, high: str) -> None:
    assert window("arc_energy", inputs, "kJ/in", 1) == Window(Decimal(low), Decimal(high))


def test_no_arc_inside_its_own_windows_is_outside_the_energy_window() -> None:
    found = window("arc_energy", ARC_A, "kJ/in", 1)
    for volts, amps, speed in product(*((f"{name}_low", f"{name}_high") for name in ("volts", "amps", "travel_speed"))):
        energy = arc_energy_kj_in(ARC_A[volts], ARC_A[amps], ARC_A[speed])
        assert Fraction(found.low) <= energy <= Fraction(found.high)


@pytest.mark.parametrize("missing", sorted(SPINDLE_A))
def test_a_missing_input_of_the_press_window_is_named(missing: str) -> None:
    rest = {name: value for name, value in SPINDLE_A.items() if name != missing}
    with pytest.raises(OutsideValidity, match=f"needs the input .*{missing}"):
        window("press_force", rest, "lbf")


def test_a_missing_input_of_the_arc_window_is_named() -> None:
    rest = {name: value for name, value in ARC_A.items() if name != "travel_speed_high"}
    with pytest.raises(OutsideValidity, match=r"needs the input travel_speed_high; it is missing"):
        window("arc_energy", rest, "kJ/in", 1)


def test_the_same_joint_in_metric_gives_the_same_window() -> None:
    """Another way round: the inputs turned into mm and MPa by hand (25.4 mm, 145.0377377 psi; NIST SP 811)."""
    lengths = ("tube_outside", "bore", "spindle_bore", "length", "interference_low", "interference_high")
    metric = {name: value * Decimal("25.4") if name in lengths else value for name, value in SPINDLE_A.items()}
    metric["modulus_mpa"] = metric.pop("modulus_psi") / Decimal("145.0377377")
    # 3516 and 19141 lbf (calculated) are 15.64 and 85.14 kN; 1 lbf = 4.4482216 N
    assert window("press_force", metric, "N") == Window(Decimal(15600), Decimal(85100))
    assert window("press_force", metric, "kN", 2) == Window(Decimal("15.6"), Decimal("85.1"))
    assert window("press_force", metric, "kN") == Window(Decimal(16), Decimal(85))


def test_the_same_arc_in_metric_gives_the_same_window() -> None:
    metric = ARC_A | {name: ARC_A[name] * Decimal("25.4") for name in ("travel_speed_low", "travel_speed_high")}
    # 23 x 190 x 60/(1000 x 330.2) and 27 x 230 x 60/(1000 x 228.6) kJ/mm: .79406... and 1.62992... (calculated)
    assert window("arc_energy", metric, "kJ/mm", 2) == Window(Decimal("0.79"), Decimal("1.63"))


def test_a_whole_figure_is_not_cut_outwards() -> None:
    # 27 V x 230 A x 60/(1000 x 9 in/min) = 41.4 kJ/in exactly (calculated): no higher with more decimals
    assert window("arc_energy", ARC_A, "kJ/in", 3) == Window(Decimal("20.169"), Decimal("41.4"))


def test_a_stray_input_is_refused_and_not_passed_over() -> None:
    with pytest.raises(OutsideValidity, match=r"The window press_force has no input lenght\.") as refused:
        window("press_force", SPINDLE_A | figures(lenght="3"), "lbf")
    assert refused.value.field == "lenght"


def test_one_diameter_under_two_names_is_refused() -> None:
    with pytest.raises(OutsideValidity, match=r"once; fit_diameter and bore are the same\."):
        window("press_force", SPINDLE_A | figures(fit_diameter="3.0625"), "lbf")


@pytest.mark.parametrize(
    ("name", "unit", "said"),
    [
        ("torque", "lbf", "There is no window “torque”. There are: arc_energy, press_force."),
        ("press_force", "psi", "The window press_force is worked out in lbf or N or kN, not in psi."),
        ("arc_energy", "kJ/cm", "The window arc_energy is worked out in kJ/in or kJ/mm, not in kJ/cm."),
    ],
)
def test_an_unknown_window_or_unit_is_refused(name: str, unit: str, said: str) -> None:
    with pytest.raises(OutsideValidity, match=f"^{re.escape(said)}$"):
        window(name, {}, unit)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"tube_outside": "3.0625"}, "outside must be larger than the fit diameter"),
        ({"spindle_bore": "3.0625"}, "bore must be smaller than the fit diameter"),
        ({"interference_low": "0.0030"}, "smallest interference must not be more than the largest"),
        ({"friction_low": "0.16"}, "smallest friction must not be more than the largest"),
        ({"poisson": "0.6"}, "Poisson's ratio must be from 0 to 0.5"),
        ({"length": "0"}, "fit length must be more than zero"),
    ],
)
def test_impossible_figures_are_refused(changed: dict[str, str], said: str) -> None:
    with pytest.raises(OutsideValidity, match=said):
        window("press_force", SPINDLE_A | figures(**changed), "lbf")


@pytest.mark.parametrize(
    ("unit", "units"),
    [
        ("lbf", {"tube_outside": "in", "length": "in", "interference_low": "in", "modulus_psi": "psi", "poisson": ""}),
        ("kN", {"hub_outside": "mm", "friction_high": "", "interference_high": "mm", "modulus_mpa": "MPa"}),
    ],
)
def test_every_input_of_the_press_has_its_unit_by_any_of_its_names(unit: str, units: dict[str, str]) -> None:
    form = form_of("press_force", unit)
    assert {name: form.unit_of(name) for name in units} == units
    assert all(form.unit_of(name) in ("in", "mm", "psi", "MPa", "") for name in form.known)
