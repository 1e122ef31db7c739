"""Arc energy, heat input, carbon equivalents. Formulas and checks as quoted on public welding pages."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.validity import OutsideValidity
from measurements.engineering.welds import (
    Equivalent,
    Process,
    arc_energy_kj_in,
    arc_energy_window,
    carbon_equivalent,
    heat_input,
    kj_mm_to_kj_in,
    pulsed_heat_input,
)

volts = st.floats(10, 40)
amps = st.floats(50, 400)


def analysis(text: str) -> dict[str, Decimal]:
    return {name: Decimal(value) for name, value in (pair.split("=") for pair in text.split())}


def test_arc_energy_in_inches() -> None:
    # calculated: 25 V, 210 A, 11 in/min -> 28.6 kJ/in; 24 V, 210 A, 300 mm/min -> 25.60 kJ/in (AWS form)
    assert float(arc_energy_kj_in(Decimal(25), Decimal(210), Decimal(11))) == pytest.approx(28.636, abs=0.001)
    assert float(arc_energy_kj_in(24, 210, Fraction(3000, 254))) == pytest.approx(25.60, abs=0.005)


@pytest.mark.parametrize(
    ("figures", "factor", "kj_mm"),
    [
        ((24, 180, 150), 0.8, 1.3824),  # as quoted
        ((30, 200, 300), 1.0, 1.2),  # as quoted
        ((30, 200, 300), 0.85, 1.02),  # as quoted, the annex's factor
        ((24, 210, 300), 0.8, 0.8064),  # calculated
    ],
)
def test_heat_input(figures: tuple[float, float, float], factor: float, kj_mm: float) -> None:
    assert heat_input(*figures, factor) == pytest.approx(kj_mm)


def test_pulsed_heat_input_is_energy_over_length() -> None:
    # calculated: 24 V x 210 A for 60 s is 302 400 J over 300 mm
    assert pulsed_heat_input(302400, 300, 0.8) == pytest.approx(heat_input(24, 210, 300, 0.8))


@given(volts, amps, st.floats(50, 500))
def test_inch_and_metric_forms_agree(voltage: float, current: float, speed: float) -> None:
    metric = heat_input(voltage, current, speed, 1.0)
    inch = arc_energy_kj_in(Fraction(voltage), Fraction(current), Fraction(speed) / Fraction("25.4"))
    assert float(kj_mm_to_kj_in(Fraction(metric))) == pytest.approx(float(inch))


@given(volts, amps, st.floats(50, 500), st.floats(1.01, 3))
def test_slower_travel_means_more_heat(voltage: float, current: float, speed: float, more: float) -> None:
    assert heat_input(voltage, current, speed / more, 0.8) == pytest.approx(
        more * heat_input(voltage, current, speed, 0.8)
    )


def test_thermal_factors() -> None:
    # EN 1011-1 as quoted; numbers of ISO 4063
    assert (Process.GAS_METAL_ARC.factor, Process.GAS_METAL_ARC.iso_number) == (0.8, "135")
    assert [process.factor for process in Process] == [1.0, 0.8, 0.8, 0.8, 0.6, 0.6]


def test_the_energy_window_follows_from_the_windows_of_its_inputs() -> None:
    found = arc_energy_window((Decimal(23), Decimal(27)), (Decimal(190), Decimal(230)), (Decimal(9), Decimal(13)))
    assert (float(found.low), float(found.high)) == pytest.approx((20.169, 41.4), abs=0.001)
    with pytest.raises(OutsideValidity, match=r"low amps must not be more than the high"):
        arc_energy_window((Decimal(23), Decimal(27)), (Decimal(230), Decimal(190)), (Decimal(9), Decimal(13)))


@pytest.mark.parametrize(
    ("figures", "says"),
    [
        ((4, 200, 300, 0.8), "arc voltage must be from 5 to 60 V"),
        ((24, 2000, 300, 0.8), "arc current must be from"),
        ((24, 200, 0, 0.8), "travel speed must be more than zero"),
        ((24, 200, 300, 1.1), "thermal factor must be from 0.3 to 1"),
    ],
)
def test_arcs_that_cannot_be_are_refused(figures: tuple[float, float, float, float], says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        heat_input(*figures)


def test_the_ends_of_the_ranges_are_allowed() -> None:
    assert heat_input(5, 5, 300, 0.3) < heat_input(60, 1500, 300, 1.0)
    same = (Decimal(24), Decimal(24)), (Decimal(200), Decimal(200)), (Decimal(11), Decimal(11))
    assert arc_energy_window(*same).low == arc_energy_window(*same).high
    for amperes in (4.9, 1500.5):
        with pytest.raises(OutsideValidity, match=r"arc current must be from 5 to 1500 A"):
            heat_input(24, amperes, 300, 0.8)
    with pytest.raises(OutsideValidity, match=r"thermal factor must be from 0.3 to 1;"):
        pulsed_heat_input(100, 300, 1.5)


def test_other_forms_refuse_the_same() -> None:
    with pytest.raises(OutsideValidity, match=r"travel speed must be more than zero; 0 in/min"):
        arc_energy_kj_in(24, 200, 0)
    with pytest.raises(OutsideValidity, match=r"arc energy of the run"):
        pulsed_heat_input(0, 300, 0.8)
    with pytest.raises(OutsideValidity, match=r"length of the run"):
        pulsed_heat_input(100, 0, 0.8)
    with pytest.raises(OutsideValidity, match=r"thermal factor"):
        pulsed_heat_input(100, 300, 0)


@pytest.mark.parametrize(
    ("steel", "kind", "value"),
    [
        # as quoted
        ("C=.2 Mn=1.2", Equivalent.CE, 0.40),
        ("C=.18 Mn=1.2 Mo=.1 Cr=.3 Cu=.2 Ni=.5", Equivalent.CET, 0.3475),
        ("C=.2 Mn=1 Cr=.5 Mo=.2 V=.05 Ni=.3 Cu=.2", Equivalent.CE, 0.55),
        ("C=.1 Si=.3 Mn=1 Cu=.2 Cr=.3 Ni=.3 Mo=.1 V=.02 B=.001", Equivalent.PCM, 0.20367),
        # 4130 at its limits (ASTM A519 as tabulated): least, middle, most (calculated)
        ("C=.28 Mn=.40 Si=.15 Cr=.80 Mo=.15", Equivalent.CE, 0.537),
        ("C=.305 Mn=.50 Si=.25 Cr=.95 Mo=.20", Equivalent.CE, 0.618),
        ("C=.33 Mn=.60 Si=.35 Cr=1.10 Mo=.25", Equivalent.CE, 0.700),
        ("C=.28 Mn=.40 Si=.15 Cr=.80 Mo=.15", Equivalent.CET, 0.375),
        ("C=.305 Mn=.50 Si=.25 Cr=.95 Mo=.20", Equivalent.CET, 0.4225),
        ("C=.33 Mn=.60 Si=.35 Cr=1.10 Mo=.25", Equivalent.CET, 0.470),
        ("C=.28 Mn=.40 Si=.15 Cr=.80 Mo=.15", Equivalent.PCM, 0.355),
        ("C=.305 Mn=.50 Si=.25 Cr=.95 Mo=.20", Equivalent.PCM, 0.399),
        ("C=.33 Mn=.60 Si=.35 Cr=1.10 Mo=.25", Equivalent.PCM, 0.443),
    ],
)
def test_carbon_equivalents(steel: str, kind: Equivalent, value: float) -> None:
    assert float(carbon_equivalent(analysis(steel), kind).value) == pytest.approx(value, abs=0.0005)


def test_missing_elements_are_flagged() -> None:
    found = carbon_equivalent(analysis("C=.30 Mn=.49 P=.011 S=.006 Si=.24 Cr=.96 Mo=.19"), Equivalent.CE)
    assert found.assumed_zero == ("V", "Ni", "Cu")
    assert found.remark.startswith("Assumed 0: V, Ni, Cu.")
    whole = carbon_equivalent(analysis("C=.3 Mn=.5 Cr=1 Mo=.2 V=0 Ni=0 Cu=0"), Equivalent.CE)
    assert whole.remark == ""


@pytest.mark.parametrize(
    ("kind", "divisors"),
    [
        (Equivalent.CE, "Mn=6 Cr=5 Mo=5 V=5 Ni=15 Cu=15"),
        (Equivalent.CET, "Mn=10 Mo=10 Cr=20 Cu=20 Ni=40"),
        (Equivalent.PCM, "Si=30 Mn=20 Cu=20 Cr=20 Ni=60 Mo=15 V=10 B=0.2"),
    ],
)
def test_each_element_counts_by_its_own_divisor(kind: Equivalent, divisors: str) -> None:
    base = analysis("C=.3 Mn=.5")
    for element, divisor in analysis(divisors).items():
        richer = base | {element: base.get(element, Decimal(0)) + 1}
        more = carbon_equivalent(richer, kind).value - carbon_equivalent(base, kind).value
        assert more == 1 / Fraction(divisor), element
    assert carbon_equivalent(base | {"C": Decimal("1.3")}, kind).value == carbon_equivalent(base, kind).value + 1


@given(st.sampled_from(list(Equivalent)), st.sampled_from(["C", "Mn", "Cr", "Mo", "Ni", "Cu"]))
def test_every_alloying_element_hardens(kind: Equivalent, element: str) -> None:
    base = analysis("C=.3 Mn=.5 Si=.2 Cr=1 Mo=.2 V=.01 Ni=.1 Cu=.1 B=.001")
    richer = base | {element: base[element] + Decimal("0.1")}
    assert carbon_equivalent(richer, kind).value > carbon_equivalent(base, kind).value


@pytest.mark.parametrize(
    ("steel", "says"),
    [
        ("Mn=.5", "analysis has no C: it is needed"),
        ("C=.3", "analysis has no Mn"),
        ("C=.3 Mn=.5 Xx=1", "“Xx” is not an element"),
        ("C=.3 Mn=50", "content of Mn must be from 0 to 20 %"),
        ("C=-.3 Mn=.5", "content of C must be from"),
    ],
)
def test_analyses_that_cannot_be_are_refused(steel: str, says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        carbon_equivalent(analysis(steel), Equivalent.CE)
