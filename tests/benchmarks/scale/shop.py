"""Fill the tables: `Scale(floor).grow_to(10_000)`, then further; `cleared` takes everything out again.

What the ledger holds: the acts that opened the house, and one event for each axle. The rows of axles, parts and
goods stand in no write-set, no frozen record and no certificate was made: `replay --check` would name every row.
"""

from __future__ import annotations

import time
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from builds.models import WeldProcedure
from builds.reports.reach.cause import Question
from builds.reports.reach.question import Typed, question_of
from measurements.models import Gauge
from shop.clock import shop_day
from shop.models import Customer, Item, Person, Supplier
from tests.benchmarks.scale.axles import Axles, Hands
from tests.benchmarks.scale.goods import AXLES, MARKS, Goods, House
from tests.benchmarks.scale.planted import FEW_DAYS, MANY_DAYS, planted
from tests.benchmarks.scale.shape import Shape, shape_of
from tests.benchmarks.scale.tables import AT_ONCE, Tables, bare, counted_on
from tests.shopfloor import Floor

COLUMNS = {
    "shop.Item": "id kind sort maker mark",
    "shop.Place": "item_id where host_id note since",
    "shop.Heat": "item_id supplier_id material certificate certificate_type status freed_by_id freed_at",
    "shop.Piece": "item_id kind_id heat_id parent_id length length_unit mark_readable",
    "shop.Part": "item_id kind_id supplier_id heat_id set_mark facts",
    "shop.Lot": "item_id kind_id supplier_id received_on received expires_on",
    "shop.Drum": "item_id lot_id opened_at shut_at",
    "builds.Delivery": "item_id supplier_id came_on note person_id at",
    "builds.Delivered": "id delivery_id item_id",
    "builds.Order": "id number customer_id customer_reference placed_on paper",
    "builds.Line": "id order_id number revision_id options quantity promised_from promised_to rush",
    "builds.Axle": "item_id line_id revision_id options phase booked_at closed_at scrapped_at takes_place_of_id",
    "builds.Unit": "item_id role side axle_id joined_at",
    "builds.Visit": "id item_id axle_id operation_id number state claimed_by_id terminal_id claimed_at done_at"
    " set_down_note set_down_position piece only late worked_by_id worked_at",
    "builds.Span": "id visit_id person_id begun_at ended_at",
    "record.Signature": "id person_id terminal_id meaning at",
    "builds.Done": "id visit_id signature_id part",
    "measurements.Sheet": "id item_id opened_at",
    "builds.VisitSheet": "id visit_id sheet_id",
    "measurements.Reading": "id sheet_id item_id characteristic_id position attempt typed unit_typed value photo low"
    " high never_above verdict gauge_id ring_id calibration_id person_id terminal_id entered_at happened_at late"
    " replaces_id reason questioned",
    "builds.Fitted": "id host_id part_id axle_id role quantity visit_id person_id at after_closing",
    "builds.Removal": "id fitted_id reason to note person_id at after_closing",
    "builds.Weld": "id visit_id item_id joint procedure_id welder_id wire_id ended_at entered_at late repairs_id",
    "builds.Shipment": "id axle_id consignee address carrier control_numbers signature_id shipped_at",
    "record.Event": "id subject sequence act kind at person_id terminal_id content previous hash",
    "record.Head": "subject sequence hash at",
}
#: So many hands at benches, beside the people of the house.
BUILDERS = 40
GAUGES = ("SCALE-G40", "SCALE-G4000")
PEOPLE = ("scale40", "scale4000")


class Scale:
    """A house that is open already, with as many axles as were asked for."""

    def __init__(self, floor: Floor) -> None:
        like = floor.axle()
        self.shape: Shape = shape_of(floor.revision, like.plan)
        self.tables = Tables(COLUMNS)
        self.count = 0
        #: Well before the house was opened by its acts; the day of the newest axle.
        self.newest = datetime.now(UTC).replace(hour=12, minute=0, second=0, microsecond=0) - timedelta(days=40)
        self.house = House(
            [self._person(f"hand{number:02}").pk for number in range(BUILDERS)],
            list(Supplier.objects.order_by("pk").values_list("pk", flat=True)),
            list(Customer.objects.order_by("pk").values_list("pk", flat=True)),
            list(WeldProcedure.objects.order_by("pk").values_list("pk", flat=True)),
            floor.revision.pk,
            "{}",
            self.newest,
        )
        gauges = tuple(self._gauge(mark) for mark in GAUGES)
        people = tuple(self._person(code).pk for code in PEOPLE)
        self.hands = Hands((gauges[0], gauges[1]), (people[0], people[1]))

    def _person(self, code: str) -> Person:
        return Person.objects.create(code=code, name=f"Hand {code}")

    def _gauge(self, mark: str) -> int:
        item = Item.objects.create(kind="gauge", mark=mark)
        Gauge.objects.create(item=item, kind="outside_micrometer", name=mark, unit="in", step=Decimal("0.0001"))
        return int(item.pk)

    def grow_to(self, count: int) -> float:
        """Add older axles until there are so many. How many seconds that took, indexes and looking through included."""
        began = time.monotonic()
        if not self.count:
            self.planted = planted(count)
        goods = Goods(self.tables, self.shape, self.house, self.planted)
        axles = Axles(goods, self.hands)
        with bare(self.tables.names):
            goods.add(self.count, count)
            for axle in range(self.count, count):
                axles.add(axle)
                if len(self.tables.lines("measurements.Reading")) > AT_ONCE:
                    self.tables.send(least=AT_ONCE // 20)
            self.tables.send()
        counted_on(self.tables.names)
        self.count = count
        return time.monotonic() - began

    def axle(self, number: int) -> int:
        """The key of an axle by its number, the newest first."""
        return AXLES + number * self.shape.things

    def mark(self, number: int) -> str:
        return f"SC-{number:07}"

    def day(self, number: int) -> date:
        return shop_day(self.newest) - timedelta(days=number)

    def questions(self) -> dict[str, Question]:
        """What is asked, by the names of the answers."""
        now, few, many = datetime.now(UTC), self._days(FEW_DAYS), self._days(MANY_DAYS)
        heats_and_lots = list(MARKS.values())
        both = {"other_kind": "person", "other": PEOPLE[1], **many}
        typed = {
            "heat of 40": Typed(heats_and_lots[0]),
            "heat of 4,000": Typed(heats_and_lots[1]),
            "lot of 40": Typed(heats_and_lots[2]),
            "lot of 4,000": Typed(heats_and_lots[3]),
            "gauge of 40 in a range": Typed(GAUGES[0], **few),
            "gauge of 4,000 in a range": Typed(GAUGES[1], **many),
            "person of 40 in a range": Typed(PEOPLE[0], "person", **few),
            "person of 4,000 in a range": Typed(PEOPLE[1], "person", **many),
            "lot and person at the same work": Typed(heats_and_lots[3], together="same", **both),
            "lot and gauge, both": Typed(heats_and_lots[3], other=GAUGES[1], together="both", **many),
        }
        return {name: question_of(one, now) for name, one in typed.items()}

    def _days(self, days: tuple[int, int]) -> dict[str, date]:
        return {"day_from": self.day(days[1]), "day_to": self.day(days[0])}
