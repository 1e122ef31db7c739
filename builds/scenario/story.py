"""What the chapters of the invented autumn share: the orders, a builder for an axle, the hands that close and ship.

Every chapter is its own transaction, so a loading takes one disk flush a chapter and not one an act.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from builds.actions.booking import NewLine, NewOrder, add_line, book_axles, place_order
from builds.actions.claiming import set_down
from builds.actions.closing import certify, close_axle
from builds.actions.deciding import Decided, decide
from builds.actions.links import make_link
from builds.actions.shipping import Going, ship
from builds.models import Axle, Order, RedTag, Visit
from builds.scenario.driver import Builder
from builds.scenario.opening import House
from builds.scenario.values import PATTERNS, by_code
from shop.clock import shop_day, shop_zone
from shop.codes import running_number
from shop.models import Customer, Person

LOCKING = {"differential": "locking_air", "air_port": "yes", "brackets": "RB-2"}
LIMITED = {"differential": "limited_slip"}


@dataclass(frozen=True)
class Sold:
    """One order of the scenario: so many axles of one model, from this number on. Days as (month, day)."""

    number: str
    customer: str
    placed: tuple[int, int]
    promised: tuple[tuple[int, int], tuple[int, int]]
    card: str
    count: int
    first: int
    options: dict[str, str] = field(default_factory=dict)
    rush: bool = False


SOLD = (
    Sold("O-2499", "LRRC", (4, 21), ((5, 12), (10, 31)), "sorrel_960", 6, 131),
    Sold("O-2511", "LRRC", (10, 13), ((11, 18), (12, 5)), "sorrel_960", 4, 137, LOCKING),
    Sold("O-2514", "HPTG", (10, 15), ((11, 14), (12, 12)), "teasel_680", 6, 141),
    Sold("O-2517", "VHEH", (10, 27), ((11, 28), (12, 19)), "sorrel_960", 2, 147, LIMITED),
    Sold("O-2520", "SRA", (11, 14), ((11, 27), (12, 3)), "sorrel_960", 1, 149, LIMITED | {"ratio": "3.70"}, rush=True),
)


@dataclass
class Story:
    """The house, its axles by their four digits, its orders, and the customer's link."""

    house: House
    axles: dict[str, Axle] = field(default_factory=dict)
    orders: dict[str, Order] = field(default_factory=dict)
    builders: dict[str, Builder] = field(default_factory=dict)
    link: str = ""

    def book(self, sold: Sold) -> None:
        """Place the order, add its line, book its axles."""
        office, placed = self.house.who("mirelle"), self.house.at(*sold.placed)
        customer = Customer.objects.get(code=sold.customer)
        new = NewOrder(sold.number, customer, shop_day(placed), paper=customer.paper)
        order = self.orders[sold.number] = place_order(order=new, by=office, now=placed)
        first, last = (self.day(*given) for given in sold.promised)
        new_line = NewLine(self.house.cards[sold.card], sold.count, first, last, sold.options, sold.rush)
        line = add_line(order=order, line=new_line, by=office, now=placed)
        for axle in book_axles(line=line, count=sold.count, first=sold.first, by=office, now=placed):
            self.axles[running_number(axle.serial)] = axle

    def builder(self, number: str, at: datetime, **values: str) -> Builder:
        """Begin to build an axle; `values` like c50_6="3.0650" are told instead of the middle of the limits."""
        named = by_code(values)
        axle = self.axles[number]
        cut = dict(axle.plan.card.facts)["gear_cut"]
        brackets = {"150.a": f"{axle.options['brackets']} rev {axle.revision.letter}"}
        told = self.house.values | PATTERNS[cut] | brackets | self.house.stock.etched(number) | named
        made = self.builders[number] = Builder(self.house.shop, axle, at, told)
        return made

    def person(self, code: str) -> Person:
        return self.house.people[code]

    def day(self, month: int, day: int) -> date:
        return shop_day(self.house.at(month, day))

    def next_morning(self, builder: Builder, hour: int = 7) -> None:
        """Let time pass to the next such full hour by the shop's clock."""
        here = builder.now.astimezone(shop_zone())
        then = here.replace(hour=hour, minute=0, second=0, microsecond=0)
        builder.now = then if then > here else then + timedelta(days=1)

    def set_down(self, builder: Builder, visit: Visit, note: str) -> Visit:
        """Lay the work down with a note, five minutes later."""
        assert builder.doer is not None
        builder.now += timedelta(minutes=5)
        by = self.house.shop.who(builder.doer, visit.operation.station.code)
        return set_down(visit=visit, note=note, by=by, now=builder.now)

    def close(self, builder: Builder) -> None:
        """Freeze the record and sign the certificate."""
        axle = Axle.objects.get(pk=builder.axle.pk)
        builder.now += timedelta(hours=1)
        closing = close_axle(axle=axle, by=self.house.who("calla"), now=builder.now)
        quality = self.house.who("ingrith")
        builder.now += timedelta(minutes=20)
        certify(closing=closing, grant=builder.grant(quality, "released"), by=quality, now=builder.now)

    def ship(self, builder: Builder, consignee: str, at: datetime | None = None) -> None:
        builder.now = max(at or builder.now, builder.now + timedelta(hours=3))
        shipper, axle = self.house.who("jory"), builder.axle
        going = Going(consignee, "Greyholt Carriers", control_numbers=f"GC-{running_number(axle.serial)}")
        ship(axle=axle, going=going, grant=builder.grant(shipper, "released"), by=shipper, now=builder.now)

    def decide(self, builder: Builder, tag: RedTag, decided: Decided) -> None:
        """The engineer decides a red tag half an hour later."""
        engineer = self.house.who("wenzel")
        builder.now += timedelta(minutes=30)
        decide(tag=tag, decided=decided, grant=builder.grant(engineer, "released"), by=engineer, now=builder.now)

    def open_tags(self, builder: Builder) -> list[RedTag]:
        return list(RedTag.objects.open().filter(axle=builder.axle).order_by("number"))

    def make_link(self) -> None:
        """The customer's link to the order that is under way."""
        now = max(self.house.at(11, 19), self.house.today - timedelta(hours=1))
        _, self.link = make_link(order=self.orders["O-2511"], days=180, by=self.house.who("mirelle"), now=now)
