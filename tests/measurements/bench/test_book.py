"""The bench book: every entry works out its own example, and takes nothing that makes no sense."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from measurements.bench.answer import Answer, Tone
from measurements.bench.book import CannotTake, Entry, Field, given, search, work_out
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
    "force_fit": "1.4 to 3.7 thousandths",  # Machinery's Handbook 27th ed. p 663, FN2 over 3.15 to 3.94 in
    "assembly_heat": "84.19 °C",  # calculated: 20 + 0.15 / (11.5e-6 · 203.2)
    "bolt_strength": "84.27 mm²",  # ISO 898-1: 84.3
    "assembly_values": "132.8 N·m",  # published table of VDI 2230: 133
    "lubricant_change": "75.6 N·m",  # calculated: 126 · 0.12 / 0.20
    "clamp_capacity": "4183.6 N·m",  # calculated
    "tightening_order": "1 6 3 8 2 7 4 9 5 10",  # calculated: the opposite bolt next, then the farthest pair
    "engagement": "0.739 in",  # a public library of FED-STD-H28/2B
    "backlash_shift": "0.7072",  # calculated: 2 · tan 20° · sin 76.293°
    "pinion_depth": "1.480 mm",  # calculated
    "pinion_marks": "0.0030 in thinner",  # TM 5-3895-369-14 table 5-4
    "shim_pack": "0.5 + 0.25 + 0.13",  # calculated
    "backlash_round": "90° from point 1",  # calculated: points of 0.0072 + 0.0010 · cos(t - 90°), rounded
    "contact_pattern": "Pinion out: pinion too deep",  # public army manual, face-milled: low toe with low heel
    "side_shims": "Move 0.007 in so that the ring gear goes toward the pinion: expect 0.0069 to 0.0090",  # calculated
    "side_packs": "Ring side 6.1955 mm, other side 6.9545 mm",  # calculated
    "preload_step": "0.003 in thinner",  # calculated: 8.5 / 3 is three steps
    "carrier_torque": "3.232 N·m",  # calculated
    "pull_torque": "2.26 N·m",  # calculated
    "end_play": "0.0035 in",  # calculated
    "tube_section": "2267920 mm⁴",  # a public finite-element section library says 2 267 465 (0.02 %)
    "tube_bending": "3.749 mm in the middle at 117.60 MPa",  # calculated
    "shaft_torsion": "1.624° at 4527 psi",  # a textbook example (from memory): 1.62° and 4530 psi
    "spline": "35921 psi",  # calculated
    "pinion_angle": "3.10°",  # calculated
    "clocking": "-5.00°",  # calculated
    "joint_angle": "3.6035°",  # calculated
    "driveline": "3.00°",  # calculated
    "straightness": "0.2915 mm off, at 120.96°",  # calculated
    "cut_length": "714.50 mm and the right one to 594.50 mm",  # calculated
    "carbon_equivalent": "0.20367 %",  # a public worked example of Pcm
    "cooling_time": "16.36 s",  # a public worked example of EN 1011-2 annex D
    "plug_weld": "Hole 0.68750 to 0.84375 in, filled 0.3750 in",  # AWS D1.1 (from memory)
    "plug_strength": "9277.5 lbf, all of them 5411.9 ft-lb",  # calculated
    "qualification": "the last day is 2026-02-27",  # calculated: 31 August and six months end at 28 February
    "coverage": "8.00 m²/L",  # calculated
    "film_readings": "5.04 mil in the mean",  # ISO 19840 example: accepted, mean 128.1 µm (calculated)
    "film_spots": "accepted, 4.32 mil",  # calculated
    "stored_energy": "185.9 J",  # calculated with the formula of ASME PCC-2
    "guard_band": "undecided",  # ISO 14253-1 as quoted, w = U
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
        about = next(field.fills for field in entry.fields if field.key == key)
        same = {field.key for field in entry.fields if field.fills == about}
        return cannot.faults[key] if set(cannot.faults) <= same else ""


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


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("0.08 0.13 abc", "figure 2: “abc” is no unit of this figure; it is in mm"),
        ("0.08; 0.13; abc", "figure 3: “abc” is not a figure"),
        ("0.08 0.13 0,25 0.5", "figure 3: “0,25” has a comma"),
        ("0.08; ; 0.25", "figure 2: Nothing was typed"),
        ("0.08 0.13 3 psi", "figure 3: “psi” is no unit of this figure"),
        (" ".join(["1"] * 61), "61 figures were typed; 60 can be taken"),
    ],
)
def test_a_bad_figure_in_a_list_is_named_by_its_number(text: str, why: str) -> None:
    """The control is the example itself: the same field with four good figures is answered."""
    entry = BOOK["shim_pack"]
    with pytest.raises(CannotTake) as refused:
        worked(entry, sizes=text)
    assert list(refused.value.faults) == ["sizes"]
    assert why in refused.value.faults["sizes"]


def test_a_least_above_its_most_is_refused_at_both_fields() -> None:
    with pytest.raises(CannotTake) as refused:
        worked(BOOK["guard_band"], low="88.84")
    why = "88.84 as the least is above 88.83 as the most. One of the two is wrong."
    assert refused.value.faults == {"low": f"Least: {why}", "high": f"Most: {why}"}


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_the_book_speaks_of_what_was_typed_and_of_no_card(entry: Entry) -> None:
    """With the example whole, and with everything left out that may be."""
    needed = {field.key: field.example for field in entry.fields if field.needed}
    for answer in (worked(entry), work_out(entry, given(entry, needed))):
        assert "card" not in answer.as_json().lower().replace("cardan", "")


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_each_answer_shows_its_formula_its_range_and_its_source(entry: Entry) -> None:
    answer = worked(entry)
    assert answer.worked or entry.name in WITHOUT_FORMULA
    assert answer.validity or entry.name == "units"
    assert answer.lines


#: Counting and comparing only: there is no formula to put numbers in.
WITHOUT_FORMULA = ("units", "leak_test", "film_readings", "film_spots")


@pytest.mark.parametrize(
    ("words", "name"),
    [("torque lubricant", "lubricant_change"), ("RUNOUT", "backlash_round"), ("pcm", "carbon_equivalent")],
)
def test_a_search_finds_by_title_fields_and_other_words(words: str, name: str) -> None:
    found = search(ENTRIES, words)
    assert BOOK[name] in found
    assert len(found) < len(ENTRIES) / 2


def test_a_search_needs_every_word_and_nothing_finds_all() -> None:
    assert search(ENTRIES, "torque gold") == []
    assert search(ENTRIES, "  ") == list(ENTRIES)


@pytest.mark.parametrize(
    ("name", "change", "said"),
    [
        ("tube_section", {"wall": "50"}, "does not fit into an outside diameter"),
        ("shim_pack", {"target": "0.03"}, "No pack from the drawer makes 0.03"),
        ("engagement", {"thread": "M12"}, "inch threads only"),
        ("iso_fit", {"nominal": "316"}, "outside the sizes kept"),
        ("force_fit", {"nominal": "7.1"}, "outside the sizes kept"),
        ("preload_step", {"packs": "0.030"}, "1 packs and 2 torques"),
        ("qualification", {"today": "27.2.2026"}, "Write it as year-month-day"),
        ("qualification", {"uses": "2025-10-01 2025-99-01"}, "day 2: “2025-99-01” is no day"),
        ("straightness", {"vertical": "1 2"}, "as many vertical figures"),
        ("backlash_round", {"points": "0.007 0.008 0.007"}, "a round needs 4"),
        ("film_spots", {"readings": "4 4 4 4"}, "each spot has three"),
        ("side_shims", {"was_pack": "0.250"}, "type both, or neither"),
        ("assembly_values", {"thread": "1/2-20", "grade": "8"}, "metric bolts"),
        ("joint_angle", {"vertical": "46"}, "from 0 to 45 degrees"),
        ("spline", {"teeth": "35.5"}, "a whole figure is needed"),
        ("guard_band", {"low": "", "high": ""}, "Type a least, a most, or both"),
        ("cooling_time", {"preheat": "451"}, "from -20 to 450 °C"),
    ],
)
def test_outside_its_range_an_entry_gives_a_sentence_and_no_figure(
    name: str, change: dict[str, str], said: str
) -> None:
    answer = worked(BOOK[name], **change)
    assert answer.tone is Tone.UNKNOWN
    assert not answer.lines
    assert said in " ".join(answer.reason)


def test_the_two_gear_cuts_and_the_two_mark_signs_answer_otherwise() -> None:
    """Public manuals: drive high heel, coast high toe is the pinion on a milled set, the ring gear on a hobbed one."""
    marks = {"drive": "high heel", "coast": "high toe"}
    assert "Pinion in" in worked(BOOK["contact_pattern"], cut="face-milled", **marks).says
    assert "Ring gear in" in worked(BOOK["contact_pattern"], cut="face-hobbed", **marks).says
    assert "0.0330 in" in worked(BOOK["pinion_marks"], sign="plus needs less shim").says


def test_over_the_ceiling_the_answer_is_stop_and_under_it_none() -> None:
    assert worked(BOOK["stored_energy"], pressure="5.1").tone is Tone.STOP
    assert worked(BOOK["stored_energy"], pressure="5").tone is Tone.KNOW
    assert worked(BOOK["assembly_heat"], clearance="0.5").tone is Tone.STOP


def test_missing_elements_are_named_in_the_answer_and_typed_ones_are_not() -> None:
    assert "Counted as 0, since not typed: V, B" in worked(BOOK["carbon_equivalent"], vanadium="", boron="").says
    assert "Counted as 0" not in worked(BOOK["carbon_equivalent"]).says


@pytest.mark.parametrize(
    ("today", "tone"), [("2026-02-27", Tone.GO), ("2026-02-28", Tone.STOP), ("2025-08-30", Tone.STOP)]
)
def test_a_qualification_holds_up_to_not_including_its_end(today: str, tone: Tone) -> None:
    assert worked(BOOK["qualification"], today=today).tone is tone


def test_an_earlier_try_teaches_the_shim_factor() -> None:
    """0.010 of shim took 0.0075 of backlash: this axle's own factor is 0.75 (calculated)."""
    answer = worked(BOOK["side_shims"], was_pack="0.240", was_backlash="0.0200")
    assert any("0.75" in text and "own 2 tries" in text for text in answer.assumed)
    assert not any("own" in text for text in worked(BOOK["side_shims"]).assumed)


def test_a_bar_turned_is_free_of_its_bend() -> None:
    """0.25 and 0.35 up are 0.30 of the housing and 0.05 of the bar (calculated)."""
    answer = worked(BOOK["straightness"], vertical="0.25 0.35", horizontal="-0.15 -0.15")
    assert "0.3354 mm" in answer.says  # the hypotenuse of 0.30 and 0.15
    assert any("-0.0500 up" in line.value for line in answer.lines)
