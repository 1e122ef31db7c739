"""What many axles share: heats, bars and what was cut of them, lots and drums, orders, the causes that are planted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from tests.benchmarks.scale.planted import AXLES_A_DAY, Planted
from tests.benchmarks.scale.shape import Fit, Shape
from tests.benchmarks.scale.tables import NONE, Tables

#: Where the keys of each sort begin. They never meet, however many axles.
AXLES, LOTS, DRUMS, HEATS, BARS, DELIVERIES, PLANTS, MORE = (
    10**7, 10**8, 2 * 10**8, 3 * 10**8, 31 * 10**7, 32 * 10**7, 33 * 10**7, 4 * 10**8,
)  # fmt: skip
SPAN = 10**6
AXLES_A_HEAT, AXLES_A_BAR = 50, 10
#: The planted things by key.
HEAT_FEW, HEAT_MANY, LOT_FEW, LOT_MANY = PLANTS, PLANTS + 1, PLANTS + 2, PLANTS + 3
PLANTED_BARS = PLANTS + 1000
#: So many axles get their piece from one planted bar.
AXLES_A_PLANTED_BAR = 20
MARKS = {HEAT_FEW: "PLANT40", HEAT_MANY: "PLANT4000", LOT_FEW: "PLANT-L40", LOT_MANY: "PLANT-L4000"}
PLANTED_LOTS = {"head_bearing": LOT_FEW, "tail_bearing": LOT_MANY}


@dataclass
class House:
    """Who and what stands there already, by key."""

    people: list[int]
    suppliers: list[int]
    customers: list[int]
    procedures: list[int]
    revision: int
    options: str
    newest: datetime


def stamp(at: datetime) -> str:
    return at.isoformat(" ")[:19]


class Goods:
    """Writes what a range of axles needs. Ranges are asked for one after another, each whole periods long."""

    def __init__(self, tables: Tables, shape: Shape, house: House, planted: Planted) -> None:
        self.tables, self.shape, self.house, self.planted = tables, shape, house, planted

    def add(self, first: int, after: int) -> None:
        if first == 0:
            self._planted()
        self._orders(first, after)
        self._steel(first, after)
        for one in self.shape.passes:
            for fit in one.fits:
                if fit.shared >= 0:
                    self._shared(fit, first, after)

    def item(self, key: int, kind: str, sort: str, mark: str, where: str, at: str) -> None:
        self.tables.lines("shop.Item").append(f"{key}\t{kind}\t{sort}\t\t{mark}")
        if where:
            self.tables.lines("shop.Place").append(f"{key}\t{where}\t{NONE}\t\t{at}")

    def day(self, axle: int) -> datetime:
        return self.house.newest - timedelta(days=axle // AXLES_A_DAY)

    def _orders(self, first: int, after: int) -> None:
        for number in range(first // AXLES_A_DAY, (after - 1) // AXLES_A_DAY + 1):
            if number and number * AXLES_A_DAY < first:
                continue  # begun by the range before
            day, key = f"{self.day(number * AXLES_A_DAY):%Y-%m-%d}", MORE + number
            customer = self.house.customers[number % len(self.house.customers)]
            self.tables.lines("builds.Order").append(f"{key}\tS-{number:06}\t{customer}\t\t{day}\tA4")
            self.tables.lines("builds.Line").append(
                f"{key}\t{key}\t1\t{self.house.revision}\t{self.house.options}\t{AXLES_A_DAY}\t{day}\t{day}\t0"
            )

    def _steel(self, first: int, after: int) -> None:
        """Delivery, heat, bars; of five bars one is cut of the first, and one of that: a remnant of a remnant."""
        for number in range(first // AXLES_A_HEAT, (after - 1) // AXLES_A_HEAT + 1):
            heat, at = HEATS + number, stamp(self.day(number * AXLES_A_HEAT) - timedelta(days=20))
            self._delivered(DELIVERIES + number, heat, at)
            self._heat(heat, f"H{number:07}", at)
        for number in range(first // AXLES_A_BAR, (after - 1) // AXLES_A_BAR + 1):
            at = stamp(self.day(number * AXLES_A_BAR) - timedelta(days=10))
            of = BARS + number - 1 if number % 5 in (1, 2) else None
            self._bar(BARS + number, HEATS + number * AXLES_A_BAR // AXLES_A_HEAT, of, f"B{number:07}", at)

    def _delivered(self, key: int, heat: int, at: str) -> None:
        supplier, person = self.house.suppliers[heat % len(self.house.suppliers)], self.house.people[0]
        self.item(key, "delivery", "", f"SLIP-{key}", "", at)
        self.tables.lines("builds.Delivery").append(f"{key}\t{supplier}\t{at[:10]}\t\t{person}\t{at}")
        self.tables.lines("builds.Delivered").append(f"{MORE + heat}\t{key}\t{heat}")

    def _heat(self, key: int, mark: str, at: str) -> None:
        supplier = self.house.suppliers[key % len(self.house.suppliers)]
        self.item(key, "heat", "tube_stock", mark, "stock", at)
        self.tables.lines("shop.Heat").append(
            f"{key}\t{supplier}\tA519 4130\tC-{mark}\t3.1\tfree\t{self.house.people[0]}\t{at}"
        )

    def _bar(self, key: int, heat: int, of: int | None, mark: str, at: str) -> None:
        kind = self.shape.kinds["tube_piece"]
        self.item(key, "piece", "tube_piece", mark, "stock", at)
        self.tables.lines("shop.Piece").append(
            f"{key}\t{kind}\t{heat}\t{NONE if of is None else of}\t240000000000\tin\t1"
        )

    def _shared(self, fit: Fit, first: int, after: int) -> None:
        for number in range(first // fit.lasts, (after - 1) // fit.lasts + 1):
            at = stamp(self.day((number + 1) * fit.lasts) - timedelta(days=5))
            lot = LOTS + fit.shared * SPAN + number
            self._lot(lot, fit.kind, f"{fit.shared}-{number:06}", at)
            if fit.tracking == "bulk":
                until = stamp(self.day(number * fit.lasts))
                self.item(lot - LOTS + DRUMS, "drum", fit.kind, f"D{fit.shared}-{number:06}", "scrap", at)
                self.tables.lines("shop.Drum").append(f"{lot - LOTS + DRUMS}\t{lot}\t{at}\t{until}")

    def _lot(self, key: int, kind: str, mark: str, at: str) -> None:
        supplier = self.house.suppliers[key % len(self.house.suppliers)]
        self.item(key, "lot", kind, mark, "stock", at)
        self.tables.lines("shop.Lot").append(f"{key}\t{self.shape.kinds[kind]}\t{supplier}\t{at[:10]}\t500\t{NONE}")

    def _planted(self) -> None:
        at = stamp(self.house.newest - timedelta(days=400))
        for key, bars, those in self.planted_bars():
            self._delivered(DELIVERIES + SPAN + key - PLANTS, key, at)
            self._heat(key, MARKS[key], at)
            for number in range(len(those) // AXLES_A_PLANTED_BAR + 1):
                of = bars + number - 1 if number % 3 else None  # a remnant, and a remnant of a remnant
                self._bar(bars + number, key, of, f"{MARKS[key]}-B{number}", at)
        for kind, key in PLANTED_LOTS.items():
            self._lot(key, kind, MARKS[key], at)

    def planted_bars(self) -> list[tuple[int, int, frozenset[int]]]:
        """Each planted heat, the key of its first bar, and whose pieces are cut of it."""
        return [
            (HEAT_FEW, PLANTED_BARS, self.planted.heat_few),
            (HEAT_MANY, PLANTED_BARS + 1000, self.planted.heat_many | self.planted.formerly),
        ]
