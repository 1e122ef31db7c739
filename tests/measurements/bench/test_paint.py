"""Paint now or wait, wet film, and the acceptance of a dry film: published cases and both rules' own bounds."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import pytest

from measurements.bench.advice import advise
from measurements.bench.answer import Answer, Tone
from measurements.bench.given import Given, Value
from measurements.engineering.dew_point import dew_point_c
from measurements.engineering.limits import Limits

FILM = {"mean": Limits(Decimal("3.0"), Decimal("5.0"))}


def fahrenheit(celsius: str) -> str:
    return str(Decimal(celsius) * Decimal("1.8") + 32)


def air(steel: str, warm: str, humidity: str, least: str = "5") -> Answer:
    read: dict[str, dict[str, Value]] = {
        "surface": {"": Decimal(steel)},
        "air": {"": Decimal(warm)},
        "humidity": {"": Decimal(humidity)},
    }
    limits = {"margin": Limits(Decimal(least))} if least else {}
    return advise("dew_point", Given(read, limits, {"wettest": Decimal(85)}), {})


def test_a_published_chart_says_no() -> None:
    """16 °C, 71 %, steel 13 °C: dew point 11 °C, no (published chart; Magnus 10.74, calculated). 5.4 °F is 3 °C."""
    answer = air(fahrenheit("13"), fahrenheit("16"), "71", least="")
    assert answer.tone is Tone.WAIT
    assert answer.lines[0].other == "10.7 °C"
    assert "5.4 °F above is needed" in answer.says


def test_air_at_70_degrees_and_65_per_cent() -> None:
    """70 °F, 65 %: dew point 57.7 °F (published chart, 57)."""
    assert air("70", "70", "65").lines[0].value == "57.7 °F"


@pytest.mark.parametrize("steel", ["60", "50", "66.5"])
def test_what_would_make_it_go_does(steel: str) -> None:
    """68 °F and 80 %: dew point 16.44 °C (psychrometric libraries 16.447), so steel from 66.6 °F."""
    answer = air(steel, "68", "80")
    assert (answer.tone, "with the steel at 66.6 °F or more" in answer.says) == (Tone.WAIT, True)
    assert air("66.6", "68", "80").tone is Tone.GO
    percent = answer.says.rpartition("humidity at ")[2].partition(" %")[0]
    assert air(steel, "68", percent).tone is Tone.GO
    assert air(steel, "68", str(int(percent) + 1)).tone is Tone.WAIT


def test_steel_colder_than_the_dew_point_is_said_below_it() -> None:
    assert "1.6 °F below the dew point" in air("60", "68", "80").says
    assert "above the dew point;" in air("64", "68", "80").says


def test_wet_air_waits_although_the_steel_is_warm() -> None:
    answer = air("90", "68", "86")
    assert (answer.tone, answer.says) == (Tone.WAIT, "86 % humidity is above 85 %. It goes at 85 % or less.")
    assert air("90", "68", "85").tone is Tone.GO
    both = air("60", "68", "90")
    assert " and the humidity at " in both.says


def test_frozen_steel_is_not_helped_by_drier_air() -> None:
    assert "humidity at" not in air("-60", "68", "50").says


def test_a_missing_and_a_wrong_reading() -> None:
    missing = advise(
        "dew_point", Given({"surface": {"": Decimal(60)}, "air": {"": Decimal(68)}}), {"humidity": "180.f"}
    )
    assert (missing.tone, missing.reason) == (Tone.UNKNOWN, ("180.f is not read yet.",))
    wrong = air("70", "68", "0")
    assert (wrong.tone, "no dew point" in wrong.reason[0]) == (Tone.UNKNOWN, True)
    assert "air temperature must be from" in air("70", "680", "50").reason[0]


def test_wet_film_for_a_dry_one() -> None:
    """75 µm at 60 % solids is 125.0 µm wet, with 10 % thinner 137.5 µm (calculated)."""
    figures = {"dry_low": Decimal(3), "dry_high": Decimal(5), "volume_solids": Decimal("0.60"), "thinner": Decimal(0)}
    answer = advise("wet_film", Given(figures=figures), {})
    assert answer.says == "Lay 5.0 to 8.3 mil wet in all, for 3 to 5 mil dry."
    thinned = advise("wet_film", Given(figures=figures | {"thinner": Decimal("0.10")}), {})
    assert thinned.lines[0].value == "5.5 to 9.2 mil"
    assert thinned.lines[0].other == "140 to 233 µm"
    wrong = advise("wet_film", Given(figures=figures | {"volume_solids": Decimal(60)}), {})
    assert wrong.tone is Tone.UNKNOWN


def spots(*means: str, letters: str = "ABC") -> Answer:
    read: dict[str, Value] = {
        f"{number}{letter}": Decimal(mean) for number, mean in enumerate(means, 1) for letter in letters
    }
    return advise("film", Given({"readings": read}, FILM), {})


@pytest.mark.parametrize(
    ("means", "tone", "words"),
    [
        (("4.0", "4.0", "4.0", "4.0", "4.0"), Tone.GO, "4.00 mil in the mean"),
        (("2.4", "6.0", "4.0", "4.0", "4.0"), Tone.GO, "4.08 mil in the mean"),
        (("2.3", "4.0", "4.0", "4.0", "4.0"), Tone.STOP, "Spot 1 is outside"),
        (("4.0", "6.1", "4.0", "4.0", "4.0"), Tone.STOP, "Spot 2 is outside"),
        (("2.9", "2.9", "3.0", "3.0", "3.0"), Tone.STOP, "The mean of the area"),
    ],
)
def test_five_spots_of_three(means: Sequence[str], tone: Tone, words: str) -> None:
    """SSPC-PA 2 level 3 as quoted: each spot from 80 % of 3.0 to 120 % of 5.0 mil, the mean from 3.0 to 5.0."""
    answer = spots(*means)
    assert (answer.tone, words in answer.says) == (tone, True)


def test_too_few_readings_are_not_judged() -> None:
    answer = spots("4.0", "2.0")
    assert (answer.tone, answer.says) == (Tone.UNKNOWN, "9 of 15 readings are still to come.")
    assert [one.value for one in answer.lines] == ["4.00 mil", "2.00 mil"]
    assert spots("4", "4", "4", "4", "4", letters="AB").says.startswith("5 of 15")
    assert advise("film", Given({}, FILM), {"readings": "190.a"}).reason == ("190.a is not read yet.",)


def test_without_limits_there_is_no_acceptance() -> None:
    read: dict[str, dict[str, Value]] = {"readings": {"1A": Decimal(4)}}
    for name in ("film", "film_readings"):
        assert advise(name, Given(read), {}).tone is Tone.UNKNOWN


@pytest.mark.parametrize(
    ("text", "tone", "words"),
    [
        ("120 130 125 110 140 150 135 128 122 121", Tone.GO, "128.10 mil in the mean"),
        ("95 140 140 140 140 140 140 140 140 140", Tone.STOP, "below 80 %"),
        ("100 105 110 140 150 140 140 140 140 140", Tone.STOP, "Too many"),
        ("110 110 140 150 140 140 140 140 140 140", Tone.STOP, "Too many"),
    ],
)
def test_iso_19840(text: str, tone: Tone, words: str) -> None:
    """Nominal 120: three published examples, and exactly 20 % below it, which "less than" does not allow."""
    read: dict[str, Value] = {str(number): Decimal(one) for number, one in enumerate(text.split(), 1)}
    limits = {"mean": Limits(Decimal(120), None)}
    answer = advise("film_readings", Given({"readings": read}, limits), {})
    assert (answer.tone, words in answer.says) == (tone, True)


def test_iso_19840_keeps_the_card_s_most() -> None:
    read: dict[str, dict[str, Value]] = {"readings": {str(n): Decimal(4) for n in range(9)} | {"9": Decimal("5.1")}}
    answer = advise("film_readings", Given(read, FILM), {})
    assert "above the largest film allowed" in answer.says


def test_the_dew_point_of_the_answer_is_that_of_the_library() -> None:
    """20 °C and 50 %: 9.27 °C by two psychrometric libraries; Magnus 9.255."""
    assert dew_point_c(20.0, 50.0) == pytest.approx(9.272, abs=0.05)
    assert air("70", "68", "50").lines[0].other == "9.3 °C"
