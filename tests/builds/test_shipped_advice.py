"""Every advice that a shipped card names is answered with the card's own figures, and these agree with its limits."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from builds.actions.advising import answer_to
from builds.definitions.card import AdviceCall, Card
from builds.definitions.reading import read_file, read_text
from builds.definitions.table import DefinitionError
from builds.reports.beside_advice import Row
from builds.scenario.values import by_code
from measurements.bench.answer import Answer, Tone
from measurements.engineering.units import convert
from tests.shopfloor import SORREL, TEASEL

CARDS = [read_file(SORREL), read_file(TEASEL)]
#: The operations that call for each advice.
WHERE = {
    "preheat": (80, 130, 150),
    "arc_energy": (80, 130, 150),
    "welder_and_wire": (80, 130, 150),
    "dew_point": (180,),
    "wet_film": (180,),
    "film": (190,),
    "warming": (210,),
    "leak_test": (410,),
    "bolt_circle": (220, 290, 330, 370, 400),
    "shim_advice": (260,),
    "tooth_pattern": (270,),
    "preload_step": (280,),
    "backlash_round": (300,),
    "carrier_share": (300,),
}
#: 4130 as the demo's heats are, in the codes of both cards.
STEEL = {"20.1": ".300", "20.2": ".490", "20.6": ".960", "20.7": ".190"}


@pytest.fixture(params=CARDS, ids=["sorrel", "teasel"])
def card(request: pytest.FixtureRequest) -> Card:
    found: Card = request.param
    return found


def call_of(card: Card, number: int, name: str) -> AdviceCall:
    return next(call for call in card.operation(number).advice if call.name == name)


def told(card: Card, number: int, name: str, **read: str) -> Answer:
    """The advice from readings by the card's own codes, written c80_1="310"."""
    rows = [Row("", Decimal(text), text, code, None) for code, text in by_code(read).items()]
    rows += [Row("Q7714", Decimal(text), text, code, None) for code, text in STEEL.items()]
    return answer_to(card, call_of(card, number, name), rows)


def line(answer: Answer, name: str) -> str:
    return next(one.value for one in answer.lines if one.name == name)


def test_every_advice_stands_where_it_is_called_for(card: Card) -> None:
    named = {
        name: tuple(one.number for one in card.operations if any(call.name == name for call in one.advice))
        for name in WHERE
    }
    assert named == WHERE


@pytest.mark.parametrize(("name", "number"), [(name, number) for name, at in WHERE.items() for number in at])
def test_with_nothing_read_it_says_what_it_can_and_never_go(card: Card, name: str, number: int) -> None:
    answer = answer_to(card, call_of(card, number, name), [])
    assert answer.says
    assert answer.tone in (Tone.UNKNOWN, Tone.DO, Tone.KNOW, Tone.STOP)
    assert (answer.tone is Tone.STOP) == (name == "welder_and_wire")  # no procedure is in force


def test_the_heat_input_is_the_middle_of_the_card_s_window_of_the_arc(card: Card) -> None:
    """k · 60 U I / v at the middles of volts, amps and speed (EN 1011-1: k 0.8), in kJ/mm."""
    asked = {one.code: one for one in card.operation(80).characteristics}
    volts, amps, speed = (
        (Fraction(asked[code].low or 0) + Fraction(asked[code].high or 0)) / 2 for code in ("80.3", "80.4", "80.5")
    )
    middle = convert(Fraction(8, 10) * 60 * volts * amps / speed / 1000, "kJ/in", "kJ/mm")
    for number in WHERE["preheat"]:
        stated = dict(call_of(card, number, "preheat").figures)["heat_input"]
        assert stated == round(middle, 2)


def test_the_thicker_part_of_the_spindle_weld_is_the_spindle(card: Card) -> None:
    """(fit diameter - bore)/2 of the press fit of operation 70."""
    fit = dict(call_of(card, 70, "press_fit").figures)
    thickness = dict(call_of(card, 80, "preheat").figures)["thickness"]
    assert thickness == (fit["fit_diameter"] - fit["shaft_bore"]) / 2


def test_thin_plug_welds_go_by_the_card(card: Card) -> None:
    """Necks of 0.500 in and 0.3125 in: method B begins at 10 mm, .394 in."""
    answer = told(card, 130, "preheat", c130_3="310")
    thick = dict(call_of(card, 130, "preheat").figures)["thickness"] >= Decimal(".394")
    assert answer.tone is Tone.GO
    assert ("by the chemistry" in [one.name for one in answer.lines]) == thick
    assert any("Method B gives no figure here" in text for text in answer.reason) == (not thick)


def test_the_wet_film_is_for_the_film_that_the_card_limits(card: Card) -> None:
    figures = dict(call_of(card, 180, "wet_film").figures)
    film = next(one for one in card.operation(190).characteristics if one.code == "190.1")
    assert (figures["dry_low"], figures["dry_high"]) == (film.low, film.high)


def test_the_ring_gear_slides_on_inside_the_card_s_window(card: Card) -> None:
    asked = next(one for one in card.operation(210).characteristics if one.code == "210.1")
    assert asked.low is not None
    assert asked.high is not None
    slides = Decimal(line(told(card, 210, "warming"), "slides on at").removesuffix(" °F"))
    assert asked.low <= slides <= asked.high
    assert told(card, 210, "warming", c210_1="276").tone is Tone.STOP
    assert told(card, 210, "warming", c210_1=str(slides)).tone is Tone.GO


def test_the_round_is_told_at_as_many_points_as_are_read(card: Card) -> None:
    """Half of the points .0011 over the middle of the limits and half under: .0022 of spread, .0020 is the most."""
    asked = next(one for one in card.operation(300).characteristics if one.code == "300.1")
    points = asked.positions.labels(())
    assert asked.low is not None
    assert asked.high is not None
    middle = (asked.low + asked.high) / 2
    for step, tone in ((Decimal(".0011"), Tone.STOP), (Decimal(0), Tone.GO)):
        read = [middle + (step if turn < len(points) / 2 else -step) for turn in range(len(points))]
        rows = [Row(point, value, "", "300.1", None) for point, value in zip(points, read, strict=True)]
        assert answer_to(card, call_of(card, 300, "backlash_round"), rows).tone is tone


def test_the_housing_has_a_ceiling_and_its_energy_is_told(card: Card) -> None:
    answer = told(card, 410, "leak_test")
    assert "never above 8 psi" in answer.says
    litres = dict(call_of(card, 410, "leak_test").figures)["volume"]
    joules = Decimal(answer.says.rpartition("holds ")[2].partition(" J")[0])
    assert joules / litres == pytest.approx(Decimal(46), abs=Decimal("0.2"))  # 553 J in 12 L (calculated)


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ('temperature = "210.1"', 'temperature = "200.1"', "inputs", "expected temperature in F, found 200.1 in in"),
        ('start = "410.1"', 'start = "420.9"', "inputs", "expected start to be recorded here or before, found 420.9"),
        ('name = "leak_test"', 'name = "leek_test"', "name", "expected one of press_fit, preheat"),
        (", settled = 2", "", "name", "expected the figure settled; leak_test needs it"),
        ('name = "warming"', 'name = "warming"\nby_side = true', "by_side", "a unit has its side"),
        (
            'volts = "80.3", amps = "80.4", length',
            'voltage = "80.3", amps = "80.4", length',
            "name",
            "expected an input volts; arc_energy needs it",
        ),
    ],
)
def test_a_card_that_names_an_advice_wrongly_is_refused(old: str, new: str, key: str, said: str) -> None:
    """Each changes one thing in a card that loads."""
    text = SORREL.read_text("utf-8")
    assert old in text
    with pytest.raises(DefinitionError) as refused:
        read_text(text.replace(old, new, 1), "card.toml")
    assert any(fault.key == key and said in fault.expected for fault in refused.value.faults), refused.value.faults
