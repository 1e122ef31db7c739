"""What one customer agreed to is no other customer's agreement: a unit with a conceded safety value changes axles."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from datetime import date, timedelta

import pytest

from builds.actions.booking import NewLine, NewOrder, add_line, book_axles, place_order
from builds.actions.deciding import Agreement, Decided, decide
from builds.actions.exchanging import Swap, exchange
from builds.actions.joining import Spot, join_unit, own_unit, rob_unit
from builds.actions.parting import UnitOut, part_unit, whole
from builds.certificates.record import full_record
from builds.errors import NotFree
from builds.models import Axle, Concession, Phase, RedTag, Unit, Visit
from builds.reports.customer import axles_for
from builds.reports.facts import standing
from builds.reports.pending import pending
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from shop.clock import shop_day
from shop.models import Customer
from shop.record import replay
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
CARRIER = ("200/", "210/", "220/", "230/")
FIRST = Agreement("A. Buyer", date(2025, 1, 5), "letter")
SECOND = Agreement("B. Buyer", date(2025, 1, 6), "message")


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def built(floor: Floor) -> Builder:
    """A carrier with one ring-gear bolt at 111 ft-lb (high limit 110), which the customer of its axle let pass."""
    builder = floor.built("10/", *CARRIER[:2])
    visit = builder.begin("220/")
    bolt = next(place for place in work_of(visit).places if place.asked.code == "220.1")
    builder.enter(visit, bolt, "111")
    decided(floor, builder, Decided("use_as_is", "Below yield.", agreement=FIRST))
    builder.fill(visit)
    builder.sign(visit)
    builder.do("230/")
    floor.now = builder.now
    return builder


@pytest.fixture
def donor(built: Builder) -> Builder:
    return deepcopy(built)


def decided(floor: Floor, builder: Builder, what: Decided) -> None:
    by = floor.who("wenzel")
    builder.now += timedelta(minutes=1)
    if what.agreement is not None:
        what = replace(what, agreement=replace(what.agreement, on=shop_day(builder.now)))
    decide(tag=RedTag.objects.open().get(), decided=what, grant=builder.grant(by, "released"), by=by, now=builder.now)


def axle_of(floor: Floor, customer: str) -> Axle:
    office, day = floor.who("mirelle"), shop_day(floor.now)
    new = NewOrder(f"O-8{customer}", Customer.objects.get(code=customer), day)
    order = place_order(order=new, by=office, now=floor.now)
    line = add_line(order=order, line=NewLine(floor.revision, 1, day, day, {}), by=office, now=floor.now)
    return book_axles(line=line, count=1, by=office, now=floor.now)[0]


def robbed(floor: Floor, donor: Builder, customer: str) -> Axle:
    """Another axle, of this customer, with the carrier in it."""
    taker, out = axle_of(floor, customer), UnitOut("rush", "stock")
    donor.now += timedelta(minutes=1)
    rob_unit(unit=carrier(donor.axle), out=out, spot=Spot(taker), by=floor.who("rusk", "GB"), now=donor.now)
    return Axle.objects.select_related("item", "line__order__customer", "revision__model").get(pk=taker.pk)


def carrier(axle: Axle) -> Unit:
    return own_unit(Spot(axle), "carrier")


def waiting(axle: Axle) -> list[str]:
    return [found.reading.typed for found in pending(work_of(Visit.objects.get(axle=axle, operation__number=220)))]


def told(donor: Builder, axle: Axle) -> tuple[list[tuple[int, str]], list[tuple[int, str]]]:
    """What the record that is frozen, and what the customer's own page, say of concessions: number and who agreed."""
    record = full_record(axle, donor.now)["concessions"]
    page = axles_for(axle.line.order, donor.now)[0].concessions
    return [(row["number"], row["agreed_by"]) for row in record], [(row.number, row.agreed_by) for row in page]


def test_another_customer_is_asked_anew(floor: Floor, donor: Builder) -> None:
    taker = robbed(floor, donor, "HPTG")
    tag = RedTag.objects.open().get(axle=taker)
    assert (tag.item, tag.operation and tag.operation.number) == (carrier(taker).item, 220)
    assert tag.reading is not None
    assert tag.cause == (
        f"220.1 Ring-gear bolt torque, 1 is out of limit. The customer of {taker.serial} has not agreed to it."
    )
    assert str(standing(taker, donor.now).slots["260/"].state) == "stopped"
    assert waiting(taker) == ["111"]
    assert told(donor, taker) == ([], [])
    assert replay.check()[1] == []


def test_what_the_second_one_agrees_to_stands_alone_in_his_papers(floor: Floor, donor: Builder) -> None:
    taker = robbed(floor, donor, "HPTG")
    decided(floor, donor, Decided("use_as_is", "Below yield.", agreement=SECOND))
    assert waiting(taker) == []
    number = Concession.objects.latest("pk").number
    assert told(donor, taker) == ([(number, "B. Buyer")], [(number, "B. Buyer")])
    assert str(standing(taker, donor.now).slots["220/"].state) == "done"


def test_done_again_it_is_covered_by_nothing(floor: Floor, donor: Builder) -> None:
    taker = robbed(floor, donor, "HPTG")
    decided(floor, donor, Decided("rework", "New bolt."))
    assert Visit.objects.get(axle=taker, operation__number=220).state == "redo"
    assert RedTag.objects.open().count() == 0


def test_control_another_axle_of_the_same_customer_keeps_its_agreement(floor: Floor, donor: Builder) -> None:
    taker = robbed(floor, donor, "LRRC")
    assert not RedTag.objects.open().exists()
    assert waiting(taker) == []
    assert told(donor, taker) == ([(1, "A. Buyer")], [(1, "A. Buyer")])


def test_control_out_and_in_again_nobody_is_asked(floor: Floor, donor: Builder) -> None:
    unit = carrier(donor.axle)
    by, now = floor.who("rusk", "GB"), donor.now + timedelta(minutes=1)
    part_unit(unit=unit, out=UnitOut("rush", "stock", "as it was"), by=by, now=now)
    join_unit(unit=whole(unit.pk), spot=Spot(donor.axle), reason="Not needed.", by=by, now=now + timedelta(minutes=1))
    assert not RedTag.objects.open().exists()


@pytest.mark.parametrize("customer", ["HPTG", "LRRC"])
def test_one_that_has_left_gets_none_that_its_customer_did_not_agree_to(
    floor: Floor, donor: Builder, customer: str
) -> None:
    unit, gone = carrier(donor.axle), axle_of(floor, customer)
    by, now = floor.who("rusk", "GB"), donor.now + timedelta(minutes=1)
    part_unit(unit=unit, out=UnitOut("rush", "stock", "as it was"), by=by, now=now)
    Axle.objects.filter(pk=gone.pk).update(phase=Phase.GONE, closed_at=now)
    swap = Swap(carrier(gone), unit.item.mark, "scrap", "")
    if customer == "HPTG":
        with pytest.raises(NotFree, match=r"concession 1\), and the customer of .* has not agreed to it"):
            exchange(axle=gone, swaps=[swap], reason="whined", by=by, now=now + timedelta(minutes=1))
    else:
        exchange(axle=gone, swaps=[swap], reason="whined", by=by, now=now + timedelta(minutes=1))
        assert carrier(gone) == unit
