"""Cut lengths and 20 °C: calculated rows, exact arithmetic; expansion figures from memory."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.geometry.lengths import (
    ALUMINIUM,
    GREY_IRON,
    STEEL,
    AxleWidth,
    Side,
    at_20,
    at_20_fahrenheit,
    cut_length,
    let_it_soak,
)
from measurements.engineering.validity import OutsideValidity

WORKED = {
    "width": Decimal(1550),
    "centre": Decimal(310),
    "insertion": Decimal(95),
    "end_fitting": Decimal(60),
    "root_gap": Decimal("1.5"),
    "weld_shrink": Decimal("1.0"),
}
temperatures = st.decimals("-10", "60", places=1)


def test_worked_cut_length() -> None:
    """1550 over, 310 centre, 95 in, 60 fitting, 1.5 gap, 1.0 shrink: 654.5; offset 60: 714.5 and 594.5."""
    even = AxleWidth(**WORKED)
    assert cut_length(even, Side.LEFT) == cut_length(even, Side.RIGHT) == Decimal("654.5")
    shifted = AxleWidth(**WORKED, offset=Decimal(60))
    assert cut_length(shifted, Side.LEFT) == Decimal("714.5")
    assert cut_length(shifted, Side.RIGHT) == Decimal("594.5")


@given(st.decimals("-200", "200", places=2))
def test_offset_moves_length_from_side_to_side(offset: Decimal) -> None:
    axle = AxleWidth(**WORKED, offset=offset)
    assert cut_length(axle, Side.LEFT) + cut_length(axle, Side.RIGHT) == 1309
    mirrored = AxleWidth(**WORKED, offset=-offset)
    assert cut_length(axle, Side.LEFT) == cut_length(mirrored, Side.RIGHT)


@given(st.decimals("0.001", "500", places=3), st.sampled_from(["width", "insertion", "weld_shrink"]))
def test_what_lengthens_the_tube(more: Decimal, field: str) -> None:
    base, longer = AxleWidth(**WORKED), AxleWidth(**{**WORKED, field: WORKED[field] + more})
    gained = cut_length(longer, Side.LEFT) - cut_length(base, Side.LEFT)
    assert gained == Fraction(more) / (2 if field == "width" else 1)


@pytest.mark.parametrize("field", ["centre", "end_fitting", "root_gap"])
def test_what_shortens_the_tube(field: str) -> None:
    base, more = AxleWidth(**WORKED), AxleWidth(**{**WORKED, field: WORKED[field] + 10})
    assert cut_length(base, Side.LEFT) - cut_length(more, Side.LEFT) == (5 if field == "centre" else 10)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("width", 0, "finished width"),
        ("centre", 0, "centre housing"),
        ("insertion", -1, "insertion"),
        ("end_fitting", -1, "end fitting"),
        ("root_gap", -1, "root gap"),
        ("weld_shrink", -1, "weld shrink"),
        ("centre", 1550, "narrower than the finished axle"),
    ],
)
def test_axles_outside_validity(field: str, value: int, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        AxleWidth(**{**WORKED, field: Decimal(value)})


def test_no_tube_left() -> None:
    axle = AxleWidth(**WORKED, offset=Decimal("654.5"))
    with pytest.raises(OutsideValidity, match="The right tube would be 0 long"):
        cut_length(axle, Side.RIGHT)
    with pytest.raises(OutsideValidity, match=r"The left tube would be -0\.5 long"):
        cut_length(AxleWidth(**WORKED, offset=Decimal(-655)), Side.LEFT)


def test_steel_500_mm_10_kelvin_warm() -> None:
    """57.5 µm too long on a gauge at 20 °C."""
    assert at_20(Decimal(500), Decimal(30), Decimal(20)).correction == Decimal("-0.0575")


def test_bore_at_35_degrees() -> None:
    assert float(at_20(Decimal("88.900"), Decimal(35), Decimal(20)).length) == pytest.approx(88.88466, abs=5e-6)


def test_inch_reading_at_95_fahrenheit() -> None:
    """3.5000 in at 95 °F is 3.49940 in at 68 °F; 6.4e-6 per °F is the same within a per cent."""
    found = at_20_fahrenheit(Decimal("3.5000"), Decimal(95), Decimal(68))
    assert float(found.length) == pytest.approx(3.49940, abs=5e-6)
    assert float(STEEL) / 1.8 == pytest.approx(6.4e-6, rel=2e-3)
    assert float(ALUMINIUM) / 1.8 == pytest.approx(12.8e-6, rel=5e-3)


def test_steel_part_on_an_aluminium_gauge() -> None:
    """Steel 1500 at 30 °C (11.7e-6) on aluminium at 28 °C (23.1e-6): add .1017 mm."""
    found = at_20(Decimal(1500), Decimal(30), Decimal(28), Decimal("11.7e-6"), ALUMINIUM)
    assert float(found.correction) == pytest.approx(0.1017, abs=5e-5)


@given(st.decimals("1", "3000", places=3), temperatures)
def test_same_material_and_temperature_need_nothing(reading: Decimal, warmth: Decimal) -> None:
    for expansion in (STEEL, GREY_IRON, ALUMINIUM):
        assert at_20(reading, warmth, warmth, expansion, expansion).correction == 0


@given(st.decimals("1", "3000", places=3), temperatures, temperatures)
def test_first_order_is_enough(reading: Decimal, part: Decimal, gauge: Decimal) -> None:
    """The exact ratio of the two expansions differs by less than 3e-6 of the length."""
    p, g = Fraction(STEEL) * (Fraction(part) - 20), Fraction(ALUMINIUM) * (Fraction(gauge) - 20)
    exact = Fraction(reading) * (1 + g) / (1 + p)
    assert abs(at_20(reading, part, gauge, STEEL, ALUMINIUM).length - exact) <= Fraction(reading) * Fraction(3, 10**6)


@given(st.decimals("1", "100", places=4), st.decimals("14", "140", places=1), st.decimals("14", "140", places=1))
def test_fahrenheit_is_celsius(reading: Decimal, part: Decimal, gauge: Decimal) -> None:
    in_c = [(Fraction(t) - 32) / Fraction("1.8") for t in (part, gauge)]
    assert at_20_fahrenheit(reading, part, gauge) == at_20(reading, *in_c)


def test_soaks_when_the_correction_exceeds_a_tenth() -> None:
    assert not let_it_soak(Decimal("-.0010"), Decimal(".010"))
    assert let_it_soak(Decimal("-.00101"), Decimal(".010"))
    assert let_it_soak(Decimal(".00101"), Decimal(".010"))
    with pytest.raises(OutsideValidity, match="tolerance"):
        let_it_soak(Decimal(0), Decimal(0))


@pytest.mark.parametrize(
    ("reading", "part", "gauge", "alpha", "words"),
    [
        (0, 20, 20, STEEL, "reading"),
        (1, 61, 20, STEEL, "part temperature must be from -10 to 60"),
        (1, 20, -11, STEEL, "gauge temperature"),
        (1, 20, 20, Decimal("6e-5"), "expansion per kelvin"),
        (1, 20, 20, Decimal("-1e-6"), "expansion per kelvin"),
    ],
)
def test_corrections_outside_validity(reading: int, part: int, gauge: int, alpha: Decimal, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        at_20(Decimal(reading), Decimal(part), Decimal(gauge), alpha)
    with pytest.raises(OutsideValidity, match=words):
        at_20(
            Decimal(reading),
            Decimal(part),
            Decimal(gauge),
            STEEL if "expansion" not in words else alpha,
            alpha,
        )
