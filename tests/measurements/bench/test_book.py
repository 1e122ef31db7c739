"""The bench book: every entry works out its own example, and takes nothing that makes no sense."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from measurements.bench.answer import Answer, Tone
from measurements.bench.book import CannotTake, Entry, Field, given, work_out
from measurements.bench.entries import BOOK, ENTRIES
from measurements.engineering.limits import Limits

#: What each example must say somewhere in its answer, with where the figure comes from (see the entry's `checked`).
EXPECTED = {
    "press_fit": "0.0019 in",  # calculated: 3.0650 less 3.0631
    "iso_fit": "1 to 42 µm of interference",  # ISO 286-2
    "warming": "= 72 K",  # calculated: 0.0050 / (11.5e-6 · 6) = 72.46 K
    "bolt_torque": "90 ft-lb",  # public SAE J429 torque tables
    "wrench_setting": "20 ft-lb",  # US TM 9-254
    "hunting": "Every pinion tooth meets every ring tooth",  # calculated: gcd 1
    "arc_energy": "41.4 kJ/in",  # calculated
    "preheat": "0.4175",  # calculated: CET
    "dew_point": "WAIT",  # published chart: 16 °C and 71 % give 11 °C; 13 °C is no 3 °C above
    "wet_film": "5.4",  # 137.5 µm = 5.41 mil (calculated)
    "leak_test": "0.036 psi",  # calculated
    "length_at_20": "88.8847 mm",  # calculated: 88.88466
    "units": "77.7875 mm",  # exact
}


def worked(entry: Entry, **change: str) -> Answer:
    return work_out(entry, given(entry, entry.example | change))


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_each_example_gives_the_figure_of_its_source(entry: Entry) -> None:
    answer = worked(entry)
    text = f"{answer.tone.name} {answer.as_json()}"
    assert EXPECTED[entry.name] in text
    assert answer.tone is not Tone.UNKNOWN
    assert answer.source


def test_every_entry_has_its_check() -> None:
    assert set(EXPECTED) == set(BOOK)
    assert all(entry.checked for entry in ENTRIES)


FIELDS = [(entry, field) for entry in ENTRIES for field in entry.fields]
SENSELESS = (
    "0", "-1", "1e9", "99999999999999999999", "999999999", "abc", "3,06", "77.79 furlong", "½", "-", ".", "1 2 3 4",
)  # fmt: skip


def said(entry: Entry, key: str, text: str) -> str:
    """The refusal of this field alone, or the sentence of the answer."""
    try:
        return worked(entry, **{key: text}).says
    except CannotTake as cannot:
        return cannot.faults[key] if list(cannot.faults) == [key] else ""


@pytest.mark.parametrize(("entry", "field"), FIELDS, ids=[f"{entry.name}-{field.key}" for entry, field in FIELDS])
@pytest.mark.parametrize("text", SENSELESS)
def test_what_makes_no_sense_gets_a_sentence(entry: Entry, field: Field, text: str) -> None:
    """Refused by its field, or answered; nothing breaks, and no figure is none."""
    sentence = said(entry, field.key, text)
    assert sentence.endswith((".", "?", "!"))
    assert "nan" not in sentence.lower().split()
    assert "inf" not in sentence.lower().split()


@pytest.mark.parametrize(
    ("entry", "field"),
    [pair for pair in FIELDS if pair[1].needed],
    ids=[f"{entry.name}-{field.key}" for entry, field in FIELDS if field.needed],
)
def test_blank_is_not_zero(entry: Entry, field: Field) -> None:
    with pytest.raises(CannotTake, match="Blank is not zero"):
        worked(entry, **{field.key: "  "})


def test_an_unknown_field_names_those_there_are() -> None:
    with pytest.raises(CannotTake, match="has no field “colour”"):
        worked(BOOK["units"], colour="blue")


@pytest.mark.parametrize(
    ("inch", "metric"), [("3.0625", "77.7875 mm"), ("3.0625", "3.0625 in"), ("3.625", "92.075 mm"), ("1", "25.4mm")]
)
def test_a_metric_figure_in_an_inch_field_is_the_same(inch: str, metric: str) -> None:
    entry = BOOK["press_fit"]
    both = [given(entry, entry.example | {"fit_diameter": text}) for text in (inch, metric)]
    assert both[0] == both[1]


def test_temperatures_are_turned_with_their_zero() -> None:
    entry = BOOK["dew_point"]
    read = [given(entry, entry.example | {"air": text}).one("air") for text in ("68", "20 C", "293.15 K")]
    assert read[0] == read[1] == read[2]


@pytest.mark.parametrize("text", ["3.0650 3.0652", "3.0650; 3.0652", "3.0650;3.0652", "77.851 mm 77.85608 mm"])
def test_several_figures_are_read_in_their_order(text: str) -> None:
    entry = BOOK["press_fit"]
    values = given(entry, entry.example | {"outer": text}).values("outer")
    assert [str(round(value, 4)) for value in values] == ["3.0650", "3.0652"]


def test_an_unknown_unit_is_named_with_those_there_are() -> None:
    answer = worked(BOOK["units"], **{"from": "furlong"})
    assert answer.tone is Tone.UNKNOWN
    assert "“furlong” is not known here. Known units:" in answer.reason[0]


def test_no_card_s_window_is_spoken_of_where_there_is_no_card() -> None:
    """The control: with limits of the peak, as at the bench, it is."""
    entry = BOOK["press_fit"]
    typed = given(entry, entry.example)
    assert not any("card" in text for text in work_out(entry, typed).reason)
    at_bench = replace(typed, limits={"peak": Limits(Decimal(3520), Decimal(19100))})
    assert any("The card's window is wider" in text for text in work_out(entry, at_bench).reason)
