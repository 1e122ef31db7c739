"""The preheat advice against published cases of method B and its formulas worked by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal

import pytest

from measurements.bench.advice import advise
from measurements.bench.answer import Answer, Tone
from measurements.bench.given import Given, Value
from measurements.engineering.limits import Limits

#: 4130 in the middle of its limits (AISI): CET .4225 and CE .618, calculated.
MIDDLE = {"carbon": ".305", "manganese": ".50", "chromium": ".95", "molybdenum": ".20"}
CARD = {"preheat": Limits(Decimal(300), Decimal(400)), "interpass": Limits(Decimal(300), Decimal(500))}
HALF_INCH = {"thickness": "0.5", "hydrogen": "5", "heat_input": "1.0"}


def steel(heat: str = "Q7714", **content: str) -> dict[str, Mapping[str, Value]]:
    return {element: {heat: Decimal(text)} for element, text in (content or MIDDLE).items()}


def told(
    readings: Mapping[str, Mapping[str, Value]],
    *,
    limits: Mapping[str, Limits] | None = None,
    heats: str = "",
    **figures: str,
) -> Answer:
    fixed = {name: Decimal(text) for name, text in (HALF_INCH | figures).items()}
    given = Given(readings, CARD if limits is None else limits, fixed, {"heats": heats} if heats else {})
    return advise("preheat", given, {})


def line(answer: Answer, name: str) -> str:
    return next(one.value for one in answer.lines if one.name == name)


def test_the_chemistry_of_4130_in_the_middle() -> None:
    """EN 1011-2 method B, CET .4225, 12.7 mm, 5 ml/100 g, 1.0 kJ/mm: 121.41 °C, 250.5 °F (calculated), said as 251."""
    answer = told(steel())
    assert (line(answer, "CET"), line(answer, "CE")) == ("0.422 %", "0.618 %")
    assert (line(answer, "by the chemistry"), line(answer, "least preheat")) == ("251 °F", "300 °F")
    assert "= 121 °C" in answer.worked[0]
    assert (answer.tone, answer.says) == (Tone.DO, "Heat to at least 300 °F (149 °C), measured on both sides.")


def test_a_quoted_case_of_method_b() -> None:
    """CET .35, 20 mm, 5 ml/100 g, 1.5 kJ/mm: 87.3 °C (as quoted), 189.1 °F, so 190 °F where the card asks for less."""
    low = {"preheat": Limits(Decimal(100), None)}
    answer = told(
        steel(carbon=".35", manganese="0"), limits=low, thickness=str(Decimal(20) / Decimal("25.4")), heat_input="1.5"
    )
    assert line(answer, "least preheat") == "190 °F"


def test_none_by_formula_is_never_a_negative_figure() -> None:
    """CET .25, 12 mm, 2 ml/100 g, 2 kJ/mm: -59.4 °C by the formula (calculated)."""
    thin = str(Decimal(12) / Decimal("25.4"))
    answer = told(steel(carbon=".25", manganese="0"), limits={}, thickness=thin, hydrogen="2", heat_input="2")
    assert answer.tone is Tone.UNKNOWN
    assert "None by formula" in answer.reason[1]
    with_card = told(steel(carbon=".25", manganese="0"), thickness=thin, hydrogen="2", heat_input="2")
    assert line(with_card, "least preheat") == "300 °F"
    assert "-" not in "".join(one.value for one in with_card.lines)
    assert "is not above room temperature" in with_card.worked[0]


@pytest.mark.parametrize(
    ("preheat", "interpass", "tone", "words"),
    [
        (300, None, Tone.GO, "300 °F (149 °C) is measured, 300 °F (149 °C) is needed."),
        (299, None, Tone.WAIT, "Heat again."),
        (400, None, Tone.GO, "400 °F"),
        (401, None, Tone.WAIT, "Let it cool."),
        (310, 500, Tone.GO, "310 °F"),
        (310, 501, Tone.WAIT, "501 °F (261 °C) is measured at pass 1, 500 °F (260 °C) is the most."),
        (310, 290, Tone.WAIT, "290 °F (143 °C) is measured at pass 1, 300 °F (149 °C) is needed."),
    ],
)
def test_go_or_wait_by_what_is_measured(preheat: int, interpass: int | None, tone: Tone, words: str) -> None:
    read: dict[str, Mapping[str, Value]] = {"preheat": {"": Decimal(preheat)}}
    if interpass is not None:
        read["interpass"] = {"pass 1": Decimal(interpass)}
    answer = told(steel() | read)
    assert (answer.tone, words in answer.says) == (tone, True)


def test_the_chemistry_may_ask_for_more_than_the_card() -> None:
    """4130 at the top of its limits: CET .470 (calculated); with 20 mm it needs more than the card's 300 °F."""
    top = steel(carbon=".33", manganese=".60", chromium="1.10", molybdenum=".25")
    tp = 697 * 0.470 + 160 * math.tanh(20 / 35) + 62 * 5**0.35 + (53 * 0.470 - 32) * 1.0 - 328
    needed = math.ceil(tp * 1.8 + 32)
    thick = str(Decimal(20) / Decimal("25.4"))
    answer = told(top | {"preheat": {"": Decimal(310)}}, thickness=thick)
    assert line(answer, "least preheat") == f"{needed} °F"
    assert answer.tone is Tone.WAIT
    control = told(steel() | {"preheat": {"": Decimal(310)}}, thickness=thick)
    assert control.tone is Tone.GO


def test_the_richest_heat_decides() -> None:
    both = {element: {"A1": Decimal(text), "B2": Decimal(text) / 2} for element, text in MIDDLE.items()}
    answer = told(both, heats="A1; B2")
    assert [one.note for one in answer.lines if one.name == "CET"] == ["Heat A1"]


def test_elements_not_on_the_certificate_are_told() -> None:
    assert "Heat Q7714: V, Ni, Cu not on its certificate, counted as 0." in told(steel()).assumed[1]
    whole = steel(**MIDDLE, vanadium=".01", nickel=".1", copper=".1")
    assert len(told(whole).assumed) == 1


def test_a_heat_without_an_analysis_is_named() -> None:
    answer = told(steel() | {"preheat": {"": Decimal(310)}}, heats="Q7714; F-9")
    assert answer.tone is Tone.GO
    assert answer.reason[0] == "Heat F-9 has no analysis on record: what it asks is not known."


@pytest.mark.parametrize("readings", [{}, {"chromium": {"Q7714": Decimal(".9")}, "carbon": {"Q7714": Decimal(".3")}}])
def test_without_chemistry_the_card_alone_is_not_a_go(readings: dict[str, dict[str, Value]]) -> None:
    answer = told(readings | {"preheat": {"": Decimal(310)}})
    assert (answer.tone, "what the steel asks is not known" in answer.says) == (Tone.UNKNOWN, True)
    cold = told(readings | {"preheat": {"": Decimal(290)}})
    assert cold.tone is Tone.WAIT
    assert told(readings, limits={}).tone is Tone.UNKNOWN


def test_thin_plate_is_outside_the_method_and_the_card_decides() -> None:
    """Method B begins at 10 mm; the tube wall of 7.94 mm gets no figure from it."""
    answer = told(steel() | {"preheat": {"": Decimal(310)}}, thickness="0.3125")
    assert "must be from 10 to 90 mm" in answer.reason[0]
    assert (answer.tone, line(answer, "least preheat")) == (Tone.GO, "300 °F")
    assert "by the chemistry" not in [one.name for one in answer.lines]


def test_what_no_steel_has_is_not_answered() -> None:
    """.300 typed as 30 %."""
    answer = told(steel(carbon="30", manganese=".5"))
    assert "content of C must be from 0 to 20" in answer.reason[0]


@pytest.mark.parametrize(("value", "shown"), [("", ""), ("280", "280"), ("310", "310")])
def test_the_thermometer_shows_what_is_needed(value: str, shown: str) -> None:
    read: dict[str, Mapping[str, Value]] = {"preheat": {"": Decimal(value)}} if value else {}
    picture = told(steel() | read).picture
    assert picture is not None
    assert (picture.kind, picture.data["low"], picture.data.get("value", "")) == ("thermometer", "300", shown)
