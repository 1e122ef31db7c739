"""A whole shop for tests: people, gauges, material and an axle at any point of its life, all through actions."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path

from builds.actions.booking import NewLine, NewOrder, add_line, book_axles, place_order
from builds.actions.procedures import NewProcedure, add_procedure
from builds.actions.releasing import load_definition, release
from builds.definitions.words import Tracking
from builds.models import Axle, Order, Revision
from builds.scenario import gauges, people
from builds.scenario.crew import Shop
from builds.scenario.driver import Builder
from builds.scenario.stock import Stock
from builds.scenario.values import VALUES, by_code
from measurements.actions.gauges import Calibrated, NewGauge, calibrate, take_in_gauge
from measurements.models import Gauge
from shop.actions.skills import Qualification, give_skill
from shop.clock import shop_day, shop_zone
from shop.models import Customer, Person, Terminal
from shop.record.models import Blob
from shop.record.who import SYSTEM, Who

SHIPPED = Path(__file__).resolve().parent.parent / "builds" / "definitions" / "shipped"
SORREL, TEASEL = SHIPPED / "sorrel_960.toml", SHIPPED / "teasel_680.toml"
THIRD = Path(__file__).resolve().parent / "builds" / "definitions" / "third_model.toml"
DAYS_AGO = 30


@dataclass
class Floor:
    """The shop with one released card. `now` is when the next thing happens."""

    revision: Revision
    people: dict[str, Person]
    gauges: dict[str, list[Gauge]]
    terminals: dict[str, Terminal]
    stock: Stock
    now: datetime
    shop: Shop
    orders: list[Order] = field(default_factory=list)

    def who(self, code: str, station: str = "") -> Who:
        return Who(self.people[code], self.terminals.get(station))

    def axle(self, **options: str) -> Axle:
        """An axle of its own order, booked."""
        return self.axles(1, **options)[0]

    def axles(self, count: int, **options: str) -> list[Axle]:
        office = self.who("mirelle")
        number = f"O-{9000 + len(self.orders)}"
        new = NewOrder(number, Customer.objects.get(code="LRRC"), date(2025, 1, 2))
        order = place_order(order=new, by=office, now=self.now)
        self.orders.append(order)
        first = shop_day(self.now)
        line = add_line(
            order=order,
            line=NewLine(self.revision, count, first, first + timedelta(days=30), options),
            by=office,
            now=self.now,
        )
        return book_axles(line=line, count=count, by=office, now=self.now)

    def builder(self, axle: Axle, **values: str) -> Builder:
        """A driver for this axle; `values` like c50_3="3.0643" fill codes otherwise than by the middle."""
        return Builder(self.shop, axle, self.now + timedelta(minutes=5), VALUES | by_code(values))

    def built(self, *keys: str) -> Builder:
        """An axle of its own with its kit, on which these operations are done."""
        builder = self.builder(self.axle())
        builder.kit()
        for key in keys:
            builder.do(key)
        return builder

    def built_until(self, number: int) -> Builder:
        """An axle of its own with its kit, done up to this operation, which is not."""
        builder = self.built()
        builder.run(until=number)
        return builder


def opening_day() -> datetime:
    """Eight in the shop, thirty days ago: well inside the early shift on both sides of a change of the clocks."""
    day = shop_day(datetime.now(UTC)) - timedelta(days=DAYS_AGO)
    return datetime.combine(day, time(8), shop_zone()).astimezone(UTC)


def open_shop(card: Path = SORREL, *, begin: datetime | None = None) -> Floor:
    """People, one released card, terminals at its stations, gauges, procedures and tube steel.

    The work begins in the early shift of a day a month ago, whatever the hour is at which the tests run.
    """
    now = begin or opening_day()
    crew = people.engage_all(now, date(2020, 1, 1), secrets=False)
    people.partners(now)
    people.shifts(now)
    people.qualify(crew, now, shop_day(now - timedelta(days=20)), shop_day(now - timedelta(days=20)))
    engineer = Who(crew["wenzel"])
    draft = load_definition(text=card.read_text("utf-8"), name=card.name, by=engineer, now=now)
    revision = release(revision=draft, by=engineer, now=now)
    terminals = people.terminals(now)
    tools = gauges.take_in_all(engineer, now, shop_day(now))
    _gauges_for(revision, tools, engineer, now)
    _skills_for(revision, crew, now)
    list_procedures(revision, engineer, now)
    stock = Stock(Who(crew["jory"]), Who(crew["calla"]))
    if any(kind.tracking in (Tracking.HEAT, Tracking.PIECE) for kind in revision.card.part_kinds):
        for mark in ("Q7714", "R7120"):
            stock.take_in_tube_heat(mark, revision, now)
    by_role: dict[str, list[Person]] = {}
    for code, _, roles in people.PEOPLE:
        for role in roles:
            by_role.setdefault(str(role), []).append(crew[code])
    floor = Shop(by_role, tools, terminals, stock.find, photo)
    return Floor(revision, crew, tools, terminals, stock, now, floor)


def _gauges_for(revision: Revision, tools: dict[str, list[Gauge]], by: Who, now: datetime) -> None:
    """What this card measures in units that the demo shop has no gauge for."""
    for operation in revision.card.operations:
        for asked in operation.characteristics:
            have = tools.setdefault(asked.gauge_kind, []) if asked.gauge_kind else None
            if have is None or any(gauge.unit == asked.unit for gauge in have):
                continue
            step = asked.step or Decimal(1).scaleb(-asked.decimals)
            mark = f"T-{asked.code.replace('.', '-')}"
            gauge = take_in_gauge(
                gauge=NewGauge(mark, asked.gauge_kind, "test gauge", asked.unit, step), by=by, now=now
            )
            done = Calibrated(shop_day(now), shop_day(now) + timedelta(days=365), "LAB-T")
            calibrate(gauge=gauge, calibrated=done, by=by, now=now)
            have.append(gauge)


def _skills_for(revision: Revision, crew: dict[str, Person], now: datetime) -> None:
    """Isolde also holds what this card's welds ask for."""
    asked = {weld.process for operation in revision.card.operations for weld in operation.welds}
    asked |= {operation.skill for operation in revision.card.operations if operation.skill}
    for process in sorted(asked - {"gas_metal_arc", "visual_weld_look"}):
        skill = Qualification(process, shop_day(now - timedelta(days=20)), None, 6, "test paper")
        give_skill(person=crew["isolde"], skill=skill, by=SYSTEM, now=now)


def list_procedures(revision: Revision, engineer: Who, now: datetime) -> None:
    named = {
        (weld.procedure, weld.procedure_revision, weld.process)
        for operation in revision.card.operations
        for weld in operation.welds
    }
    for code, letter, process in sorted(named):
        new = NewProcedure(code, letter, process, f"Weld procedure {code}", date(2024, 1, 1))
        add_procedure(procedure=new, by=engineer, now=now)


def photo(name: str) -> str:
    """A picture stored once; the tests of certificates read it back."""
    facts = {"content": SMALLEST_PNG, "content_type": "image/png", "size": len(SMALLEST_PNG)}
    Blob.objects.get_or_create(sha256=SMALLEST_SHA, defaults=facts)
    return SMALLEST_SHA


# A grey pixel, one by one, put together by hand after the PNG specification.
SMALLEST_PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108000000003a7e9b550000000a49444154789c6368"
    "00000082008177cd72b60000000049454e44ae426082"
)
SMALLEST_SHA = hashlib.sha256(SMALLEST_PNG).hexdigest()
