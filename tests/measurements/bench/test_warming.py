"""Warming the ring gear: published temperatures, the card's window and its ceiling."""

from __future__ import annotations

from decimal import Decimal

import pytest

from measurements.bench.advice import advise
from measurements.bench.answer import Answer, Tone
from measurements.bench.given import Given
from measurements.engineering.limits import Limits

CARD = Limits(Decimal(160), Decimal(250), Decimal(275))
FIGURES = {
    "fit_diameter": "6.000",
    "interference": "0.0020",
    "clearance": "0.0030",
    "expansion": "11.5",
    "room": "68",
}


def told(read: str = "", card: Limits | None = CARD, **figures: str) -> Answer:
    fixed = {name: Decimal(text) for name, text in (FIGURES | figures).items()}
    readings = {"temperature": {"": Decimal(read)}} if read else {}
    return advise("warming", Given(readings, {"temperature": card} if card else {}, fixed), {})


def slides(answer: Answer) -> str:
    return answer.lines[0].other


def test_published_cases() -> None:
    """Bore 203.2 mm, 0.05 mm: with .10 mm of clearance 84.19 °C, with .001 d 128.35 °C (calculated),
    183.5 and 263.0 °F, said as the next whole °F."""
    mm = Decimal("25.4")
    big = {"fit_diameter": "8", "interference": str(Decimal("0.05") / mm)}
    assert slides(told(**big, clearance=str(Decimal("0.10") / mm))) == "84 °C"
    assert slides(told(**big, clearance=str(Decimal("0.2032") / mm))) == "129 °C"


@pytest.mark.parametrize(
    ("read", "tone", "words"),
    [
        ("", Tone.DO, "Warm the gear to 199 °F (93 °C), at most 250 °F (121 °C)"),
        ("198", Tone.WAIT, "Heat on."),
        ("199", Tone.GO, "Seat it within seconds"),
        ("250", Tone.GO, "Seat it within seconds"),
        ("251", Tone.WAIT, "Let it cool"),
        ("275", Tone.WAIT, "Let it cool"),
        ("276", Tone.STOP, "The gear is rejected."),
    ],
)
def test_the_reading_is_held_against_need_window_and_ceiling(read: str, tone: Tone, words: str) -> None:
    answer = told(read)
    assert (answer.tone, words in answer.says) == (tone, True)


def test_the_card_s_least_stands_when_the_fit_needs_less() -> None:
    assert told(interference="0.0005", clearance="0.0005").lines[1].value == "160 °F"


def test_a_fit_that_would_need_more_than_the_ceiling_is_not_heated() -> None:
    answer = told("200", interference="0.008")
    assert (answer.tone, "above the ceiling" in answer.says) == (Tone.STOP, True)


def test_without_the_card_s_window_the_house_ceiling_stands() -> None:
    """150 °C for a carburized gear until its tempering temperature is recorded (house default): 302 °F."""
    assert told("302", None).tone is Tone.GO
    assert told("303", None).tone is Tone.STOP
    assert told("281", None, ceiling="280").tone is Tone.STOP


def test_figures_outside_the_formula_give_no_answer() -> None:
    assert told(expansion="1150").tone is Tone.UNKNOWN
    assert told(fit_diameter="0").tone is Tone.UNKNOWN
