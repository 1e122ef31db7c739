"""Assembly temperature, roughness loss and handbook tonnage."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.assembly_heat import (
    AssemblyHeat,
    Heated,
    assembly_heat,
    effective_interference,
    handbook_tonnage,
)
from measurements.engineering.validity import OutsideValidity


def ring_gear(clearance: float | None, ceiling_c: float = 150.0) -> AssemblyHeat:
    return assembly_heat(
        diameter=203.2, interference=0.05, expansion_per_k=11.5e-6, clearance=clearance, ceiling_c=ceiling_c
    )


def test_aluminium_hub() -> None:
    # public engineering reference: 1.000 in, δ .001, clearance .002, 12.8e-6 per °F -> 234.4 °F rise
    heat = assembly_heat(
        diameter=1.0, interference=0.001, expansion_per_k=12.8e-6 * 1.8, clearance=0.002, ceiling_c=200
    )
    assert heat.rise * 1.8 == pytest.approx(234.4, rel=1e-3)


@pytest.mark.parametrize(
    ("clearance", "rise", "temperature"),
    [(0.10, 64.19, 84.19), (None, 108.35, 128.35)],  # calculated; None is d/1000 = .2032
)
def test_ring_gear(clearance: float | None, rise: float, temperature: float) -> None:
    heat = ring_gear(clearance)
    assert (heat.rise, heat.temperature) == pytest.approx((rise, temperature), abs=0.005)
    assert heat.refusal == ""
    assert heat.temperature_f == pytest.approx(32 + 1.8 * temperature, abs=0.01)


def test_above_the_ceiling_the_answer_carries_a_refusal() -> None:
    assert "128 °C is above the ceiling of 120 °C" in ring_gear(None, Heated.ROLLING_BEARING.value).refusal
    exact = ring_gear(None)
    assert ring_gear(None, exact.temperature).refusal == ""  # the ceiling itself is allowed


def test_ceilings_rise_with_what_the_part_can_bear() -> None:
    ceilings = [part.value for part in Heated]
    assert ceilings == sorted(ceilings)
    assert Heated.CARBURIZED_UNKNOWN_TEMPER.value == 150  # house default


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"diameter": 0}, "fit diameter"),
        ({"interference": -0.1}, "interference must not"),
        ({"expansion_per_k": 11.5}, "expansion coefficient must be from"),
        ({"clearance": -0.1}, "assembly clearance"),
        ({"room_c": 80}, "room temperature must be from -20 to 50 °C"),
    ],
)
def test_assembly_heat_outside_its_range_is_refused(change: dict[str, float], says: str) -> None:
    figures = {"diameter": 203.2, "interference": 0.05, "expansion_per_k": 11.5e-6, "ceiling_c": 150.0}
    with pytest.raises(OutsideValidity, match=says):
        assembly_heat(**(figures | change))


@given(st.floats(0, 0.1), st.floats(0, 0.1))
def test_more_interference_needs_more_heat_in_proportion(one: float, more: float) -> None:
    def rise(interference: float) -> float:
        heat = assembly_heat(
            diameter=100, interference=interference, expansion_per_k=1.15e-5, clearance=0, ceiling_c=1e9
        )
        return heat.rise

    assert rise(one + more) == pytest.approx(rise(one) + rise(more))


@pytest.mark.parametrize(("smoothing", "lost"), [(0.8, 13.04), (0.4, 6.52)])
def test_roughness_loss(smoothing: float, lost: float) -> None:
    # calculated: Rz 6.3 + 10 µm; k .8 (2001, from memory), .4 (DIN 7190-1:2017, quoted, the default)
    assert 50 - effective_interference(50, 6.3, 10, smoothing=smoothing) == pytest.approx(lost)
    assert effective_interference(50, 6.3, 10) == pytest.approx(50 - 6.52)


def test_roughness_that_takes_all_is_refused() -> None:
    with pytest.raises(OutsideValidity, match=r"roughness is larger than the interference"):
        effective_interference(5, 6.3, 10)
    with pytest.raises(OutsideValidity, match=r"smoothing factor"):
        effective_interference(50, 6.3, 10, smoothing=1.2)
    for roughness in ((-1, 1), (1, -1)):
        with pytest.raises(OutsideValidity, match=r"roughness of the"):
            effective_interference(50, *roughness)
    with pytest.raises(OutsideValidity, match=r"interference must not"):
        effective_interference(-1, 1, 1)


def test_handbook_tonnage() -> None:
    # Machinery's Handbook factors; the half from memory: 3.5 x 3 in, allowance .004 -> 8.64 US tons
    area = 3.14159265 * 3.5 * 3
    assert handbook_tonnage(3.5, area, 0.004) == pytest.approx(8.64, abs=0.005)


@pytest.mark.parametrize(
    ("diameter", "factor"), [(3.00, 155), (3.25, 145), (3.50, 131), (3.75, 123), (4.00, 115), (3.125, 150)]
)
def test_handbook_factor_is_a_straight_line_between_sizes(diameter: float, factor: float) -> None:
    assert handbook_tonnage(diameter, 2.0, 1.0) == pytest.approx(factor)


@pytest.mark.parametrize(
    ("figures", "says"),
    [
        ((2.9, 1, 1), "diameter must be from 3 to 4 in"),
        ((4.1, 1, 1), "diameter must be from"),
        ((3.5, 0, 1), "contact area"),
        ((3.5, 1, -1), "allowance"),
    ],
)
def test_handbook_tonnage_outside_its_table_is_refused(figures: tuple[float, float, float], says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        handbook_tonnage(*figures)
