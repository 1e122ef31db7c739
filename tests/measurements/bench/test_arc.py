"""The arc energy advice: which weld, what is missing, what speed would bring it in."""

from __future__ import annotations

from decimal import Decimal

import pytest

from measurements.bench.advice import advise
from measurements.bench.answer import Answer, Tone
from measurements.bench.given import Given
from measurements.engineering.limits import Limits

CARD = {"energy": Limits(Decimal("20.1"), Decimal("41.4")), "speed": Limits(Decimal(9), Decimal(13))}


def told(limits: dict[str, Limits] | None = None, **read: str) -> Answer:
    return places({"": read}, limits)


def places(welds: dict[str, dict[str, str]], limits: dict[str, Limits] | None = None) -> Answer:
    readings: dict[str, dict[str, Decimal | str]] = {}
    for position, read in welds.items():
        for role, text in read.items():
            readings.setdefault(role, {})[position] = Decimal(text)
    figures = {"factor": Decimal("0.8")}
    return advise("arc_energy", Given(readings, CARD if limits is None else limits, figures), {})


def test_a_published_case() -> None:
    """24 V, 210 A, 300 mm/min, k 0.8: 0.8064 kJ/mm and 25.60 kJ/in (calculated; AWS form)."""
    answer = told(volts="24", amps="210", speed=str(Decimal(300) / Decimal("25.4")))
    assert (answer.tone, answer.says) == (Tone.GO, "The arc energy of 25.6 kJ/in is in its window.")
    assert "heat input 0.81 kJ/mm" in answer.lines[0].note


def test_speed_is_length_over_arc_time() -> None:
    """10.8 in in 60 s is 10.8 in/min: 60 · 25.1 · 212/10.8 = 29.56 kJ/in (calculated)."""
    answer = told(volts="25.1", amps="212", length="10.8", arc_time="60")
    assert (answer.tone, answer.lines[0].value) == (Tone.GO, "29.6 kJ/in")


@pytest.mark.parametrize(
    ("read", "missing"),
    [
        ({}, ["arc volts", "arc current", "length", "arc time"]),
        ({"volts": "25"}, ["arc current", "length", "arc time"]),
        ({"amps": "210", "speed": "10"}, ["arc volts"]),
        ({"length": "9", "arc_time": "52"}, ["arc volts", "arc current"]),
    ],
)
def test_what_is_missing_is_named_one_by_one(read: dict[str, str], missing: list[str]) -> None:
    answer = told(**read)
    assert answer.tone is Tone.UNKNOWN
    assert [text.removeprefix("The ").removesuffix(" is not read yet.") for text in answer.reason] == missing


def test_with_volts_and_amps_the_travel_speed_is_told_before_the_arc_is_timed() -> None:
    """60 · 27 · 230/1000 = 372.6: the most, 41.4 kJ/in, is 9.0 in/min; the least, 20.1, is 18.5, the card's own 13."""
    answer = told(volts="27", amps="230", length="9.60")
    assert answer.tone is Tone.KNOW
    assert answer.says == "Travel 9.0 to 13.0 in/min at 27 V and 230 A: the arc time is not read yet."
    no_speeds = told({"energy": CARD["energy"]}, volts="27", amps="230")
    assert "Travel 9.0 to 18.5 in/min" in no_speeds.says


@pytest.mark.parametrize(
    ("seconds", "tone", "word"),
    [("64", Tone.GO, "in its window"), ("65", Tone.STOP, "too hot"), ("30", Tone.STOP, "too cold")],
)
def test_the_window_is_judged_and_the_speed_said(seconds: str, tone: Tone, word: str) -> None:
    """9.60 in at 27 V and 230 A: 64 s is 41.4 kJ/in exactly, inside; 65 s is 42.0."""
    answer = told(volts="27", amps="230", length="9.60", arc_time=seconds)
    assert (answer.tone, word in answer.says) == (tone, True)
    if tone is Tone.STOP:
        assert "Travel 9.0 to 13.0 in/min" in answer.says
        assert answer.picture is not None


def test_a_speed_that_no_setting_allows_is_said_so() -> None:
    """10 V and 50 A: 30/v; 20.1 kJ/in asks for at most 1.5 in/min, the card for at least 9."""
    assert "at no speed that is allowed" in told(volts="10", amps="50").says


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({"energy": Limits(None, Decimal("41.4"))}, "at least 9.0 in/min"),
        ({"energy": Limits(Decimal("20.1"), None)}, "at most 18.5 in/min"),
        ({}, "at any speed"),
    ],
)
def test_one_sided_windows(limits: dict[str, Limits], words: str) -> None:
    assert words in told(limits, volts="27", amps="230").says


def test_without_a_window_the_energy_is_only_told() -> None:
    answer = told({}, volts="24", amps="210", speed="10")
    assert (answer.tone, answer.picture) == (Tone.KNOW, None)


def test_the_weld_that_is_out_is_spoken_of_before_one_half_read() -> None:
    good = {"volts": "25", "amps": "210", "length": "2.00", "arc_time": "11"}
    half = {"volts": "25", "amps": "210"}
    hot = good | {"arc_time": "20"}
    assert "at left 2" in places({"left 1": good, "left 2": half}).says
    answer = places({"left 1": good, "left 2": half, "left 3": hot})
    assert (answer.tone, "at left 3" in answer.says) == (Tone.STOP, True)
    assert [one.name for one in answer.lines] == ["arc energy, left 1", "arc energy, left 3", "travel speed"]
    done = places({"left 1": good, "left 2": good})
    assert (done.tone, "at left 2" in done.says) == (Tone.GO, True)


def test_a_stored_figure_is_said_without_its_zeros() -> None:
    """The record keeps nine places."""
    assert "at 27 V and 230.5 A" in told(volts="27.000000000", amps="230.500000000").says


@pytest.mark.parametrize(("volts", "amps"), [("250", "210"), ("25", "2")])
def test_a_slip_of_the_decimal_sign_gives_no_figure(volts: str, amps: str) -> None:
    answer = told(volts=volts, amps=amps, speed="10")
    assert (answer.tone, answer.lines) == (Tone.UNKNOWN, ())
    assert "is outside" in answer.reason[0]
