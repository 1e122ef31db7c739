"""Paint film: ISO 19840, SSPC-PA 2 and ISO 2409 as quoted publicly; where said, from memory."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.coatings import (
    Iso19840,
    Pa2Area,
    cross_cut_class,
    cross_cut_spacing_mm,
    dry_film,
    film_area_m2,
    iso19840_readings,
    pa2_areas,
    spread_ft2_per_gallon,
    spread_m2_per_litre,
    tape_grade,
    wet_film,
)
from measurements.engineering.validity import OutsideValidity


def figures(text: str) -> list[Decimal]:
    return [Decimal(figure) for figure in text.split()]


NDFT = Iso19840(Decimal(120))
SHOP = Pa2Area(Decimal("3.0"), Decimal("5.0"))


def test_iso19840_pass() -> None:
    verdict = NDFT.judge(figures("120 130 125 110 140 150 135 128 122 121"))
    assert verdict.accepted
    assert verdict.mean == Fraction("128.1")


@pytest.mark.parametrize(
    ("readings", "finding"),
    [
        ("95 140 140 140 140 140 140 140 140 140", "below 80 %"),
        ("100 105 110 140 150 140 140 140 140 140", "Too many readings"),
        ("120 130 125 110 140 150 135 128 122 361", "above the largest"),
        ("119 119 119 119 119 119 119 119 119 119", "mean is below"),
    ],
)
def test_iso19840_fail(readings: str, finding: str) -> None:
    assert any(finding in text for text in NDFT.judge(figures(readings)).findings)


def test_iso19840_boundaries() -> None:
    fifth = figures("110 110 140 140 140 140 140 140 140 140")  # exactly 20 % thin
    assert NDFT.judge(fifth).findings == ("Too many readings are below the nominal film.",)
    assert Iso19840(Decimal(120), strict=False).judge(fifth).accepted
    assert NDFT.judge(figures("96 140 140 140 140 140")).accepted  # 96 is 80 %
    assert NDFT.judge(figures("120 360")).accepted  # 360 is three times
    assert NDFT.judge(figures("120 120")).accepted
    assert not Iso19840(Decimal(120), Decimal(200)).judge(figures("120 201")).accepted


@given(st.lists(st.decimals(50, 400, places=1), min_size=1, max_size=20), st.decimals(0, 50, places=1))
def test_a_thicker_film_is_never_found_too_thin(readings: list[Decimal], more: Decimal) -> None:
    thin = [text for text in NDFT.judge(readings).findings if "above" not in text]
    thicker = NDFT.judge([reading + more for reading in readings]).findings
    assert {text for text in thicker if "above" not in text} <= set(thin)


def test_iso19840_settings_and_readings_that_cannot_be() -> None:
    with pytest.raises(OutsideValidity, match=r"no film reading"):
        NDFT.judge([])
    with pytest.raises(OutsideValidity, match=r"nominal film thickness"):
        Iso19840(Decimal(0))
    with pytest.raises(OutsideValidity, match=r"largest film allowed"):
        Iso19840(Decimal(120), Decimal(119))


def test_iso19840_sampling() -> None:
    # from memory
    assert [iso19840_readings(area) for area in (0.5, 1, 1.1, 3, 3.1, 10)] == [5, 5, 10, 10, 15, 15]
    with pytest.raises(OutsideValidity, match=r"divide the surface"):
        iso19840_readings(10.1)
    with pytest.raises(OutsideValidity, match=r"area must be more than zero"):
        iso19840_readings(0)


def spots(*means: str) -> list[list[Decimal]]:
    return [[Decimal(mean) - Decimal("0.3"), Decimal(mean), Decimal(mean) + Decimal("0.3")] for mean in means]


def test_pa2_judges_spots_and_the_area() -> None:
    verdict = SHOP.judge(spots("3.0", "4.0", "5.0", "2.4", "6.0"))
    assert verdict.accepted  # spots on 80 % and 120 %, mean 4.08
    assert verdict.mean == Fraction("4.08")


@pytest.mark.parametrize(
    ("means", "finding"),
    [
        (("2.39", "4", "4", "4", "4"), "Spot 1 is outside"),
        (("4", "4", "6.01", "4", "4"), "Spot 3 is outside"),
        (("2.9", "2.9", "2.9", "3.0", "3.0"), "mean of the area"),
        (("5.1", "5.1", "5.1", "5.0", "5.0"), "mean of the area"),
    ],
)
def test_pa2_fail(means: tuple[str, ...], finding: str) -> None:
    assert any(finding in text for text in SHOP.judge(spots(*means)).findings)


def test_pa2_takes_the_mean_of_readings_not_the_readings() -> None:
    # one reading of 1.0 mil alone would be far out; its spot mean 3.0 is in
    readings = [*spots("4", "4", "4", "4"), figures("1.0 4.0 4.0")]
    assert SHOP.judge(readings).accepted


def test_pa2_names_what_is_missing() -> None:
    with pytest.raises(OutsideValidity, match=r"5 spots are needed, 4 are read"):
        SHOP.judge(spots("4", "4", "4", "4"))
    with pytest.raises(OutsideValidity, match=r"Spot 5 has 2 readings; 3 are needed"):
        SHOP.judge([*spots("4", "4", "4", "4"), figures("4 4")])
    with pytest.raises(OutsideValidity, match=r"least film must not be more"):
        Pa2Area(Decimal(5), Decimal(3))
    with pytest.raises(OutsideValidity, match=r"least film must be more than zero"):
        Pa2Area(Decimal(0), Decimal(3))


def test_pa2_areas() -> None:
    # to 30 m² as quoted, above from memory
    assert [pa2_areas(area) for area in (2, 10, 10.1, 30, 31, 100, 101, 300)] == [1, 1, 2, 3, 3, 3, 4, 5]
    with pytest.raises(OutsideValidity, match=r"area"):
        pa2_areas(-1)


def test_wet_film_and_coverage() -> None:
    # calculated: 75 µm at .60 solids -> 125.0, with 10 % thinner 137.5; 8.0 m²/L; 3 mil -> 320.8 ft²/gal
    assert wet_film(75, 0.60) == pytest.approx(125.0)
    assert wet_film(75, 0.60, 0.10) == pytest.approx(137.5)
    assert spread_m2_per_litre(75, 0.60) == pytest.approx(8.0)
    assert spread_ft2_per_gallon(3, 0.60) == pytest.approx(320.8, abs=0.05)


@given(st.floats(10, 500), st.floats(0.1, 1), st.floats(0, 0.5))
def test_wet_and_dry_film_are_each_others_inverse(film: float, solids: float, thinner: float) -> None:
    assert dry_film(wet_film(film, solids, thinner), solids, thinner) == pytest.approx(film)
    assert wet_film(film, solids, thinner) >= film


@given(st.floats(1, 20), st.floats(0.1, 1))
def test_coverage_is_the_same_in_both_systems(film_mil: float, solids: float) -> None:
    metric = spread_m2_per_litre(film_mil * 25.4, solids)
    assert spread_ft2_per_gallon(film_mil, solids) == pytest.approx(metric / 0.3048**2 * 3.785411784)


def test_film_figures_outside_their_range_are_refused() -> None:
    for refused in (
        lambda: wet_film(0, 0.6),
        lambda: wet_film(75, 60),  # percent typed for a share
        lambda: wet_film(75, 0.6, 10),
        lambda: dry_film(0, 0.6),
        lambda: dry_film(75, 0),
        lambda: dry_film(75, 0.6, -0.1),
        lambda: spread_m2_per_litre(0, 0.6),
        lambda: spread_m2_per_litre(75, 1.1),
        lambda: spread_ft2_per_gallon(-3, 0.6),
        lambda: spread_ft2_per_gallon(3, 0.01),
        lambda: film_area_m2(0, 1),
        lambda: film_area_m2(1, -1),
    ):
        with pytest.raises(OutsideValidity):
            refused()


def test_painted_surface_of_a_tube() -> None:
    # calculated: 92.08 mm x 1.6 m
    assert film_area_m2(0.09208, 1.6) == pytest.approx(0.46284, rel=1e-4)


def test_cross_cut() -> None:
    # ISO 2409 film limit as quoted; spacing and areas from memory
    assert [cross_cut_spacing_mm(film) for film in (60, 61, 120, 121, 250)] == [1, 2, 2, 3, 3]
    assert [cross_cut_class(lost) for lost in (0, 5, 15, 35, 65, 65.1, 100)] == [0, 1, 2, 3, 4, 5, 5]
    with pytest.raises(OutsideValidity, match=r"Above 250 µm the cross-cut does not apply"):
        cross_cut_spacing_mm(251)
    with pytest.raises(OutsideValidity, match=r"area lost"):
        cross_cut_class(101)


def test_tape_grades() -> None:
    # ASTM D3359 as tabulated publicly: 5B none, 4B under 5 %, 3B 5-15 %, 2B 15-35 %
    lost = (0, 0.1, 4.9, 5, 14.9, 15, 34.9, 35, 65, 65.1, 100)
    assert [tape_grade(area) for area in lost] == [5, 4, 4, 3, 3, 2, 2, 1, 1, 0, 0]
    with pytest.raises(OutsideValidity, match=r"area lost"):
        tape_grade(-1)
