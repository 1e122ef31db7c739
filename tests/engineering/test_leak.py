"""Leak test. 40 CFR 1065.644 for the rate, ASME PCC-2 article 501 for the energy; the rest calculated."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.leak import (
    Gas,
    LeakRate,
    apparent_drop,
    bubble_advice,
    corrected_drop,
    leak_rate,
    stored_energy,
)
from measurements.engineering.units import convert
from measurements.engineering.validity import OutsideValidity

ROOM = 293.15
LITRE = 1e-3


def drop(start: str, end: str, start_f: str, end_f: str, atmosphere: str = "14.70") -> Fraction:
    return corrected_drop(
        start=Fraction(start),
        end=Fraction(end),
        start_kelvin=convert(Fraction(start_f), "F", "K"),
        end_kelvin=convert(Fraction(end_f), "F", "K"),
        atmosphere=Fraction(atmosphere),
    )


@pytest.mark.parametrize(
    ("figures", "corrected"),
    [
        # calculated, standard atmosphere 14.70 psi
        (("5.00", "4.89", "72.0", "70.0"), 0.036),  # raw .110 only looks like a fail
        (("5.00", "4.62", "71.0", "70.4"), 0.358),
        (("5.00", "4.95", "70.0", "71.5"), 0.105),  # raw .050 only looks like a pass
    ],
)
def test_corrected_drop(figures: tuple[str, str, str, str], corrected: float) -> None:
    assert float(drop(*figures)) == pytest.approx(corrected, abs=0.0005)


def test_gauge_pressure_in_the_gas_law_would_be_wrong() -> None:
    # the control: without the atmosphere the same figures give .091, not .036
    gauge_only = 5.00 - 4.89 * float(convert(Fraction(72), "F", "K") / convert(Fraction(70), "F", "K"))
    assert gauge_only == pytest.approx(0.091, abs=0.001)


@given(st.integers(-40, 150), st.integers(0, 800), st.integers(0, 800))
def test_at_one_temperature_the_corrected_drop_is_the_raw_one(fahrenheit: int, start: int, end: int) -> None:
    degrees = str(fahrenheit)
    assert drop(str(start), str(end), degrees, degrees) == start - end


@given(st.integers(50, 100), st.integers(1, 20))
def test_warming_hides_a_leak_and_cooling_looks_like_one(fahrenheit: int, change: int) -> None:
    warm, cool = str(fahrenheit + change), str(fahrenheit - change)
    assert drop("5", "5", str(fahrenheit), warm) > 0 > drop("5", "5", str(fahrenheit), cool)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"start_kelvin": 0}, "start temperature of the gas"),
        ({"end_kelvin": -1}, "end temperature of the gas"),
        ({"atmosphere": 0}, "barometer reading must be more than zero"),
        ({"start": -15}, "start pressure is below a perfect vacuum"),
        ({"end": -15}, "end pressure is below a perfect vacuum"),
    ],
)
def test_impossible_readings_are_refused(change: dict[str, int], says: str) -> None:
    figures = {"start": 5, "end": 5, "start_kelvin": 295, "end_kelvin": 295, "atmosphere": 14} | change
    with pytest.raises(OutsideValidity, match=says):
        corrected_drop(**{name: Fraction(figure) for name, figure in figures.items()})


def test_regulation_example() -> None:
    # 40 CFR 1065.644: 2 L, 25.3 -> 50.6 kPa (a vacuum side gains), 293.15 K, 70 s; .00030 mol/s from memory
    rate = leak_rate(Gas(25300, ROOM), Gas(50600, ROOM), volume=2 * LITRE, seconds=70)
    assert -rate.mol_per_s == pytest.approx(2.9657e-4, rel=1e-3)
    assert round(-rate.mol_per_s, 5) == 0.00030


@pytest.mark.parametrize(
    ("start", "end", "warmer", "litres", "seconds", "rate"),
    [
        # calculated at 20 °C and 101.325 kPa
        (201325, 201225, 0, 1, 10, 5.922),
        (201325, 201325 - 689.4757, 0, 1, 60, 6.805),
        (901325, 896325, 0, 0.5, 300, 4.935),
        (901325, 896325, -0.5, 0.5, 300, 3.423),
        (121325, 120825, 0, 12, 300, 11.84),
    ],
)
def test_leak_rates(start: float, end: float, warmer: float, litres: float, seconds: float, rate: float) -> None:
    found = leak_rate(Gas(start, ROOM), Gas(end, ROOM + warmer), volume=litres * LITRE, seconds=seconds)
    assert found.cm3_per_min == pytest.approx(rate, rel=1e-3)


def test_leak_rate_of_a_failed_housing() -> None:
    # calculated: 5.00 -> 4.62 psi, 71.0 -> 70.4 °F, 12 L, 300 s: 58 cm³/min
    start, end = Gas.gauge_psi(5.00, 71.0, 14.70), Gas.gauge_psi(4.62, 70.4, 14.70)
    assert leak_rate(start, end, volume=12 * LITRE, seconds=300).cm3_per_min == pytest.approx(58, abs=0.5)


@pytest.mark.parametrize(("pressure", "change", "pascals"), [(901325, 0.5, 1537), (121325, 0.3, 124)])
def test_cooling_alone_looks_like_a_leak(pressure: float, change: float, pascals: float) -> None:
    assert apparent_drop(Gas(pressure, ROOM), change) == pytest.approx(pascals, abs=0.5)


@given(st.floats(1.1e5, 9e5), st.floats(0.1, 5.0))
def test_cooling_without_a_leak_has_no_rate(pressure: float, change: float) -> None:
    start = Gas(pressure, ROOM)
    cooled = Gas(pressure - apparent_drop(start, change), ROOM - change)
    assert leak_rate(start, cooled, volume=LITRE, seconds=60).cm3_per_min == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("figures", "says"),
    [((0, ROOM), "absolute pressure"), ((1e5, 200), "gas temperature must be from 223.15 to 373.15 K")],
)
def test_a_gas_that_cannot_be_is_refused(figures: tuple[float, float], says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        Gas(*figures)


@pytest.mark.parametrize(("volume", "seconds", "says"), [(0, 60, "volume"), (1, 0, "test time")])
def test_a_rate_needs_a_volume_and_a_time(volume: float, seconds: float, says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        leak_rate(Gas(1e5, ROOM), Gas(1e5, ROOM), volume=volume, seconds=seconds)


@pytest.mark.parametrize(
    ("pressure", "litres", "joules"),
    [(901325, 0.5, 524.2), (121325, 12, 185.9), (801325, 20, 17909)],  # ASME PCC-2 formula, calculated
)
def test_stored_energy(pressure: float, litres: float, joules: float) -> None:
    assert stored_energy(pressure, litres * LITRE).joules == pytest.approx(joules, rel=1e-3)


def test_stored_energy_of_a_large_vessel() -> None:
    # 404.7 psia, 53.44 ft³ is 4.77e6 ft·lb (calculated); a public page prints 27.6e6, which is wrong
    pressure, volume = 404.7 * 6894.757293168, 53.44 * 0.3048**3
    energy = stored_energy(pressure, volume)
    assert energy.joules / 1.3558179483314 == pytest.approx(4.77e6, rel=2e-3)
    assert energy.kg_tnt == pytest.approx(energy.joules / 4266920)


def test_above_the_ceiling_the_energy_carries_a_refusal() -> None:
    eight_psi = 14.70 * 6894.757293168 + 8 * 6894.757293168
    assert stored_energy(eight_psi, 0.012, ceiling=eight_psi).refusal == ""
    assert "vent at once and check the seals" in stored_energy(eight_psi + 100, 0.012, ceiling=eight_psi).refusal


@given(st.floats(1.02e5, 1e6), st.floats(1.001, 3.0))
def test_energy_grows_faster_than_pressure_and_with_volume(pressure: float, more: float) -> None:
    one = stored_energy(pressure, 0.01).joules
    assert stored_energy(pressure * more, 0.01).joules > one * more
    assert stored_energy(pressure, 0.01 * more).joules == pytest.approx(one * more)


@pytest.mark.parametrize(
    ("figures", "ceiling", "says"),
    [
        ((1e5, 0.01), math.inf, "absolute pressure must be from 101000"),
        ((3e7, 0.01), math.inf, "absolute pressure must be from"),
        ((2e5, 0.0), math.inf, "volume"),
        ((2e5, 0.01), -1.0, "ceiling must be more than zero"),
    ],
)
def test_energy_outside_its_range_is_refused(figures: tuple[float, float], ceiling: float, says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        stored_energy(*figures, ceiling=ceiling)


def test_where_to_look() -> None:
    assert "small leak" in bubble_advice(LeakRate(58 / 6e7))
    assert "large leak" in bubble_advice(LeakRate(101 / 6e7))
    with pytest.raises(OutsideValidity, match=r"leak rate must not be below zero"):
        bubble_advice(LeakRate(-1.0))
