"""How many statements every big page takes: the same number when there is twice as much to show."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.booking import NewLine, NewOrder, add_line, book_axles, place_order
from builds.actions.building_units import NewUnit, begin_units
from builds.actions.labelling import print_label
from builds.actions.links import make_link
from builds.actions.tagging import tag_axle
from builds.models import Axle, Line, Unit, Visit, VisitState
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from builds.scenario.values import VALUES
from shop.clock import shop_day
from shop.models import Customer
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
#: Savepoints, begin and commit carry no question to the database.
FRAME = ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE")
#: What each page takes: seat, and what it shows. Those that a shop looks at all day may take ten.
STATEMENTS = {
    "waiting list": 10, "station page": 9, "axle file": 10, "floor": 8, "every axle": 3, "orders": 7, "order": 6,
    "units": 6, "unit at the bench": 9, "kits": 6, "kit": 7, "stock": 10, "labels": 6, "holds": 6,
    "red tags": 4, "closing": 17, "customer page": 15,
}  # fmt: skip
#: They show the newest of as many places as before, while what lies under them doubles.
AS_LONG = ("station page", "labels", "unit at the bench")
ALL_DAY = ("waiting list", "station page", "axle file")


@dataclass
class Growing:
    """A shop in which the same work is done again and again, and who looks at it."""

    floor: Floor
    line: Line
    customer: Client
    builders: list[Builder] = field(default_factory=list)
    units: list[Unit] = field(default_factory=list)
    kitting: Builder | None = None
    tagged: Axle | None = None

    @property
    def first(self) -> Builder:
        return self.builders[0]

    def more(self) -> None:
        """As much again: an order, an axle with bolts in hand, one that waits for a signature, one with a red tag; and
        as many parts in a kit, tags on one axle, readings and prints."""
        if self.kitting is None:
            self.kitting = self.floor.builder(self.floor.axle())
        else:
            self.floor.axle()
        self.kitting.kit(most=6)
        worked, waits, tagged = book_axles(line=self.line, count=3, by=self.floor.who("mirelle"), now=self.floor.now)
        self.builders.append(self.bolted(worked))
        self.waiting(waits)
        self.carrier()
        self.tagged = self.tagged or tagged
        for axle in {self.tagged, tagged}:
            tag_axle(axle=axle, cause="dropped", by=self.floor.who("calla"), now=self.floor.now)
        visit = Visit.objects.open().get(axle=self.first.axle, operation__number=220)
        blank = [place for place in work_of(visit).places if place.asked.code == "220.1" and place.last is None]
        for place in blank[:6]:
            self.first.enter(visit, place)
        for unit in self.first.axle.units.all():
            print_label(item=unit.item, kind="unit", reason="smeared", by=self.floor.who("jory"))

    def bolted(self, axle: Axle) -> Builder:
        builder = self.floor.builder(axle)
        builder.kit()
        for key in ("10/", "200/", "210/"):
            builder.do(key)
        builder.fit(builder.begin("220/"))
        return builder

    def carrier(self) -> None:
        """A differential that is built for stock, with bolts in hand, and a hub of which nothing is done."""
        by, now = self.floor.who("ingrith"), self.floor.now
        self.units += begin_units(new=NewUnit(self.floor.revision, "carrier"), by=by, now=now)
        begin_units(new=NewUnit(self.floor.revision, "hub"), by=by, now=now)
        builder = Builder(self.floor.shop, self.units[-1], now + timedelta(minutes=5), VALUES)
        for key in ("200/", "210/"):
            builder.do(key)
        builder.fit(builder.begin("220/"))

    def waiting(self, axle: Axle) -> None:
        builder = self.floor.builder(axle)
        builder.kit()
        visit = builder.begin("10/")
        Visit.objects.filter(pk=visit.pk).update(state=VisitState.WAIT_SIGN)

    def pages(self) -> dict[str, tuple[Client, str]]:
        tam, dovie = (signed_in_client(self.floor.people[code]) for code in ("tam", "dovie"))
        assert self.kitting is not None
        assert self.tagged is not None
        serial, order = self.first.axle.serial, self.line.order.number
        station = Visit.objects.open().filter(operation__number=220)[0].operation.station.code
        return {
            "waiting list": (tam, reverse("waiting", args=[station])),
            "station page": (tam, reverse("station", args=[serial, 220, "-"])),
            "units": (dovie, reverse("units")),
            "unit at the bench": (tam, reverse("unit_station", args=[self.units[0].serial, 220])),
            "axle file": (dovie, reverse("axle", args=[serial])),
            "floor": (dovie, reverse("floor")),
            "every axle": (dovie, reverse("axles")),
            "orders": (dovie, reverse("orders")),
            "order": (dovie, reverse("order", args=[order])),
            "kits": (dovie, reverse("kits")),
            "kit": (dovie, reverse("kit", args=[self.kitting.axle.serial])),
            # Found by a letter, for the drawer as a whole shows some of each and grows no longer.
            "stock": (dovie, f"{reverse('stock')}?q=a"),
            "labels": (dovie, reverse("labels", args=[serial])),
            "holds": (dovie, reverse("holds")),
            "red tags": (dovie, reverse("red_tags")),
            "closing": (dovie, reverse("closing", args=[self.tagged.serial])),
            "customer page": (self.customer, reverse("customer_order")),
        }


def taken(growing: Growing) -> dict[str, tuple[int, int]]:
    """Of every page how many statements, and how long it is."""
    found = {}
    for name, (client, path) in growing.pages().items():
        client.get(path)  # the card is parsed once in a process, a statement is compiled once on a connection
        with CaptureQueriesContext(connection) as caught:
            answer = client.get(path)
        assert answer.status_code == 200, name
        count = sum(1 for query in caught.captured_queries if not query["sql"].startswith(FRAME))
        found[name] = (count, len(answer.content))
    return found


@pytest.fixture(scope="module")
def growing(once_per_module: None) -> Growing:
    floor = open_shop()
    office, day = floor.who("mirelle"), shop_day(floor.now)
    new = NewOrder("O-7000", Customer.objects.get(code="LRRC"), date(2025, 1, 2))
    order = place_order(order=new, by=office, now=floor.now)
    promised = NewLine(floor.revision, 9, day, day + timedelta(days=30), {})
    line = add_line(order=order, line=promised, by=office, now=floor.now)
    _, token = make_link(order=order, days=90, by=office, now=floor.now)
    customer = Client()
    customer.post(reverse("customer_enter"), {"token": token})
    return Growing(floor, line, customer)


@pytest.fixture(scope="module")
def grown(growing: Growing) -> list[dict[str, tuple[int, int]]]:
    found = []
    for _ in range(2):
        growing.more()
        found.append(taken(growing))
    return found


@pytest.mark.parametrize("name", STATEMENTS)
def test_twice_as_much_takes_no_statement_more(grown: list[dict[str, tuple[int, int]]], name: str) -> None:
    (once, short), (twice, long) = (found[name] for found in grown)
    assert long > short or name in AS_LONG, "the page shows no more than before, so its count says nothing"
    assert once == twice == STATEMENTS[name]


@pytest.mark.parametrize("name", ALL_DAY)
def test_what_is_looked_at_all_day_takes_ten_at_most(name: str) -> None:
    assert STATEMENTS[name] <= 10
