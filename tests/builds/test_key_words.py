"""Every action that takes a key word (a cause, kind, place, role, side, position ...) refuses one that nobody knows,
in a sentence, and writes nothing. Before this was tabled, a made-up cause of a red tag's decision was a KeyError, and a
made-up side, role, paper or label was simply kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import pytest

from builds.actions.adding import add_photo
from builds.actions.attaching import attach_document
from builds.actions.booking import NewLine, NewOrder, add_line, place_order
from builds.actions.building_units import NewUnit, begin_units
from builds.actions.claiming import take_up
from builds.actions.deciding import Decided, decide
from builds.actions.exchanging import Swap, exchange
from builds.actions.finishing import sign_second
from builds.actions.fitting import fit_part
from builds.actions.following import Step, take_step
from builds.actions.joining import Spot, join_unit, rob_unit
from builds.actions.judging import Entered
from builds.actions.kitting import kit_part
from builds.actions.labelling import print_label
from builds.actions.lapsing import look_back_over_lapse
from builds.actions.measuring import enter_reading
from builds.actions.papers import Named, add_paper
from builds.actions.parting import UnitOut, part_unit
from builds.actions.procedures import NewProcedure, add_procedure
from builds.actions.receiving_heats import Corrected, NewHeat, correct_value, take_in_heat
from builds.actions.removing import Out, remove_part
from builds.actions.reopening import reopen_for_cause
from builds.actions.returning import note_finding
from builds.actions.sawing import Measure, measure_bar
from builds.actions.scrapping import PartTo
from builds.actions.settling import Settled, decision_of
from builds.actions.tagging import report_wrong
from builds.models import Axle, Fitted, Notice, Operation, RedTag, Returned, Unit, Visit
from builds.reports.units import inside_of
from builds.scenario.driver import Builder
from measurements.actions.gauges import NewGauge, take_in_gauge
from shop.actions.partners import add_customer
from shop.actions.people import give_role
from shop.actions.signing import check_pin
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Customer, Heat, PartKind, Piece, Supplier
from shop.record.act import act
from shop.record.models import Event
from shop.record.who import Who
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
ODD = "nonsense"


@dataclass
class World:
    """An axle with its kit, its differential built, operation 30 of the left tube in hand, and a red tag on its left
    hub; a second axle without anything."""

    floor: Floor
    builder: Builder
    visit: Visit
    tag: RedTag
    taker: Axle

    @property
    def axle(self) -> Axle:
        return self.builder.axle

    def who(self, code: str) -> Who:
        return self.floor.who(code)

    def unit(self, role: str, side: str = "") -> Unit:
        rows = Unit.objects.select_related("item", "axle__item", "revision__model")
        return rows.get(axle=self.axle, role=role, side=side)

    def inside(self, role: str) -> Fitted:
        return inside_of(self.unit(role))[0]


@pytest.fixture(scope="module")
def world(once_per_module: None) -> World:
    floor = open_shop()
    builder = floor.built("10/", "20/", "200/", "210/", "220/", "230/", "340/left")
    visit = builder.begin("30/left")
    builder.fit(visit)
    hub = Visit.objects.select_related("item__unit", "axle__item").get(axle=builder.axle, operation__number=340)
    tag = report_wrong(visit=hub, cause="a dent", by=floor.who("noor"), now=builder.now)
    floor.now = builder.now
    return World(floor, builder, visit, tag, floor.axle())


Try = Callable[[World], object]


def _decide(decision: str, cause: str = "") -> Try:
    def do(w: World) -> object:
        engineer = w.who("wenzel")
        decided = Decided(decision, "so it is", cause=cause)
        return decide(
            tag=w.tag, decided=decided, grant=w.builder.grant(engineer, "released"), by=engineer, now=w.builder.now
        )

    return do


def _entered(**typed: str) -> Try:
    """One Enter of the piece's length, with one word of it another."""

    def do(w: World) -> object:
        right = {"code": "30.1", "text": "24.86", "gauge": w.floor.gauges["tape_or_rule"][0].item.mark}
        entered = Entered(**(right | typed))  # type: ignore[arg-type]
        return enter_reading(visit=w.visit, entered=entered, by=w.who("tam"))

    return do


def _outcome(w: World) -> object:
    engineer = w.who("wenzel")
    settled, grant = Settled(ODD, "why"), w.builder.grant(engineer, "released")
    with act("look_back.decided", subject=w.axle.subject, by=engineer) as a:
        today = shop_day(a.now)
        return decision_of(a, serial="x", classes=(), known_on=today, settled=settled, grant=grant, by=engineer)


def _heat(w: World) -> object:
    kind = PartKind.objects.get(code="tube_stock")
    heat = NewHeat("Z9", Supplier.objects.get(code="QTM"), kind, "C-1", ODD)
    return take_in_heat(heat=heat, revision=w.floor.revision, by=w.who("jory"))


#: What is tried with a word that nobody knows, and the beginning of what is answered.
REFUSED: dict[str, tuple[Try, str]] = {
    "decide: decision": (_decide(ODD), "Choose a decision: use as is"),
    "decide: cause of a rework": (_decide("rework", ODD), "The card of .* knows no change “nonsense”"),
    "decide: cause of a repair": (_decide("repair", ODD), "The card of .* knows no change “nonsense”"),
    "reopen_for_cause: cause": (
        lambda w: reopen_for_cause(bench=w.axle, cause=ODD, reason="why", by=w.who("wenzel")),
        "The card of .* knows no change “nonsense”",
    ),
    "reopen_for_cause: side": (
        lambda w: reopen_for_cause(bench=w.axle, cause="tube", side=ODD, reason="why", by=w.who("wenzel")),
        ".* has no side “nonsense”",
    ),
    "settle, settle_lapse: outcome": (_outcome, "Choose what becomes of it"),
    "take_up: key": (
        lambda w: take_up(bench=w.axle, key=ODD, by=w.who("tam")),
        ".* has no operation nonsense",
    ),
    "take_up: side": (lambda w: take_up(bench=w.axle, key=f"30/{ODD}", by=w.who("tam")), ".* has no operation"),
    "enter_reading: code": (_entered(code=ODD), "Operation 30 has no characteristic nonsense"),
    "enter_reading: position": (_entered(position=ODD), "30.1 has no position “nonsense”"),
    "enter_reading: unit": (_entered(unit=ODD), "30.1 is in in; “nonsense” is not a unit"),
    "enter_reading: gauge": (_entered(gauge=ODD), ".*(?i:nonsense)"),
    "add_photo: name": (
        lambda w: add_photo(visit=w.visit, name=ODD, sha256="", by=w.who("tam")),
        "This operation asks for no photo “nonsense”",
    ),
    "sign_second: part": (
        lambda w: sign_second(
            visit=w.visit, part=ODD, grant=w.builder.grant(w.who("calla"), "checked"), by=w.who("calla")
        ),
        "Operation 30 waits for no such signature",
    ),
    "fit_part: role": (
        lambda w: fit_part(visit=w.visit, scan="Q7714", role=ODD, by=w.who("tam")),
        ".*is not what is needed",
    ),
    "kit_part: role": (
        lambda w: kit_part(axle=w.taker, scan="PB-5521", role=ODD, by=w.who("jory")),
        ".*is not what is needed",
    ),
    "remove_part: place": (
        lambda w: remove_part(fitted=w.inside("carrier"), out=Out("why", ODD), by=w.who("rusk")),
        "Say where it goes",
    ),
    "part_unit: place": (
        lambda w: part_unit(unit=w.unit("carrier"), out=UnitOut("why", ODD), by=w.who("rusk")),
        "Say where it goes",
    ),
    "rob_unit: side": (
        lambda w: rob_unit(
            unit=w.unit("hub", "left"), out=UnitOut("why", "stock", "used"), spot=Spot(w.taker, ODD), by=w.who("noor")
        ),
        ".* has no place for a",
    ),
    "join_unit: side": (
        lambda w: join_unit(unit=w.unit("hub", "left"), spot=Spot(w.taker, ODD), reason="why", by=w.who("noor")),
        ".* has no place for a",
    ),
    "scrap_unit, part_unit: where a part goes": (
        lambda w: part_unit(
            unit=w.unit("carrier"),
            out=UnitOut("why", "scrap", parts={row.pk: PartTo(ODD) for row in inside_of(w.unit("carrier"))}),
            by=w.who("rusk"),
        ),
        "Say where each part in it goes",
    ),
    "exchange: place": (
        lambda w: exchange(axle=w.axle, swaps=[Swap(w.inside("carrier"), "x", ODD)], reason="why", by=w.who("mirelle")),
        "Say where the old one goes",
    ),
    "begin_units: role": (
        lambda w: begin_units(new=NewUnit(w.floor.revision, ODD), by=w.who("ingrith")),
        ".*knows no such unit",
    ),
    "begin_units: side": (
        lambda w: begin_units(new=NewUnit(w.floor.revision, "hub", ODD), by=w.who("ingrith")),
        "A .* has no side nonsense",
    ),
    "begin_units: option": (
        lambda w: begin_units(
            new=NewUnit(w.floor.revision, "carrier", options={"differential": ODD}), by=w.who("ingrith")
        ),
        "This cannot be built",
    ),
    "add_line: option": (
        lambda w: add_line(
            order=w.floor.orders[0],
            line=NewLine(w.floor.revision, 1, date(2026, 1, 5), date(2026, 1, 9), {ODD: "x"}),
            by=w.who("mirelle"),
        ),
        "This cannot be built. This axle has no option called nonsense",
    ),
    "place_order: paper": (
        lambda w: place_order(
            order=NewOrder("O-ODD", Customer.objects.get(code="LRRC"), date(2025, 1, 2), paper=ODD), by=w.who("mirelle")
        ),
        "The paper is A4 or Letter",
    ),
    "add_customer: paper": (
        lambda w: add_customer(code="ODD", name="Odd", paper=ODD, by=w.who("mirelle")),
        "The paper is A4 or Letter",
    ),
    "give_role: role": (
        lambda w: give_role(person=w.floor.people["tam"], role=ODD, by=w.who("dovie")),  # type: ignore[arg-type]
        "There is no role “nonsense”",
    ),
    "check_pin: meaning": (
        lambda w: check_pin(person=w.floor.people["tam"], pin="1", terminal=None, meaning=ODD),
        "A signature needs its meaning",
    ),
    "print_label: kind": (
        lambda w: print_label(item=w.axle.item, kind=ODD, reason="", by=w.who("jory")),
        "There is no label “nonsense” for",
    ),
    "measure_bar: what": (
        lambda w: measure_bar(
            bar=Piece.objects.exclude(parent=None)[0].parent,
            measure=Measure(ODD, 1, "why"),
            by=w.who("jory"),  # type: ignore[arg-type]
        ),
        "Say what was measured",
    ),
    "take_in_heat: type": (_heat, "Say which type of certificate came"),
    "add_paper: type": (
        lambda w: add_paper(
            item=w.axle.item,
            named=Named(Supplier.objects.get(code="QTM"), "C-77", ODD),
            compared=True,
            by=w.who("jory"),
        ),
        "Say which type of certificate came",
    ),
    "correct_value: code": (
        lambda w: correct_value(
            heat=Heat.objects.get(item__mark="Q7714"), corrected=Corrected(ODD, "1", "why"), by=w.who("jory")
        ),
        "Heat Q7714 has no value nonsense",
    ),
    "note_finding: says": (
        lambda w: note_finding(returned=Returned(), says=ODD, words="x", by=w.who("mirelle")),
        "Say what was found",
    ),
    "take_step: kind": (
        lambda w: take_step(notice=Notice(), lines=[1], step=Step(ODD, date(2026, 1, 5)), by=w.who("mirelle")),
        "Choose what was done",
    ),
    "take_in_gauge: unit": (
        lambda w: take_in_gauge(gauge=NewGauge("ODD", "feeler", "odd", ODD), by=w.who("wenzel")),
        ".*nonsense",
    ),
    "take_in_gauge: no kind": (
        lambda w: take_in_gauge(gauge=NewGauge("ODD", " ", "odd", "in"), by=w.who("wenzel")),
        "The kind is empty",
    ),
    "add_procedure: no process": (
        lambda w: add_procedure(procedure=NewProcedure("W-99", "1", " ", "odd", date(2024, 1, 1)), by=w.who("wenzel")),
        "The process is empty",
    ),
    "attach_document: code": (
        lambda w: attach_document(
            operation=Operation.objects.get(revision=w.floor.revision, number=30),
            code=ODD,
            content=b"",
            by=w.who("wenzel"),
        ),
        "The card names no document nonsense",
    ),
    "look_back_over_lapse: process": (
        lambda w: look_back_over_lapse(person=w.floor.people["isolde"], process=ODD, by=w.who("wenzel")),
        "Everything found is on record already",
    ),
}


@pytest.mark.parametrize("named", REFUSED)
def test_a_word_that_nobody_knows_is_refused_in_a_sentence(world: World, named: str) -> None:
    do, answer = REFUSED[named]
    before = Event.objects.count()
    with pytest.raises(Refusal, match=f"^{answer}") as refused:
        do(world)
    assert refused.value.text.rstrip().endswith((".", "”"))
    assert Event.objects.count() == before


def test_control_a_cause_of_the_card_is_carried_out(world: World) -> None:
    assert _decide("rework", "tube")(world)
    assert Visit.objects.get(pk=world.visit.pk).state == "redo"


def test_control_the_piece_is_read_with_the_right_words(world: World) -> None:
    """So that each refusal of an entry above is of its odd word."""
    assert _entered()(world)
