"""The limit windows of the two demonstration axles, worked out from their inputs (calculated)."""

import re
from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest

from measurements.engineering.validity import OutsideValidity
from measurements.engineering.welds import arc_energy_kj_in
from measurements.engineering.windows import Window, window


def figures(**values: str) -> dict[str, Decimal]:
    return {name: Decimal(value) for name, value in values.items()}


# steel on steel, modulus and Poisson's ratio fixed by the shop; friction .08-.15 lubricated, from memory
SHOP = figures(modulus_psi="29000000", poisson="0.29", friction_low="0.08", friction_high="0.15")
ARC_A = figures(volts_low="23", volts_high="27", amps_low="190", amps_high="230", speed_low="9", speed_high="13")
ARC_B = figures(volts_low="20", volts_high="24", amps_low="150", amps_high="185", speed_low="9", speed_high="13")
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
    assert window("press_force", inputs) == Window(Decimal(low), Decimal(high))


def test_any_name_of_the_same_diameter_gives_the_same_window() -> None:
    general = SHOP | figures(
        hub_outside="3.625", fit_diameter="3.0625", shaft_bore="1.625", length="3.750",
        interference_low="0.0010", interference_high="0.0029",
    )  # fmt: skip
    assert window("press_force", general) == window("press_force", SPINDLE_A)


def test_without_interference_the_press_needs_no_force() -> None:
    assert window("press_force", SPINDLE_A | figures(interference_low="0")).low == 0


@pytest.mark.parametrize(("inputs", "low", "high"), [(ARC_A, "20.1", "41.4"), (ARC_B, "13.8", "29.6")])
def test_arc_energy_windows(inputs: dict[str, Decimal], low: str, high: str) -> None:
    assert window("arc_energy", inputs) == Window(Decimal(low), Decimal(high))


def test_no_arc_inside_its_own_windows_is_outside_the_energy_window() -> None:
    found = window("arc_energy", ARC_A)
    for volts, amps, speed in product(*((f"{name}_low", f"{name}_high") for name in ("volts", "amps", "speed"))):
        energy = arc_energy_kj_in(ARC_A[volts], ARC_A[amps], ARC_A[speed])
        assert Fraction(found.low) <= energy <= Fraction(found.high)


@pytest.mark.parametrize("missing", sorted(SPINDLE_A))
def test_a_missing_input_of_the_press_window_is_named(missing: str) -> None:
    rest = {name: value for name, value in SPINDLE_A.items() if name != missing}
    with pytest.raises(OutsideValidity, match=f"needs the input .*{missing}"):
        window("press_force", rest)


def test_a_missing_input_of_the_arc_window_is_named() -> None:
    rest = {name: value for name, value in ARC_A.items() if name != "speed_high"}
    with pytest.raises(OutsideValidity, match=r"needs the input speed_high"):
        window("arc_energy", rest)


def test_an_unknown_window_is_refused() -> None:
    with pytest.raises(OutsideValidity, match=re.escape("no window “torque”. There are: arc_energy, press_force")):
        window("torque", {})
