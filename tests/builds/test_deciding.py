"""Deciding about a red tag: who may, what a safety characteristic needs, what each decision does."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from builds.actions.booking import book_axles
from builds.actions.deciding import Agreement, Decided, decide
from builds.actions.finishing import finish
from builds.errors import MovedOn, NotSignable, NotYours
from builds.models import Concession, Fitted, Phase, RedTag, Visit
from builds.reports.work import Place as Spot
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Place
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
AGREED = Agreement("A. Buyer", date(2026, 1, 5), "letter")


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def bore(floor: Floor) -> tuple[Builder, Visit]:
    """A bore over its limit on the right tube: 3.0638 (limit 3.0637); the fit itself is in its window."""
    builder = floor.builder(floor.axle())
    builder.by_slot = {"50/right": {"50.3": "3.0638", "50.6": "3.0652"}}
    builder.kit()
    builder.run(until=50)
    builder.do("50/left")
    visit = builder.begin("50/right")
    builder.fill(visit)
    return builder, visit


def tag(bore: tuple[Builder, Visit]) -> RedTag:
    return RedTag.objects.open().filter(axle=bore[0].axle).order_by("number")[0]


def decided(floor: Floor, bore: tuple[Builder, Visit], what: Decided, code: str = "wenzel") -> None:
    builder = bore[0]
    builder.now += timedelta(minutes=10)
    by = floor.who(code)
    for found in RedTag.objects.open().filter(axle=builder.axle).order_by("number"):
        decide(tag=found, decided=_today(what, builder), grant=builder.grant(by, "released"), by=by, now=builder.now)


def _today(what: Decided, builder: Builder) -> Decided:
    """AGREED is of the day of the decision; every other agreement of the day that it says."""
    on = shop_day(builder.now)
    return replace(what, agreement=replace(AGREED, on=on)) if what.agreement is AGREED else what


def test_an_oversize_bore_opened_a_tag(bore: tuple[Builder, Visit]) -> None:
    assert tag(bore).reading is not None
    assert tag(bore).cause.startswith("50.3 Spindle bore")


def test_an_inspector_may_not_decide_a_safety_characteristic(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    with pytest.raises(NotYours, match="is decided by engineer"):
        decided(floor, bore, Decided("use_as_is", "fits", agreement=AGREED), code="calla")


def test_use_as_is_needs_the_customers_agreement(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    with pytest.raises(Refusal, match="needs the customer's agreement"):
        decided(floor, bore, Decided("use_as_is", "the fit is in its window"))


@pytest.mark.parametrize("days", [1, 300])
def test_nobody_agrees_to_a_value_before_it_was_read(floor: Floor, bore: tuple[Builder, Visit], days: int) -> None:
    read_on = shop_day(tag(bore).opened_at)
    early = Agreement("A. Buyer", read_on - timedelta(days=days), "letter")
    with pytest.raises(Refusal, match="nobody can have agreed to it"):
        decided(floor, bore, Decided("use_as_is", "the fit is in its window", agreement=early))
    assert not Concession.objects.exists()


def test_control_on_the_day_of_the_reading_it_is_agreed_to(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    on = shop_day(tag(bore).opened_at)
    decided(floor, bore, Decided("use_as_is", "fits", agreement=Agreement("A. Buyer", on, "letter")))
    assert {row.agreed_on for row in Concession.objects.all()} == {on}


def test_a_decision_needs_a_reason(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    with pytest.raises(Refusal, match="Say why"):
        decided(floor, bore, Decided("rework", " "))


def test_a_concession_is_bound_to_its_value(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    builder, visit = bore
    decided(floor, bore, Decided("use_as_is", "the fit is in its window", agreement=AGREED))
    row = Concession.objects.order_by("number")[0]
    assert (row.characteristic.code, row.position, str(row.value)) == ("50.3", "A", "3.063800000")  # type: ignore[union-attr]
    place = next(p for p in _places(visit) if p.asked.code == "50.3" and p.position == "A")
    builder.now += timedelta(minutes=1)
    builder.enter(visit, place, "3.0639", "measured again")
    by = floor.who("tam", "TP")
    with pytest.raises(NotSignable, match=r"3\.0639"):
        finish(visit=visit, grant=builder.grant(by, "did"), by=by, now=builder.now)


def _places(visit: Visit) -> tuple[Spot, ...]:
    return work_of(visit).places


def test_under_its_concession_the_operation_can_be_signed(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    builder, visit = bore
    decided(floor, bore, Decided("use_as_is", "the fit is in its window", agreement=AGREED))
    assert builder.sign(visit).state == "done"


def test_without_a_decision_it_cannot(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    builder, visit = bore
    with pytest.raises(NotSignable, match="Red tag"):
        builder.sign(visit)


def test_rework_opens_the_operation_again(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    decided(floor, bore, Decided("rework", "bored again"))
    assert Visit.objects.get(pk=bore[1].pk).state == "redo"


def test_scrap_takes_the_part_out_and_keeps_it_in_the_file(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    part = Fitted.objects.now().get(axle=bore[0].axle, role="tube", host__unit__side="right")
    first = tag(bore)
    by, builder = floor.who("wenzel"), bore[0]
    what = Decided("scrap", "cannot be made smaller", part=part)
    decide(tag=first, decided=what, grant=builder.grant(by, "released"), by=by, now=builder.now)
    assert Fitted.objects.get(pk=part.pk).removal.to == "scrap"
    assert Place.objects.get(pk=part.part_id).where == "scrap"
    redo = Visit.objects.filter(axle=builder.axle, state="redo").values_list("operation__number", flat=True)
    assert set(redo) == {30, 40, 50}


def test_a_scrapped_axle_frees_its_place_for_a_new_serial(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    builder = bore[0]
    by = floor.who("wenzel")
    what = Decided("scrap", "housing cracked", whole_axle=True)
    decide(tag=tag(bore), decided=what, grant=builder.grant(by, "released"), by=by, now=builder.now)
    builder.axle.refresh_from_db()
    assert builder.axle.phase == Phase.RETIRED
    new = book_axles(line=builder.axle.line, count=1, by=floor.who("mirelle"), now=builder.now)[0]
    assert new.takes_place_of == builder.axle


def test_a_tag_is_decided_once(floor: Floor, bore: tuple[Builder, Visit]) -> None:
    first, builder, by = tag(bore), bore[0], floor.who("wenzel")
    what = Decided("rework", "bored again")
    decide(tag=first, decided=what, grant=builder.grant(by, "released"), by=by, now=builder.now)
    with pytest.raises(MovedOn, match="decided already"):
        decide(tag=first, decided=what, grant=builder.grant(by, "released"), by=by, now=builder.now)
