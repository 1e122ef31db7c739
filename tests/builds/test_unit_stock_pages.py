"""A hub through the pages: begun, worked at the hub bench, put in stock, put into an axle."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.models import Axle, Fitted, RedTag, Unit, Visit, VisitState
from builds.reports.facts import standing
from builds.reports.kit import needs_of
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from builds.scenario.values import VALUES
from measurements.models import Reading
from shop.actions.people import set_pin
from shop.models import Place, Where
from shop.record.who import SYSTEM, Who
from tests.builds.pages import Browser, text_of
from tests.factories import PIN
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture
def noor(floor: Floor) -> Browser:
    """At the hub bench, with a PIN."""
    set_pin(person=floor.people["noor"], pin=PIN, by=SYSTEM)
    return Browser(Who(floor.people["noor"]))


@pytest.fixture
def hub(floor: Floor) -> Unit:
    """Begun by the lead builder on the page."""
    lead = Browser(Who(floor.people["ingrith"]))
    assert "Begin one for stock" in text_of(lead.get(reverse("units")))
    path = reverse("unit_begin", args=[floor.revision.model.code, floor.revision.letter, "hub"])
    assert "How many" in text_of(lead.get(path))
    assert lead.send(path, count="1").status_code == 303
    return Unit.objects.select_related("item", "revision__model").get(axle=None)


def at(unit: Unit, number: int, act: str = "") -> str:
    return reverse(f"unit_station{act and '_'}{act}", args=[unit.serial, number])


def send(browser: Browser, unit: Unit, number: int, act: str, **fields: Any) -> None:
    answer = browser.send(at(unit, number, act), **fields)
    assert answer.status_code == 303, text_of(answer)


def do(floor: Floor, browser: Browser, unit: Unit, number: int) -> None:
    """One operation, everything by its page: taken up, parts scanned in, each place entered, signed."""
    assert "Take it up" in text_of(browser.get(at(unit, number)))
    send(browser, unit, number, "take_up")
    visit = Visit.objects.get(item=unit.item, operation__number=number)
    values = Builder(floor.shop, unit, floor.now, VALUES, slot_key=f"{number}/")
    work = work_of(visit)
    for need in needs_of(unit, [work.slot]):
        for _ in range(int(need.to_fit) if need.tracking == "serial" else 1):
            send(browser, unit, number, "scan", scan=floor.stock.find(unit, need, floor.now))
    for place in work.places:
        if work.is_wanted(place) and place.asked.kind != "computed":
            typed = values.value_for(place.asked, place.position)
            gauge = floor.shop.gauge_for(place.asked, typed if place.asked.kind == "measured" else "")
            fields = {"characteristic": place.asked.code, "position": place.position, "value": typed, "gauge": gauge}
            send(browser, unit, number, "reading", **fields, **{"try": "1"})
    assert unit.serial in text_of(browser.get(at(unit, number)))
    send(browser, unit, number, "finish", pin=PIN, meaning="did")


def test_from_its_beginning_into_an_axle(floor: Floor, noor: Browser, hub: Unit) -> None:
    assert hub.serial in text_of(noor.get(reverse("waiting", args=["HB"])))
    for number in (340, 350, 360):
        do(floor, noor, hub, number)
    assert Fitted.objects.filter(host=hub.item).count() > 0
    page = text_of(noor.get(reverse("unit", args=[hub.pk])))
    assert "Begun for stock" in page
    assert noor.send(reverse("unit_stock", args=[hub.pk]), note="shelf 4").status_code == 303
    assert "in stock shelf 4" in text_of(Browser(Who(floor.people["ingrith"])).get(reverse("units")))
    axle = floor.axle()
    into = {"into": axle.serial, "side": "left", "reason": "built ahead"}
    assert noor.send(reverse("unit_in", args=[hub.pk]), **into).status_code == 303
    slots = standing(Axle.objects.get(pk=axle.pk), timezone.now()).slots
    assert [str(slots[f"{number}/left"].state) for number in (340, 350, 360)] == ["done"] * 3
    moved = noor.get(at(hub, 340))
    assert (moved.status_code, moved.url) == (302, reverse("station", args=[axle.serial, 340, "left"]))


def test_set_down_taken_up_and_stopped(floor: Floor, noor: Browser, hub: Unit) -> None:
    send(noor, hub, 340, "take_up")
    send(noor, hub, 340, "set_down", note="lunch")
    assert "Take it up again" in text_of(noor.get(at(hub, 340)))
    send(noor, hub, 340, "take_up")
    send(noor, hub, 340, "wrong", what="burr in the bore")
    assert RedTag.objects.get().item == hub.item
    assert "burr in the bore" in text_of(noor.get(at(hub, 340)))
    tag = Browser(Who(floor.people["wenzel"])).get(reverse("red_tag", args=[RedTag.objects.get().number]))
    assert "this operation and all that waits for it" in text_of(tag)
    assert noor.get(at(hub, 340, "changes")).status_code in (200, 204)


def fitted_in(floor: Floor, noor: Browser, hub: Unit) -> Fitted:
    """One part that the hub's first operation asks for, scanned in by its page."""
    send(noor, hub, 340, "take_up")
    visit = Visit.objects.get(item=hub.item, operation__number=340)
    need = next(one for one in needs_of(hub, [work_of(visit).slot]) if one.tracking == "serial")
    send(noor, hub, 340, "scan", scan=floor.stock.find(hub, need, floor.now))
    return Fitted.objects.get(host=hub.item)


def test_a_part_scanned_in_by_mistake_comes_out_on_the_units_page(floor: Floor, noor: Browser, hub: Unit) -> None:
    row = fitted_in(floor, noor, hub)
    page = reverse("unit", args=[hub.pk])
    assert f"Take out {row.role}" in text_of(noor.get(f"{page}?out-part={row.pk}"))
    out = reverse("unit_part_out", args=[hub.pk, row.pk])
    refused = noor.send(out, reason="", to="stock", note="new")
    assert refused.status_code == 422
    assert "Say why" in text_of(refused)
    assert 'value="new"' in refused.content.decode()
    assert noor.send(out, reason="the other hub's", to="stock", note="new").status_code == 303
    assert not Fitted.objects.now().filter(host=hub.item).exists()
    assert Place.objects.get(item=row.part).where == Where.STOCK
    assert noor.send(out, reason="again", to="stock", note="").status_code == 422


def test_a_part_of_another_unit_is_not_found_there(floor: Floor, noor: Browser, hub: Unit) -> None:
    row = fitted_in(floor, noor, hub)
    lead = Browser(Who(floor.people["ingrith"]))
    lead.send(reverse("unit_begin", args=[floor.revision.model.code, floor.revision.letter, "hub"]), count="1")
    other = Unit.objects.filter(axle=None).exclude(pk=hub.pk).get()
    assert noor.send(reverse("unit_part_out", args=[other.pk, row.pk]), reason="x", to="stock").status_code == 404
    assert Fitted.objects.now().filter(host=hub.item).exists()


def test_a_reading_of_another_hub_is_declared_void_and_stays(floor: Floor, noor: Browser, hub: Unit) -> None:
    send(noor, hub, 340, "take_up")
    work = work_of(Visit.objects.get(item=hub.item, operation__number=340))
    place = next(place for place in work.places if work.is_wanted(place) and place.asked.kind != "computed")
    typed = Builder(floor.shop, hub, floor.now, VALUES, slot_key="340/").value_for(place.asked, place.position)
    fields = {"characteristic": place.asked.code, "position": place.position, "value": typed}
    send(noor, hub, 340, "reading", gauge=floor.shop.gauge_for(place.asked, ""), **fields, **{"try": "1"})
    row = Reading.objects.get(sheet__visit_links__visit__item=hub.item)
    page = reverse("unit", args=[hub.pk])
    assert "not of this unit" in text_of(noor.get(page))
    assert "Declare a reading void" in text_of(noor.get(f"{page}?void={row.pk}"))
    void = reverse("unit_void", args=[hub.pk, row.pk])
    assert "Say why" in text_of(noor.send(void, reason=""))
    assert noor.send(void, reason="read on the other hub").status_code == 303
    said = text_of(noor.get(page))
    assert "void : read on the other hub" in said.replace("void:", "void :")
    assert Reading.objects.filter(pk=row.pk).exists()
    assert noor.send(void, reason="again").status_code == 422


def test_nothing_waits_for_a_signature_there_is_nothing_to_send_back(floor: Floor, noor: Browser, hub: Unit) -> None:
    send(noor, hub, 340, "take_up")
    lead = Browser(Who(floor.people["ingrith"]))
    answer = lead.send(reverse("unit_send_back", args=[hub.pk, 340]), reason="look again")
    assert answer.status_code == 422
    assert "waits for no signature" in text_of(answer)
    Visit.objects.filter(item=hub.item).update(state=VisitState.WAIT_SIGN)  # no shipped hub has a hold
    page = reverse("unit", args=[hub.pk])
    assert "Send it back" in text_of(lead.get(page))
    assert "What must be done before it is signed" in text_of(lead.get(f"{page}?back=340"))
    assert lead.send(reverse("unit_send_back", args=[hub.pk, 340]), reason="look again").status_code == 303
    assert Visit.objects.get(item=hub.item).state == VisitState.REDO


@pytest.mark.parametrize("asked", ["void=x", "out-part=999999", "back=", "void=1&out-part=2", "back=340"])
def test_a_form_for_what_is_not_there_is_not_drawn(noor: Browser, hub: Unit, asked: str) -> None:
    answer = noor.get(f"{reverse('unit', args=[hub.pk])}?{asked}")
    assert answer.status_code == 200
    assert 'id="mend"' not in answer.content.decode()


@pytest.mark.parametrize("act", ["", "card"])
def test_of_a_unit_that_is_not_there_there_is_no_page(noor: Browser, hub: Unit, act: str) -> None:
    name = "unit_station" if not act else "unit_blank_card"
    assert noor.get(reverse(name, args=["25-U999-H", 340])).status_code == 404
    assert noor.get(reverse(name, args=[hub.serial, 20])).status_code == 404
    assert noor.get(reverse(name, args=[hub.serial, 340])).status_code == 200


def test_done_on_paper_it_is_entered_and_marked_late(floor: Floor, noor: Browser, hub: Unit) -> None:
    day = timezone.localtime().strftime("%Y-%m-%dT%H:%M")
    send(noor, hub, 340, "take_up", worked_by="noor", worked_at=day)
    assert Visit.objects.get(item=hub.item).late


def test_where_no_card_builds_a_unit_for_stock_the_page_says_so(
    floor: Floor, noor: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """To who could begin one; not to others, who need not know."""
    lead = Browser(Who(floor.people["ingrith"]))
    said = "No released card says"
    assert said not in text_of(lead.get(reverse("units")))
    monkeypatch.setattr("builds.views.stock_units.beginnable", list)
    assert said in text_of(lead.get(reverse("units")))
    assert said not in text_of(noor.get(reverse("units")))
