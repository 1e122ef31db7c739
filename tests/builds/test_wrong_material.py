"""Wrong material through the pages: one clear sentence, what was typed still there, not one row more. Each with the
control that the same press, made right, is taken.

What the other tests of the pages hold: one certificate for two heats and a second one added (test_deliveries_page),
letter O for zero (test_stock_page), an unknown serial in a return (returns/test_returns), a reach list over nothing
(reach/test_page); what no page can ask, a circle of parentage (reach/test_edges).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.actions.claiming import OnPaper, take_up
from builds.actions.papers import NewDelivery, take_delivery
from builds.actions.receiving import NewPart, take_in_part
from builds.models import Axle, Revision, Visit
from measurements.models import Reading
from shop.models import Heat, Lot, Role
from shop.record.who import Who
from tests.bad_input import tallies
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import MEASURING_CARD
from tests.builds.floor import axle, heat, kind, lot, part, person, released, supplier, visit
from tests.builds.pages import Browser, text_of
from tests.builds.test_stock_page import HEAT, heat_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def made() -> Axle:
    return axle(released())


@pytest.fixture
def who(made: Axle) -> Who:
    return person(*Role)


@pytest.fixture
def omni(who: Who) -> Browser:
    """Every role, so that no role stands before the input."""
    return Browser(who)


def refused(browser: Browser, url: str, said: str, **fields: str) -> Any:
    """The answer to a press that is wrong: the sentence, and the database as it was."""
    before = tallies()
    answer = browser.send(url, **fields)
    assert answer.status_code in (409, 422), text_of(answer)
    assert said in text_of(answer)
    assert tallies() == before
    return answer


def kept(answer: Any, *typed: str) -> None:
    page = answer.content.decode()
    assert [word for word in typed if f'value="{word}"' not in page] == []


def test_a_second_certificate_for_a_heat_that_is_here(omni: Browser) -> None:
    heat("Q7714")
    fields = heat_fields(mark="Q7714", certificate="C-2")
    answer = refused(omni, HEAT, "Add C-2 on the heat's own page", **fields)
    kept(answer, "Q7714", "C-2", ".300")
    assert omni.send(HEAT, **fields | {"mark": "R9001"}).status_code == 303


def test_chemistry_in_ppm_for_per_cent(omni: Browser) -> None:
    """.30 % of carbon is 3000 ppm."""
    answer = refused(omni, HEAT, "3000 ppm is 0.3 %", **heat_fields(**{"value-20.1": "3000"}))
    kept(answer, "Q7714", "C-1", "3000")
    assert omni.send(HEAT, **heat_fields()).status_code == 303


@pytest.mark.parametrize("mark", ["Q7715", "Q774", "Q77144", "Q77I4", "Q7741"])
def test_a_heat_number_that_differs_by_one_character(omni: Browser, mark: str) -> None:
    heat("Q7714")
    answer = refused(omni, HEAT, "differs from", **heat_fields(mark=mark, certificate="C-2"))
    kept(answer, mark, "C-2")
    assert omni.send(HEAT, **heat_fields(mark=mark, certificate="C-2"), sure="on").status_code == 303


def test_the_same_heat_number_under_another_mill(omni: Browser) -> None:
    heat("Q7714")
    other = str(supplier("AGF").pk)
    fields = heat_fields(supplier=other, certificate="C-2")
    answer = refused(omni, HEAT, "Two mills may stamp the same number", **fields)
    kept(answer, "Q7714", "C-2", ".300")
    assert omni.send(HEAT, **fields, sure="on").status_code == 303
    assert Heat.objects.filter(item__mark="Q7714").count() == 2


def kit(made: Axle) -> str:
    return reverse("kit_scan", args=[made.serial])


def bench_of(made: Axle, code: str, who: Who) -> tuple[Visit, str]:
    """The pass that takes such a part, in hand, and where a scan at its bench is sent."""
    number = next(o.number for o in made.revision.card.operations for n in o.needs if n.part_kind == code)
    slot = next(slot for slot in made.plan.slots if slot.operation.number == number)
    return visit(made, number, slot.side, who), reverse("station_scan", args=[made.serial, number, slot.side or "-"])


def test_more_of_a_lot_than_came(omni: Browser, who: Who, made: Axle) -> None:
    """Two bearings are wanted, and one came."""
    Lot.objects.filter(pk=lot().pk).update(received=1)
    _, url = bench_of(made, "bearing", who)
    refused(omni, url, "has 1 left of 1 that came", scan="PB-1")
    Lot.objects.update(received=100)
    assert omni.send(url, scan="PB-1").status_code == 303


@pytest.mark.parametrize("count", ["-5", "-0.5", "a few"])
def test_a_count_below_nothing(omni: Browser, made: Axle, count: str) -> None:
    row = lot()
    url = reverse("item_count", args=[row.pk])
    before = tallies()
    answer = omni.send(url, received=count, reason="counted again")
    assert answer.status_code == 422
    assert tallies() == before
    assert "counted again" in answer.content.decode()
    assert omni.send(url, received="40", reason="counted again").status_code == 303


def test_a_lot_after_its_last_day(omni: Browser, made: Axle) -> None:
    Lot.objects.filter(pk=lot().pk).update(expires_on=date(2025, 1, 31))
    refused(omni, kit(made), "Lot PB-1 expired on 31 Jan 2025", scan="PB-1")
    Lot.objects.update(expires_on=date(2199, 1, 31))
    assert omni.send(kit(made), scan="PB-1").status_code == 303


def test_a_part_fitted_before_it_came(omni: Browser, who: Who, made: Axle) -> None:
    came = take_delivery(delivery=NewDelivery("PS-9", supplier(), timezone.localdate()), by=who)
    take_in_part(part=NewPart("S-1", kind("shaft"), supplier(), delivery=came), by=who)
    at, url = bench_of(made, "shaft", who)
    worked = timezone.now() - timedelta(days=3)
    Visit.objects.filter(pk=at.pk).update(late=True, worked_at=worked, worked_by=who.person)
    refused(omni, url, "one of them is wrong", scan="S-1")
    part("shaft", "S-2")
    assert omni.send(url, scan="S-2").status_code == 303


def test_a_serial_that_nobody_knows_comes_back(omni: Browser, made: Axle) -> None:
    answer = omni.get(reverse("returns"), {"serial": "TBK-25-9999-Z"})
    assert answer.status_code == 200
    assert "TBK-25-9999-Z" in answer.content.decode()


def test_a_reach_list_over_everything(omni: Browser, made: Axle) -> None:
    """The one revision of the house, and either of two causes: every axle once."""
    second = axle(Revision.objects.get())
    asked = {"cause": f"{made.revision.model.code}/{made.revision.letter}", "kind": "revision"}
    page = text_of(omni.get(reverse("reach"), asked))
    assert made.serial in page
    assert second.serial in page
    assert "2 axles." in page
    for nothing in ({"cause": ""}, {"cause": "NOBODY-USED-IT"}):
        said = text_of(omni.get(reverse("reach"), nothing))
        assert "axles." not in said
        assert "Nothing" in said


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(MEASURING_CARD, begin=datetime.now(UTC) - timedelta(days=3))


@pytest.mark.parametrize("day", [-1, 1])
def test_a_gauge_calibrated_after_the_reading(bench: Bench, day: int) -> None:
    """The torque wrench has its first calibration three days ago. Work of the day before is typed in from paper; the
    control is work of the day after."""
    ben = bench.people["ben"]
    assert ben.person is not None
    paper = OnPaper(ben.person, bench.now + timedelta(days=day))
    late = take_up(bench=bench.axle(), key="12/", by=ben, paper=paper, now=timezone.now())
    assert late.axle is not None
    url = reverse("station_reading", args=[late.axle.serial, 12, "-"])
    fields = {"characteristic": "12.4", "position": "", "value": "105", "unit": "ft-lb", "gauge": "G-3", "ring": "",
              "reason": "", "try": "1"}  # fmt: skip
    if day > 0:
        assert Browser(ben).send(url, **fields).status_code == 303
        assert Reading.objects.get(calibration__gauge__item__mark="G-3").late
        return
    answer = refused(Browser(ben), url, "G-3 has no calibration on record", **fields)
    assert "the gauge counts as it stood then" in text_of(answer)
    kept(answer, "105")
    assert Heat.objects.count() == 0
