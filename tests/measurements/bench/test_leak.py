"""The leak test: what it says before filling, whether it is a leak or the weather, and where to look."""

from __future__ import annotations

from decimal import Decimal

import pytest

from measurements.bench.advice import advise
from measurements.bench.answer import Answer, Tone
from measurements.bench.given import Given
from measurements.bench.leak import PLACES
from measurements.engineering.limits import Limits

FIGURES = {"volume": Decimal(12), "test_seconds": Decimal(300), "settled": Decimal(2)}
CARD = {"start": Limits(Decimal("4.5"), Decimal("5.5"), Decimal(8)), "drop": Limits(None, Decimal("0.1"))}
STILL = {"start": "5.00", "end": "4.97", "start_temperature": "72.0", "end_temperature": "72.0", "seconds": "300"}


def told(limits: dict[str, Limits] | None = None, **read: str) -> Answer:
    readings = {role: {"": Decimal(text)} for role, text in read.items() if text}
    return advise("leak_test", Given(readings, CARD if limits is None else limits, FIGURES), {})


def measured(limits: dict[str, Limits] | None = None, **read: str) -> Answer:
    return told(limits, **(STILL | read))


def line(answer: Answer, name: str) -> tuple[str, str]:
    return next((one.value, one.note) for one in answer.lines if one.name == name)


def test_before_filling_the_ceiling_and_its_energy_are_told() -> None:
    """8 psi in 12 L over 14.70 psi: 2.5 · 156 508 · .012 · (1 - (101 000/156 508)^.286) = 553 J (calculated)."""
    answer = told()
    assert answer.tone is Tone.KNOW
    assert answer.says == "Fill to 4.5 to 5.5 psi, never above 8 psi: there the housing holds 553 J of energy."
    assert "never shop air direct" in answer.caution[0]


def test_stored_energy_of_a_published_form() -> None:
    """ASME PCC-2 article 501, 121.325 kPa in 12 L: 185.9 J (calculated): 20 kPa over 101.325 kPa is 2.9008 psi."""
    answer = told(start="2.9008", barometer="14.6959")
    assert line(answer, "filled")[1] == "186 J stored"


def test_above_the_ceiling_it_says_vent_at_once() -> None:
    answer = told(start="8.01")
    assert (answer.tone, answer.says.startswith("Vent at once: 8.01 psi")) == (Tone.STOP, True)
    assert told(start="8.00").tone is Tone.UNKNOWN
    assert measured({}, start="9").tone is not Tone.STOP


@pytest.mark.parametrize(
    ("gone", "says"),
    [
        ("start_temperature", "the gas temperature at the start"),
        ("seconds", "the time between the readings"),
        ("end", "the end pressure"),
        ("end_temperature", "the gas temperature at the end"),
    ],
)
def test_what_is_missing_is_named(gone: str, says: str) -> None:
    answer = measured(**{gone: ""})
    assert (answer.tone, answer.says) == (Tone.UNKNOWN, f"Not to be told yet: {says} is not read yet.")
    assert answer.picture is None


def test_a_tight_housing_goes() -> None:
    answer = measured()
    assert (answer.tone, line(answer, "lost, corrected")[0]) == (Tone.GO, "0.030 psi")
    assert measured(end="4.90").tone is Tone.GO
    assert measured(end="4.899").tone is Tone.STOP


def test_a_leak_is_told_with_its_rate_and_where_to_look() -> None:
    """12 L, 121.325 to 120.825 kPa in 300 s at 20 °C: 11.84 cm³/min (calculated)."""
    kilopascal = Decimal("6.894757293168")
    start, end = (str((Decimal(one) - Decimal("101.325")) / kilopascal) for one in ("121.325", "120.825"))
    answer = measured(start=start, end=end, barometer="14.6959488", start_temperature="68", end_temperature="68")
    assert line(answer, "leak rate")[0] == "11.8 cm³/min"
    assert measured(end="4.5").reason == (
        "A small leak: soap every joint, seal and weld, and wait for a bubble to grow.",
        f"Look in this order: {', '.join(PLACES)}.",
    )
    assert measured(end="3.0").reason[0].startswith("A large leak")


def test_cooling_looks_like_a_leak_and_is_taken_off() -> None:
    """72 to 71 °F: 1/531.67 of 19.70 psi is 0.037 psi; without it 4.87 would be 0.13 psi, over the limit."""
    answer = measured(end="4.87", end_temperature="71.0")
    assert (answer.tone, line(answer, "lost, corrected")[0]) == (Tone.GO, "0.093 psi")
    assert measured(end="4.87").tone is Tone.STOP


def test_warming_hides_a_leak() -> None:
    assert measured(end="4.92", end_temperature="73.0").tone is Tone.STOP
    assert measured(end="4.92").tone is Tone.GO


@pytest.mark.parametrize(
    ("read", "words"),
    [
        ({"seconds": "299"}, "299 s is short of 300 s"),
        ({"end_temperature": "74.1"}, "the gas warmed by 2.1 °F"),
        ({"end_temperature": "69.9"}, "the gas cooled by 2.1 °F"),
        ({"end": "5.03"}, "0.030 psi was gained"),
    ],
)
def test_what_proves_nothing_is_repeated(read: dict[str, str], words: str) -> None:
    answer = measured(**read)
    assert (answer.tone, words in answer.says) == (Tone.DO, True)
    assert measured(end="5.01").tone is Tone.GO


def test_a_longer_test_is_repeated_before_it_is_called_a_leak() -> None:
    """0.15 psi in 600 s is 0.075 psi in 300 s (calculated); in 400 s it is 0.1125, a leak."""
    answer = measured(end="4.85", seconds="600")
    assert (answer.tone, "would be 0.075 psi in that time" in answer.says) == (Tone.DO, True)
    assert measured(end="4.85", seconds="400").tone is Tone.STOP


@pytest.mark.parametrize(("end", "near"), [("4.97", 0), ("4.92", 1), ("4.90", 1), ("4.89", 1), ("4.87", 0)])
def test_near_the_limit_the_thermometer_is_named(end: str, near: int) -> None:
    """0.3 K of 295.4 K is 0.020 psi of 19.70 psi (calculated)."""
    assert sum("the thermometer alone could turn it" in text for text in measured(end=end).reason) == near


def test_without_limits_the_figures_are_only_told() -> None:
    answer = measured({})
    assert (answer.tone, answer.picture) == (Tone.KNOW, None)
    assert told({}).says == "Fill slowly."


def test_a_pressure_that_nothing_has_gives_no_figure() -> None:
    assert told(start="-20").tone is Tone.UNKNOWN
    assert measured(start="5", end="-20").tone is Tone.UNKNOWN
    assert measured(start_temperature="720", end_temperature="720").tone is Tone.UNKNOWN
