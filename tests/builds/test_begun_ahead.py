"""Work that is older than its axle is told as such: in the axle's file, on its certificate, on its customer's page."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from builds.actions.building_units import NewUnit, begin_units, put_in_stock
from builds.actions.joining import Spot, join_unit, own_unit, rob_unit
from builds.actions.links import make_link
from builds.actions.parting import UnitOut, part_unit
from builds.certificates.context import certificate_context
from builds.certificates.pdf import certificate_html
from builds.certificates.record_units import unit_rows
from builds.models import Axle, Unit, Visit
from builds.reports.units import begun_ahead
from builds.scenario.driver import Builder
from builds.scenario.values import VALUES
from shop.clock import shop_day
from shop.record.who import Who
from tests.builds.pages import text_of
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
SAID = "Begun before this axle was booked"
OLD_RECORD = Path(__file__).parent / "records" / "format_1.json"
ISSUE = {"number": 1, "paper": "A4", "reason": "", "replaces": None, "certified_by": "Somebody Signing",
         "certified_at": "2026-11-01T10:00:00Z", "address": "http://127.0.0.1/verify"}  # fmt: skip


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def hub(floor: Floor) -> Unit:
    """Built for stock, a day before anybody books an axle."""
    unit = begin_units(new=NewUnit(floor.revision, "hub"), by=floor.who("ingrith"), now=floor.now)[0]
    made = Builder(floor.shop, unit, floor.now + timedelta(minutes=5), VALUES)
    made.run()
    put_in_stock(unit=unit, note="shelf 4", by=by(floor), now=made.now)
    floor.now = made.now + timedelta(days=1)
    return unit


@pytest.fixture
def axle(floor: Floor, hub: Unit) -> Axle:
    """The hub stands in it on the right; on the left stands its own, on which nothing was done."""
    booked = floor.axle()
    join(floor, hub, booked)
    return booked


def by(floor: Floor) -> Who:
    return floor.who("rusk", "GB")


def join(floor: Floor, unit: Unit, axle: Axle) -> None:
    join_unit(unit=unit, spot=Spot(axle, "right"), reason="Built ahead.", by=by(floor), now=floor.now)


def begun(unit: Unit) -> Any:
    return Visit.objects.filter(item=unit.item).earliest("claimed_at").claimed_at


def page(floor: Floor, axle: Axle) -> str:
    return text_of(signed_in_client(floor.people["dovie"]).get(reverse("axle", args=[axle.serial])))


def customers_page(floor: Floor) -> str:
    _, token = make_link(order=floor.orders[-1], days=30, by=floor.who("mirelle"))
    client = Client()
    client.post(reverse("customer_enter"), {"token": token})
    return text_of(client.get(reverse("customer_order")))


def certificate(axle: Axle) -> str:
    record = json.loads(OLD_RECORD.read_text("utf-8")) | {"units": unit_rows(axle)}
    return certificate_html(certificate_context(record, sha256="0" * 64, issue=ISSUE))


def test_the_file_says_on_which_day_and_as_what(floor: Floor, hub: Unit, axle: Axle) -> None:
    said = page(floor, axle)
    assert f"{SAID}, on {shop_day(begun(hub)):%Y-%m-%d}" in said
    assert f"as hub right {hub.serial}" in said
    assert said.count(SAID) == 1


def test_the_customer_reads_it_too(floor: Floor, hub: Unit, axle: Axle) -> None:
    day = shop_day(begun(hub))
    assert f"{SAID}, on {day.day} {day:%b %Y}, as hub right {hub.serial}" in customers_page(floor)


def test_the_certificate_says_it_where_the_parts_are_named(floor: Floor, hub: Unit, axle: Axle) -> None:
    (row,) = unit_rows(axle)
    assert row["begun_before_booking"][:10] == f"{begun(hub):%Y-%m-%d}"
    said = " ".join(certificate(axle).split())
    assert f"on {row['begun_before_booking'][:10]}, as hub right {hub.serial}; in it since {row['from'][:10]}." in said
    assert said.index("3 Options and identification") < said.index(SAID) < said.index("4 Measured results")


def test_control_of_an_axle_with_its_own_hubs_nothing_is_said(floor: Floor, hub: Unit) -> None:
    made = floor.built("10/", "340/left")
    assert SAID not in page(floor, made.axle)
    assert SAID not in customers_page(floor)
    assert SAID not in certificate(made.axle)


def test_one_that_was_begun_after_the_booking_is_not_said_to_be_older(floor: Floor, hub: Unit, axle: Axle) -> None:
    Visit.objects.filter(item=hub.item).update(claimed_at=axle.booked_at)
    assert begun_ahead([axle.pk]) == {}
    assert SAID not in page(floor, axle)
    assert [row["begun_before_booking"] for row in unit_rows(axle)] == [""]


def test_out_of_the_axle_it_is_told_there_no_more(floor: Floor, hub: Unit, axle: Axle) -> None:
    part_unit(unit=own_unit(Spot(axle, "right"), "hub"), out=UnitOut("wanted", "stock", "new"), by=by(floor))
    assert SAID not in page(floor, axle)
    assert [row["begun_before_booking"] for row in unit_rows(axle) if not row["until"]] == [""]


def test_come_again_it_is_told_once(floor: Floor, hub: Unit, axle: Axle) -> None:
    out = UnitOut("wanted", "stock", "new")
    part_unit(unit=own_unit(Spot(axle, "right"), "hub"), out=out, by=by(floor))
    hub.refresh_from_db()
    join_unit(unit=hub, spot=Spot(axle, "right"), reason="Not wanted after all.", by=by(floor))
    assert certificate(axle).count(SAID) == 1


def test_of_one_that_was_taken_over_from_an_older_axle_it_is_told(floor: Floor, hub: Unit, axle: Axle) -> None:
    """Its work was begun in the other axle, and before this one was booked: as true as of one begun for stock."""
    floor.now += timedelta(days=1)
    later = floor.axle()
    rob_unit(
        unit=own_unit(Spot(axle, "right"), "hub"), out=UnitOut("rush", "stock"), spot=Spot(later, "right"), by=by(floor)
    )
    assert f"as hub right {hub.serial}" in page(floor, later)
    assert SAID in certificate(later)
