"""A bench for the tests of one axle's life: a released card, its people and its gauges, and short words for acts."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from builds.actions.booking import NewLine, NewOrder, add_line, book_axles, place_order
from builds.actions.claiming import take_up
from builds.actions.closing import certify, close_axle
from builds.actions.finishing import finish, sign_second
from builds.actions.fitting import fit_part
from builds.actions.judging import Entered
from builds.actions.measuring import Taken, enter_reading
from builds.actions.receiving import NewPart, take_in_part
from builds.actions.shipping import Going, ship
from builds.models import Axle, Revision, Visit
from builds.reports.work import work_of
from measurements.actions.gauges import Calibrated, NewGauge, calibrate, take_in_gauge
from measurements.models import Gauge
from shop.actions.partners import add_customer, add_supplier
from shop.actions.signing import GRANT_LASTS, Grant
from shop.clock import shop_day
from shop.models import Customer, Part, PartKind, Role, Supplier
from shop.record.who import SYSTEM, Who
from tests import factories
from tests.builds import floor
from tests.builds.bench_cards import BENCH_CARD

#: mark, kind, unit, step, low, high, setting
GAUGES = (
    ("G-1", "bore_gauge", "in", ".0001", "2", "6", ""),
    ("G-2", "setting_ring", "in", "", "", "", "3.0630"),
    ("G-3", "torque_wrench", "ft-lb", "1", "20", "160", ""),
    ("G-4", "dial_indicator", "in", ".0001", "", "", ""),
    ("G-5", "depth_gauge", "in", ".0001", "", "", ""),
    ("G-6", "contact_pyrometer", "F", "1", "0", "1400", ""),
    ("G-7", "dial_indicator", "in", ".001", "", "", ""),
    ("G-8", "setting_ring", "in", "", "", "", "3.5000"),
)
FOR = {"10.1": "G-1", "12.1": "G-4", "12.2": "G-4", "12.3": "G-5", "12.4": "G-3", "12.5": "G-6", "14.1": "G-6",
       "20.1": "G-3"}  # fmt: skip
PEOPLE = {
    "ada": (Role.ASSEMBLER,),
    "ben": (Role.ASSEMBLER, Role.INSPECTOR),
    "cy": (Role.INSPECTOR,),
    "eve": (Role.ENGINEER,),
    "mo": (Role.MANAGER,),
    "ole": (Role.OFFICE, Role.RECEIVER),
    "quinn": (Role.QUALITY,),
    "wim": (Role.WELDER,),
}
DUE = timedelta(days=300)


@dataclass
class Bench:
    """The released card, who works here, and the moment at which the next thing happens."""

    revision: Revision
    now: datetime
    people: dict[str, Who]
    gauges: dict[str, Gauge] = field(default_factory=dict)
    orders: int = 0

    def later(self, **by: float) -> datetime:
        self.now += timedelta(**by)
        return self.now

    def axle(self) -> Axle:
        """An axle of an order of its own, booked."""
        office, day = self.people["ole"], shop_day(self.now)
        self.orders += 1
        new = NewOrder(f"B-{self.orders}", Customer.objects.get(code="CUST"), day)
        order = place_order(order=new, by=office, now=self.now)
        line = add_line(order=order, line=NewLine(self.revision, 1, day, day, {}), by=office, now=self.now)
        return book_axles(line=line, count=1, by=office, now=self.now)[0]

    def shaft(self, mark: str) -> Part:
        new = NewPart(mark, PartKind.objects.get(code="shaft"), Supplier.objects.get(code="SUPP"))
        return take_in_part(part=new, by=self.people["ole"], now=self.now)

    def begin(self, axle: Axle, number: int, who: str = "ada", side: str = "") -> Visit:
        return take_up(bench=axle, key=f"{number}/{side}", by=self.people[who], now=self.later(minutes=1))

    def enter(self, visit: Visit, code: str, text: str, who: str = "ada", **more: Any) -> Taken:
        """One Enter as the station page sends it, with the gauge for this code unless another is named."""
        more.setdefault("gauge", FOR.get(code, ""))
        more.setdefault("ring", "G-2" if code == "10.1" else "")
        at = more.pop("at", None) or self.later(seconds=20)
        return enter_reading(visit=visit, entered=Entered(code, text=text, **more), by=self.people[who], now=at)

    def grant(self, who: str, meaning: str = "did") -> Grant:
        by = self.people[who]
        assert by.person is not None
        return Grant(by.person, by.terminal, meaning, self.now + GRANT_LASTS)

    def sign(self, visit: Visit, who: str = "ada") -> Visit:
        return finish(visit=visit, grant=self.grant(who), by=self.people[who], now=self.later(minutes=1))

    def bored(self, axle: Axle) -> Visit:
        """Operation 10 of the axle, done."""
        visit = self.begin(axle, 10)
        for position in ("A", "B"):
            self.enter(visit, "10.1", "3.0630", position=position)
        return self.sign(visit)

    def tightened(self, axle: Axle) -> Visit:
        """Operation 20 with everything in, not signed."""
        self.bored(axle)
        visit = self.begin(axle, 20)
        for position in ("1", "2", "3"):
            self.enter(visit, "20.1", "105", position=position)
        self.fit(visit)
        return visit

    def fit(self, visit: Visit) -> None:
        """A new shaft, scanned in at operation 20."""
        mark = f"SH-{visit.pk}"
        self.shaft(mark)
        fit_part(visit=visit, scan=mark, by=self.people["ada"], now=self.later(minutes=1))

    def held(self, visit: Visit, who: str = "cy") -> Visit:
        """The hold of operation 20, signed."""
        by, grant = self.people[who], self.grant(who, "checked")
        return sign_second(visit=visit, part="hold", grant=grant, by=by, now=self.later(minutes=1))

    def bought_off(self, axle: Axle) -> Axle:
        """Everything done up to the closing."""
        self.held(self.sign(self.tightened(axle)))
        visit = self.begin(axle, 30, "cy")
        self.enter(visit, "30.1", "yes", "cy")
        self.sign(visit, "cy")
        return Axle.objects.get(pk=axle.pk)

    def sent(self, by: Who) -> Axle:
        """A new axle, built, closed, certified and shipped; closed and sent by somebody with every role."""
        made = self.bought_off(self.axle())
        closing = close_axle(axle=made, by=by, now=self.later(minutes=1))
        certify(closing=closing, grant=self.grant("omni", "released"), by=by, now=self.later(minutes=1))
        going = Going("A Consignee", "A Carrier")
        ship(axle=made, going=going, grant=self.grant("omni", "released"), by=by, now=self.later(minutes=1))
        return Axle.objects.get(pk=made.pk)

    def blanks(self, visit: Visit) -> list[str]:
        """What is still to be entered, as "code position"."""
        places = work_of(Visit.objects.get(pk=visit.pk)).places
        return [f"{place.asked.code} {place.position}".strip() for place in places if place.last is None]


def open_bench(card: str = BENCH_CARD, begin: datetime | None = None) -> Bench:
    """Two assemblers, two inspectors (one of them also an assembler), an engineer; every gauge in calibration."""
    add_customer(code="CUST", name="A customer", by=SYSTEM)
    add_supplier(code="SUPP", name="A supplier", by=SYSTEM)
    people = {code: Who(factories.person(code, *roles, pin="")) for code, roles in PEOPLE.items()}
    revision = floor.released(card, people["eve"])
    now = begin or datetime.now(UTC)
    bench = Bench(revision, now, people)
    for mark, kind, unit, step, low, high, setting in GAUGES:
        new = NewGauge(mark, kind, kind, unit, _figure(step), _figure(low), _figure(high), _figure(setting))
        bench.gauges[mark] = take_in_gauge(gauge=new, by=people["eve"], now=now)
        calibrated(bench, mark, shop_day(now), shop_day(now) + DUE)
    return bench


def calibrated(bench: Bench, mark: str, made_on: date, due_on: date) -> None:
    done = Calibrated(made_on, due_on, f"LAB-{mark}")
    calibrate(gauge=bench.gauges[mark], calibrated=done, by=bench.people["eve"], now=bench.now)


def _figure(text: str) -> Decimal | None:
    return Decimal(text) if text else None
