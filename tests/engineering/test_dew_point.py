"""Dew point: Magnus; control values of two psychrometric libraries; published charts."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from measurements.engineering.dew_point import (
    PaintAdvice,
    dew_point_c,
    dew_point_exact,
    humidity_for_dew_point,
    humidity_from_wet_bulb,
    paint_advice,
)
from measurements.engineering.validity import OutsideValidity


def advice(steel: float, air: float, humidity: float) -> PaintAdvice:
    return paint_advice(steel_c=steel, air_c=air, humidity_percent=humidity)


@pytest.mark.parametrize(
    ("air", "humidity", "magnus", "first_library", "second_library"),
    [
        (20, 30, 1.882, 1.914, 1.917),
        (20, 50, 9.255, 9.272, 9.274),
        (20, 80, 16.442, 16.447, 16.448),
        (25, 60, 16.693, 16.701, 16.704),
        (35, 40, 19.384, 19.385, 19.391),
    ],
)
def test_dew_point_against_libraries(
    air: float, humidity: float, magnus: float, first_library: float, second_library: float
) -> None:
    found = dew_point_c(air, humidity)
    assert found == pytest.approx(magnus, abs=0.0006)
    assert found == pytest.approx(first_library, abs=0.05)
    assert found == pytest.approx(second_library, abs=0.05)


@pytest.mark.parametrize(("air", "humidity", "chart"), [(16, 71, 11), (30, 55, 20)])
def test_dew_point_against_published_charts(air: float, humidity: float, chart: int) -> None:
    assert dew_point_c(air, humidity) == pytest.approx(chart, abs=0.6)


def test_dew_point_in_fahrenheit() -> None:
    # published chart: 70 °F, 65 % -> 57 °F; calculated 57.7
    assert advice(20, (70 - 32) / 1.8, 65).dew_point_f == pytest.approx(57.7, abs=0.05)


def test_wet_bulb() -> None:
    # 21/17 °C: published chart 15; a psychrometric library 14.73
    humidity = humidity_from_wet_bulb(21, 17)
    assert dew_point_c(21, humidity) == pytest.approx(14.73, abs=0.05)
    assert humidity_from_wet_bulb(21, 21) == pytest.approx(100)


@given(st.floats(-45, 60), st.floats(0.5, 100))
def test_the_dew_point_is_never_above_the_air(air: float, humidity: float) -> None:
    assert dew_point_c(air, humidity) <= air + 1e-9
    assert dew_point_c(air, 100) == pytest.approx(air, abs=1e-9)


@given(st.floats(-45, 59), st.floats(1, 99), st.floats(0.01, 1))
def test_warmer_or_wetter_air_has_a_higher_dew_point(air: float, humidity: float, more: float) -> None:
    assert dew_point_c(air + more, humidity) > dew_point_c(air, humidity)
    assert dew_point_c(air, humidity + more) > dew_point_c(air, humidity)


@pytest.mark.parametrize(
    ("air", "humidity", "says"),
    [
        (-46, 50, "air temperature must be from -45 to 60 °C; -46 °C is outside"),
        (61, 50, "air temperature must be from"),
        (20, 101, "relative humidity must be from 0 to 100 %"),
        (20, -1, "relative humidity must be"),
        (20, 0, "has no dew point"),
    ],
)
def test_air_outside_the_formula_is_refused(air: int, humidity: int, says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        dew_point_exact(Fraction(air), Fraction(humidity))


@pytest.mark.parametrize(
    ("figures", "says"),
    [
        ((20, 21, "1013"), "wet-bulb temperature must be from 0 to 20"),
        ((20, -1, "1013"), "wet-bulb temperature"),
        ((61, 20, "1013"), "air temperature"),
        ((20, 15, "101"), "air pressure must be from 500"),
        ((60, 5, "1013"), "do not belong together"),
    ],
)
def test_wet_bulb_readings_that_cannot_be_are_refused(figures: tuple[float, float, str], says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        humidity_from_wet_bulb(figures[0], figures[1], Decimal(figures[2]))


def test_published_go_and_wait() -> None:
    # public coating guides: 16 °C, 71 %, steel 13 °C -> no; 21/17 °C wet bulb, steel 19 °C -> yes
    wait = advice(13, 16, 71)
    assert not wait.go
    assert wait.reason.startswith("Wait or warm the part: the steel is 2.3 °C above")
    go = advice(19, 21, humidity_from_wet_bulb(21, 17))
    assert go.go
    assert go.reason.startswith("Go: the steel is 4.")


def test_wet_air_waits_even_when_the_steel_is_warm() -> None:
    assert advice(30, 20, 86).reason == "Wait: 86 % humidity is above 85 %."
    assert not advice(30, 20, 86).go
    assert advice(30, 20, 85).go  # the bound itself is allowed


def test_the_margin_itself_is_allowed() -> None:
    dew = dew_point_c(20, 50)
    assert advice(dew + 3.0000001, 20, 50).go
    assert not advice(dew + 2.9999, 20, 50).go


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"steel_c": 150.0}, "steel temperature"),
        ({"least_margin": -1.0}, "least margin"),
        ({"wettest": 0.0}, "highest humidity"),
    ],
)
def test_settings_outside_their_range_are_refused(change: dict[str, float], says: str) -> None:
    figures = {"steel_c": 20.0, "air_c": 20.0, "humidity_percent": 50.0} | change
    with pytest.raises(OutsideValidity, match=says):
        paint_advice(**figures)


@given(st.floats(-40, 60), st.floats(1, 100))
@example(18.0, 100.0)  # 100.00000000000001 before it was held at 100
def test_the_humidity_for_a_dew_point_is_the_formula_turned_round(air: float, humidity: float) -> None:
    dew = dew_point_c(air, humidity)
    if -45 <= dew <= air:
        assert humidity_for_dew_point(air, dew) == pytest.approx(humidity)
        assert dew_point_c(air, humidity_for_dew_point(air, dew)) == pytest.approx(dew, abs=1e-6)


@pytest.mark.parametrize(("air", "dew"), [(20, 21), (61, 20), (20, -46)])
def test_no_humidity_has_a_dew_point_above_its_air(air: float, dew: float) -> None:
    assert humidity_for_dew_point(20, 20) == 100
    with pytest.raises(OutsideValidity):
        humidity_for_dew_point(air, dew)
