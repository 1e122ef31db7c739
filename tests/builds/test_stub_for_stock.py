"""A unit in no axle with a hold, a weld and steel of its own: who may do, sign and look, and when. In an axle the weld
counts for the clocks and the looks of the axle."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse

from builds.actions.building_units import NewUnit, begin_units, put_in_stock
from builds.actions.claiming import take_up
from builds.actions.finishing import finish, sign_second
from builds.actions.fitting import fit_part
from builds.actions.joining import Spot, join_unit
from builds.errors import NotFree, NotReady, NotYours
from builds.models import Axle, Fitted, Hold, Unit, Visit, VisitState, Weld
from builds.progress import SlotState
from builds.reports.balance import balance_of
from builds.reports.facts import standing
from builds.scenario.driver import Builder
from builds.scenario.values import VALUES
from shop.actions.people import give_role, set_pin
from shop.actions.skills import Qualification, give_skill
from shop.clock import shop_day
from shop.models import Heat, Person, Piece, Role
from shop.record import replay
from shop.record.who import SYSTEM, Who
from tests.builds.pages import Browser, text_of
from tests.builds.stub_card import stub_card
from tests.factories import PIN
from tests.shopfloor import Floor, open_shop

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("floor")]
OWN = ("12/", "17/", "27/", "37/")
#: Which of them are done. Its steel is looked at: heat Q7714 or R7120, whichever the shop uses.
DONE = {"begun": OWN[:0], "looked_at": OWN[:1], "turned": OWN[:2], "welded": OWN[:3]}


@pytest.fixture(scope="module")
def floor(once_per_module: None, tmp_path_factory: pytest.TempPathFactory) -> Floor:
    card = Path(tmp_path_factory.mktemp("card")) / "stub.toml"
    card.write_text(stub_card(), "utf-8")
    return open_shop(card)


@pytest.fixture
def builder(floor: Floor, request: pytest.FixtureRequest) -> Builder:
    """A unit begun for stock, on which these operations are done."""
    unit = begin_units(new=NewUnit(floor.revision, "stub"), by=floor.who("ingrith"), now=floor.now)[0]
    made = Builder(floor.shop, unit, floor.now + timedelta(minutes=5), VALUES)
    for key in request.param:
        made.do(key)
    return made


def at_(name: str) -> Any:
    return pytest.mark.parametrize("builder", [DONE[name]], ids=[name], indirect=True)


def also(floor: Floor, code: str, role: Role, at: Builder) -> Person:
    """The same person holds a further role from that day on."""
    person = floor.people[code]
    give_role(person=person, role=role, valid_from=shop_day(at.now), by=SYSTEM, now=at.now)
    return person


def state(made: Builder, key: str) -> SlotState:
    return standing(made.bench, made.now).slots[key].state


def page(unit: Unit, number: int, act: str = "") -> str:
    return reverse(f"unit_station{act and '_'}{act}", args=[unit.serial, number])


@at_("begun")
def test_each_waits_for_the_one_before_and_not_for_the_axles_work(builder: Builder) -> None:
    """Operation 7 of the axle comes before all of them, and is no matter to a unit in none."""
    views = standing(builder.bench, builder.now).slots
    assert [str(view.state) for view in views.values()] == ["ready", "not yet", "not yet", "not yet"]


@at_("looked_at")
def test_steel_of_a_heat_that_nobody_looked_at_does_not_go_in(floor: Floor, builder: Builder) -> None:
    looked = Fitted.objects.get(host=builder.bench.item, role="steel").part
    other = Heat.objects.exclude(item=looked).select_related("item")[0].item.mark
    for mark in (looked.mark, other):
        floor.stock.take_in_bar(mark, f"BAR-{mark}", builder.now)
    visit, by = builder.begin("17/"), floor.who("tam", "CUT")
    with pytest.raises(NotFree, match=f"for it heat {looked.mark} was looked at in operation 12") as refused:
        fit_part(visit=visit, scan=f"BAR-{other}", role="tube", by=by, now=builder.now)
    assert "the axle" not in refused.value.text
    row = fit_part(visit=visit, scan=f"BAR-{looked.mark}", role="tube", by=by, now=builder.now)
    assert row.part.piece.heat.item == looked
    assert row.axle is None


@at_("begun")
def test_the_page_refuses_it_too_and_keeps_what_was_scanned(floor: Floor, builder: Builder) -> None:
    builder.do("12/")
    looked = Fitted.objects.get(host=builder.bench.item, role="steel").part
    other = Heat.objects.exclude(item=looked).select_related("item")[0].item.mark
    floor.stock.take_in_bar(other, f"BAR-{other}", builder.now)
    visit, tam = builder.begin("17/"), Browser(floor.who("tam"))
    answer = tam.send(page(visit.item.unit, 17, "scan"), scan=f"BAR-{other}")
    assert answer.status_code == 422
    assert "was looked at in operation 12" in text_of(answer)
    assert not Fitted.objects.filter(visit=visit).exists()


@at_("turned")
def test_the_bar_knows_what_was_sawn_off(builder: Builder) -> None:
    row = Fitted.objects.select_related("part__piece__parent").get(host=builder.bench.item, role="tube")
    balance = balance_of(Piece.objects.get(pk=row.part.piece.parent.pk))
    assert [mark for mark, _ in balance.pieces] == [row.part.mark]
    assert balance.remnant is not None
    assert replay.check()[1] == []


@at_("looked_at")
def test_who_turned_it_does_not_sign_its_hold(floor: Floor, builder: Builder) -> None:
    builder.hands["17/"] = also(floor, "tam", Role.INSPECTOR, builder)
    visit = builder.begin("17/")
    builder.fill(visit)
    visit = builder.sign_doer(visit)
    assert visit.state == VisitState.WAIT_SIGN
    own, calla = floor.who("tam"), floor.who("calla")
    with pytest.raises(NotYours, match=r"Tam Ferrowby did some of the work .*operation 17"):
        sign_second(visit=visit, part="hold", grant=builder.grant(own, "checked"), by=own, now=builder.now)
    visit = sign_second(visit=visit, part="hold", grant=builder.grant(calla, "checked"), by=calla, now=builder.now)
    assert visit.state == VisitState.DONE
    assert Hold.objects.get(visit=visit).signature.person == calla.person


@at_("looked_at")
def test_the_page_refuses_the_doers_own_hold(floor: Floor, builder: Builder) -> None:
    tam = also(floor, "tam", Role.INSPECTOR, builder)
    set_pin(person=tam, pin=PIN, by=SYSTEM)
    visit = builder.begin("17/")
    builder.fill(visit)
    builder.sign_doer(visit)
    browser = Browser(Who(tam))
    answer = browser.send(page(visit.item.unit, 17, "second"), pin=PIN, meaning="checked", part="hold")
    assert answer.status_code == 422
    assert "Somebody who did none of it must sign" in text_of(answer)
    inspector = Browser(floor.who("calla"))
    assert builder.bench.serial in text_of(inspector.get(reverse("holds")))


@at_("turned")
def test_a_welder_whose_skill_has_lapsed_is_refused(floor: Floor, builder: Builder) -> None:
    bram, by = floor.people["bram"], floor.who("bram", "CUT")
    with pytest.raises(NotYours, match="Bram Ottelow is not qualified"):
        take_up(bench=builder.bench, key="27/", by=by, now=builder.now)
    day = shop_day(builder.now)
    skill = Qualification("gas_tungsten_arc", day - timedelta(days=400), day, 6, "test paper")
    give_skill(person=bram, skill=skill, by=SYSTEM, now=builder.now)
    with pytest.raises(NotYours, match="lapsed"):
        take_up(bench=builder.bench, key="27/", by=by, now=builder.now)
    answer = Browser(floor.who("bram")).send(page(builder.bench.item.unit, 27, "take_up"))
    assert (answer.status_code, "lapsed" in text_of(answer)) == (422, True)
    assert take_up(bench=builder.bench, key="27/", by=floor.who("isolde", "CUT"), now=builder.now).state == "in_hand"


@at_("welded")
def test_its_weld_is_on_record_under_no_axle(builder: Builder) -> None:
    weld = Weld.objects.select_related("procedure", "welder", "visit").get(item=builder.bench.item)
    assert (weld.welder.code, weld.procedure.code, weld.visit.axle) == ("isolde", "P-1", None)
    assert weld.wire is not None


@at_("welded")
def test_the_look_waits_until_the_joint_is_cold(floor: Floor, builder: Builder) -> None:
    assert state(builder, "37/") is SlotState.WAIT_TIME
    with pytest.raises(NotReady, match=r"must wait: The joint must be cold\. "):
        take_up(bench=builder.bench, key="37/", by=floor.who("calla", "CUT"), now=builder.now)
    cold = Weld.objects.get(item=builder.bench.item).entered_at + timedelta(minutes=60)
    assert standing(builder.bench, builder.now).slots["37/"].ready_at == cold
    assert take_up(bench=builder.bench, key="37/", by=floor.who("calla", "CUT"), now=cold).state == "in_hand"


@at_("welded")
def test_who_welded_it_does_not_look_at_the_weld(floor: Floor, builder: Builder) -> None:
    builder.hands["37/"] = also(floor, "isolde", Role.INSPECTOR, builder)
    visit = builder.begin_after_wait("37/")
    builder.fill(visit)
    isolde = floor.who("isolde", "CUT")
    with pytest.raises(NotYours, match=r"Isolde Krantzke did some of the work .*operation 27"):
        finish(visit=visit, grant=builder.grant(isolde, "did"), by=isolde, now=builder.now)


def joined(floor: Floor, made: Builder) -> Builder:
    """The stub is finished, lies in stock, and goes into an axle that is built on it up to its buy-off."""
    made.run()
    put_in_stock(unit=made.bench.item.unit, note="shelf 2", by=floor.who("rusk"), now=made.now)
    floor.now = made.now + timedelta(minutes=1)
    axle = floor.axle()
    unit = made.bench.item.unit
    join_unit(unit=unit, spot=Spot(axle, "left"), reason="Built ahead.", by=floor.who("rusk"), now=floor.now)
    return floor.builder(axle)


@at_("welded")
def test_in_an_axle_its_weld_starts_the_axles_clock(floor: Floor, builder: Builder) -> None:
    weld = Weld.objects.get(item=builder.bench.item)
    axle = joined(floor, builder)
    assert {Visit.objects.get(pk=weld.visit_id).axle} == {axle.axle}
    assert [str(standing(axle.bench, axle.now).slots[f"{key}left"].state) for key in OWN] == ["done"] * 4
    axle.kit()
    axle.run(until=77)
    view = standing(axle.bench, axle.now).slots["77/"]
    assert (view.state, view.ready_at) == (SlotState.WAIT_TIME, weld.entered_at + timedelta(days=1))
    axle.run()
    assert Axle.objects.get(pk=axle.axle.pk).phase == "bought_off"


@at_("welded")
def test_who_welded_it_does_not_buy_the_axle_off(floor: Floor, builder: Builder) -> None:
    """The work was done before the axle was booked, and is looked at all the same."""
    axle = joined(floor, builder)
    axle.kit()
    axle.run(until=77)
    axle.hands["77/"] = also(floor, "isolde", Role.INSPECTOR, axle)
    visit = axle.begin_after_wait("77/")
    axle.fill(visit)
    with pytest.raises(NotYours, match=r"Isolde Krantzke did some of the work .*operation .*27"):
        axle.sign_doer(visit)


@at_("welded")
def test_its_page_shows_how_it_stands(floor: Floor, builder: Builder) -> None:
    shown = text_of(Browser(floor.who("rusk")).get(reverse("unit", args=[builder.bench.pk])))
    assert "Look at the weld" in shown
    assert "Weld the flange" in shown
    looks = Browser(floor.who("calla"))
    assert [looks.get(page(builder.bench.item.unit, number)).status_code for number in (12, 17, 27, 37)] == [200] * 4
