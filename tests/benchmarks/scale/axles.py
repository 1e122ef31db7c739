"""The rows of one axle: itself, its units and parts, its passes with touch time, signatures and sheets of readings,
what was fitted, welded, taken out and shipped, and one event of its chain.

Keys follow from the axle's number, so that no row has to be asked for.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import connection

from shop.clock import shop_zone
from shop.record.chain import GENESIS, canonical, link
from shop.record.values import instant
from tests.benchmarks.scale.goods import (
    AXLES,
    AXLES_A_BAR,
    AXLES_A_HEAT,
    AXLES_A_PLANTED_BAR,
    BARS,
    DRUMS,
    HEATS,
    LOTS,
    MORE,
    PLANTED_LOTS,
    SPAN,
    Goods,
    stamp,
)
from tests.benchmarks.scale.planted import AXLES_A_DAY, IN_THE_HOUSE, ON_THE_FLOOR, passes_done
from tests.benchmarks.scale.shape import BEARINGS, MEASURED, Fit, Pass
from tests.benchmarks.scale.tables import NONE, as_bytes

#: A pass begins so many minutes after the one before; the axles of a day begin a little after one another.
STEP, EACH, LASTS = 34, 1, 25
#: Of so many axles one: a first gear set went out again; a differential had been in the axle before; entered late.
SET_OUT, MOVED, LATE = 97, 101, 40
WORDS_OUT = "chipped tooth found at the contact pattern"


@dataclass(frozen=True)
class Hands:
    """Of the planted gauges and persons, by key: of 40 and of 4,000."""

    gauges: tuple[int, int]
    people: tuple[int, int]


class Axles:
    """Writes axles one after another."""

    def __init__(self, goods: Goods, hands: Hands) -> None:
        self.goods, self.hands, self.shape, self.house = goods, hands, goods.shape, goods.house
        self.planted, self.people = goods.planted, goods.house.people
        self.lines = goods.tables.lines
        self.bars = {
            axle: (heat, bars + rank // AXLES_A_PLANTED_BAR)
            for heat, bars, those in goods.planted_bars()
            for rank, axle in enumerate(sorted(those))
        }
        self.planted_lots = {"head_bearing": goods.planted.lot_few, "tail_bearing": goods.planted.lot_many}
        self.days: dict[int, datetime] = {}
        self.hex = connection.vendor == "postgresql"

    def add(self, axle: int) -> None:
        done, at = passes_done(axle), self._begins(axle)
        self.item = AXLES + axle * self.shape.things
        self.mark, shipped = f"SC-{axle:07}", axle >= IN_THE_HOUSE
        self._itself(axle, at, shipped)
        for number, one in enumerate(self.shape.passes[:done]):
            begun = at + timedelta(minutes=STEP * number)
            self._pass(axle, one, number, stamp(begun), stamp(begun + timedelta(minutes=LASTS)))
        if axle < ON_THE_FLOOR and done < len(self.shape.passes) and axle % 3 == 0:
            self._in_hand(axle, done, stamp(at + timedelta(minutes=STEP * done)))
        if shipped:
            self._shipped(axle, at)
        self._event(axle, at)

    def _begins(self, axle: int) -> datetime:
        """Six in the shop, in UTC, and a little later for each axle of the day."""
        number = axle // AXLES_A_DAY
        if number not in self.days:
            here = self.goods.day(axle).date()
            six = datetime(here.year, here.month, here.day, 6, tzinfo=shop_zone())
            self.days = {number: datetime.fromtimestamp(six.timestamp(), tz=self.house.newest.tzinfo)}
        return self.days[number] + timedelta(minutes=EACH * (axle % AXLES_A_DAY))

    def _itself(self, axle: int, at: datetime, shipped: bool) -> None:
        item, begun, closed = self.item, stamp(at), stamp(at + timedelta(days=1))
        phase = "gone" if shipped else "floor" if axle < ON_THE_FLOOR else "certified" if axle % 2 else "bought_off"
        self.goods.item(item, "axle", "", self.mark, "shipped" if shipped else "floor", begun)
        self.lines("builds.Axle").append(
            f"{item}\t{MORE + axle // AXLES_A_DAY}\t{self.house.revision}\t{self.house.options}\t{phase}\t{begun}"
            f"\t{closed if phase in ('gone', 'certified') else NONE}\t{NONE}\t{NONE}"
        )
        for unit in self.shape.units:
            self.goods.item(item + unit.place, "unit", "", f"{self.mark}-{unit.place}", "floor", begun)
            self.lines("builds.Unit").append(f"{item + unit.place}\t{unit.role}\t{unit.side}\t{item}\t{begun}")

    def _pass(self, axle: int, one: Pass, number: int, begun: str, ended: str) -> None:
        visit, host = self._visit(axle, one, number, begun, ended)
        person = self._person(axle, one, number)
        signature = visit
        self.lines("builds.Span").append(f"{visit}\t{visit}\t{person}\t{begun}\t{ended}")
        self.lines("record.Signature").append(f"{signature}\t{person}\t{one.terminal}\tdid\t{ended}")
        self.lines("builds.Done").append(f"{visit}\t{visit}\t{signature}\tdoer")
        if one.reads:
            self._sheet(axle, one, visit, host, (person, begun, ended))
        for place, fit in enumerate(one.fits):
            self._fit(axle, fit, AXLES + axle * self.shape.fits + one.first_fit + place, visit, (person, ended))
        for place, joint in enumerate(one.joints):
            wire = next((self._shared(axle, fit) for fit in one.fits if fit.kind == "weld_wire"), NONE)
            key = AXLES + axle * self.shape.joints + one.first_joint + place
            procedure = self.house.procedures[(axle // 7000 + place) % len(self.house.procedures)]
            self.lines("builds.Weld").append(
                f"{key}\t{visit}\t{host}\t{joint}\t{procedure}\t{person}\t{wire}\t{ended}\t{ended}\t0\t{NONE}"
            )

    def _visit(self, axle: int, one: Pass, number: int, begun: str, ended: str) -> tuple[int, int]:
        visit, host = AXLES + axle * len(self.shape.passes) + number, self.item + one.host
        state, person = ("done" if ended != NONE else "in_hand"), self._person(axle, one, number)
        self.lines("builds.Visit").append(
            f"{visit}\t{host}\t{self.item}\t{one.operation}\t1\t{state}\t{person}\t{one.terminal}\t{begun}\t{ended}"
            f"\t\t\t{axle % AXLES_A_DAY + 1}\t[]\t0\t{NONE}\t{NONE}"
        )
        return visit, host

    def _in_hand(self, axle: int, number: int, begun: str) -> None:
        one = self.shape.passes[number]
        visit, _ = self._visit(axle, one, number, begun, NONE)
        self.lines("builds.Span").append(f"{visit}\t{visit}\t{self._person(axle, one, number)}\t{begun}\t{NONE}")

    def _person(self, axle: int, one: Pass, number: int) -> int:
        if one.key == BEARINGS:
            if self.planted.person_few(axle):
                return self.hands.people[0]
            if self.planted.person_many(axle):
                return self.hands.people[1]
        return self.people[(axle // AXLES_A_DAY + 3 * number + axle) % len(self.people)]

    def _sheet(self, axle: int, one: Pass, visit: int, host: int, by: tuple[int, str, str]) -> None:
        """One of the last measurements in so many is entered two days late."""
        person, begun, ended = by
        late, entered, planted = "0", ended, one.key == MEASURED
        if planted and axle % LATE == 3:
            late, entered = "1", stamp(datetime.fromisoformat(ended) + timedelta(days=2))
        self.lines("measurements.Sheet").append(f"{visit}\t{host}\t{begun}")
        self.lines("builds.VisitSheet").append(f"{visit}\t{visit}\t{visit}")
        turn, key = axle // AXLES_A_DAY, AXLES + axle * self.shape.reads + one.first
        end = f"{NONE}\t{person}\t{one.terminal}\t{entered}\t{begun}\t{late}\t{NONE}\t\t0"
        lines = self.lines("measurements.Reading")
        for place, read in enumerate(one.reads):
            gauge: object = read.gauges[(turn + place) % len(read.gauges)] if read.gauges else NONE
            if planted and place == 0 and self.planted.gauge_few(axle):
                gauge = self.hands.gauges[0]
            if planted and place == 1 and self.planted.gauge_many(axle):
                gauge = self.hands.gauges[1]
            lines.append(
                f"{key + place}\t{visit}\t{host}\t{read.characteristic}\t{read.position}\t{read.words}"
                f"\t{gauge}\t{NONE}\t{end}"
            )

    def _shared(self, axle: int, fit: Fit) -> int:
        if fit.kind in PLANTED_LOTS and axle in self.planted_lots[fit.kind]:
            return PLANTED_LOTS[fit.kind]
        return (DRUMS if fit.tracking == "bulk" else LOTS) + fit.shared * SPAN + axle // fit.lasts

    def _fit(self, axle: int, fit: Fit, key: int, visit: int, by: tuple[int, str]) -> None:
        person, at = by
        host = self.item + fit.host
        if fit.own < 0:
            part = self._shared(axle, fit)
        else:
            part = self.item + fit.own
            self._own(axle, fit, part, host, at)
        self._fitted(key, part, host, (fit.role, visit, person, at))
        if fit.kind in ("ring_gear", "pinion") and axle % SET_OUT == 5:
            self._set_out(fit, key, host, (visit, person, at))
        if fit.kind == "differential" and axle % MOVED == 6:  # what is now in the next newer axle was here before
            self._was_here(key, part - self.shape.things, host, (fit.role, visit, person, at))

    def _fitted(self, key: int, part: int, host: int, by: tuple[str, int, int, str]) -> None:
        role, visit, person, at = by
        self.lines("builds.Fitted").append(
            f"{key}\t{host}\t{part}\t{self.item}\t{role}\t1000000000\t{visit}\t{person}\t{at}\t0"
        )

    def _own(self, axle: int, fit: Fit, part: int, host: int, at: str) -> None:
        kind, mark = self.shape.kinds[fit.kind], f"{fit.role[:1]}{fit.own}-{axle:07}"
        what = "piece" if fit.kind == "tube_piece" else "part"
        self.lines("shop.Item").append(f"{part}\t{what}\t{fit.kind}\t\t{mark}")
        self.lines("shop.Place").append(f"{part}\tfitted\t{host}\t\t{at}")
        if fit.kind == "tube_piece":
            self._piece(axle, fit, part, host, at)
            return
        supplier = self.house.suppliers[(axle // 1000 + fit.own) % len(self.house.suppliers)]
        mark = f"SET-{axle:07}" if fit.kind in ("ring_gear", "pinion") else ""
        self.lines("shop.Part").append(f"{part}\t{kind}\t{supplier}\t{NONE}\t{mark}\t{{}}")

    def _piece(self, axle: int, fit: Fit, part: int, host: int, at: str) -> None:
        kind, left = self.shape.kinds["tube_piece"], fit.host == self.shape.passes[0].host
        heat, bar = HEATS + axle // AXLES_A_HEAT, BARS + axle // AXLES_A_BAR
        words, readable = f"{heat}\t{bar}", 1
        if left and axle in self.planted.unknown:
            words, readable = f"{NONE}\t{NONE}", 0
        elif left and axle in self.planted.formerly:
            heat, bar = self.bars[axle]
            extra = MORE + SPAN + axle
            self.lines("shop.Item").append(f"{extra}\tpiece\ttube_piece\t\tOUT-{axle:07}")
            self.lines("shop.Place").append(f"{extra}\tscrap\t{NONE}\t\t{at}")
            self.lines("shop.Piece").append(f"{extra}\t{kind}\t{heat}\t{bar}\t{NONE}\tin\t1")
            visit = AXLES + axle * len(self.shape.passes)
            self._was_here(MORE + SPAN + axle, extra, host, (fit.role, visit, self.people[0], at))
        elif left and axle in self.bars:
            heat, bar = self.bars[axle]
            words = f"{heat}\t{bar}"
        self.lines("shop.Piece").append(f"{part}\t{kind}\t{words}\t24860000000\tin\t{readable}")

    def _set_out(self, fit: Fit, key: int, host: int, by: tuple[int, int, str]) -> None:
        """A first part of this kind was in, and lies on the red-tag shelf now."""
        visit, person, at = by
        part = MORE + 10 * SPAN + key
        self.lines("shop.Item").append(f"{part}\tpart\t{fit.kind}\t\tOUT-{key}")
        self.lines("shop.Place").append(f"{part}\tred_tag\t{NONE}\t\t{at}")
        self.lines("shop.Part").append(
            f"{part}\t{self.shape.kinds[fit.kind]}\t{self.house.suppliers[0]}\t{NONE}\t\t{{}}"
        )
        self._was_here(key, part, host, (fit.role, visit, person, at))

    def _was_here(self, key: int, part: int, host: int, by: tuple[str, int, int, str]) -> None:
        """In at that pass and out again in the same minute."""
        _, _, person, at = by
        self._fitted(MORE * 10 + key, part, host, by)
        self.lines("builds.Removal").append(f"{key}\t{MORE * 10 + key}\t{WORDS_OUT}\tred_tag\t\t{person}\t{at}\t0")

    def _shipped(self, axle: int, at: datetime) -> None:
        left, person, key = stamp(at + timedelta(days=2)), self.people[0], MORE * 10 + axle
        self.lines("record.Signature").append(f"{key}\t{person}\t{NONE}\treleased\t{left}")
        words = f"Consignee {axle // AXLES_A_DAY % 40}\t1 Quarry Lane\tCarrier\t"
        self.lines("builds.Shipment").append(f"{AXLES + axle}\t{self.item}\t{words}\t{key}\t{left}")

    def _event(self, axle: int, at: datetime) -> None:
        """The one event of the axle's chain. It says that the rows were loaded, and holds no write-set."""
        subject, act = f"axle:{self.mark}", uuid.UUID(int=axle + 1)
        content = canonical(
            {
                "act": str(act), "at": instant(at), "kind": "axle.loaded", "notes": {}, "person": "",
                "previous": GENESIS.hex(), "sequence": 1, "subject": subject, "terminal": "",
            }
        )  # fmt: skip
        digest = as_bytes(link(GENESIS, content))
        self.lines("record.Event").append(
            f"{AXLES + axle}\t{subject}\t1\t{act if self.hex else act.hex}\taxle.loaded\t{stamp(at)}\t{NONE}\t{NONE}"
            f"\t{as_bytes(content)}\t{as_bytes(GENESIS)}\t{digest}"
        )
        self.lines("record.Head").append(f"{subject}\t1\t{digest}\t{stamp(at)}")
