"""Finished work of years gone by, for plans and benchmarks: rows as the pages would have left them, without a ledger.

Written in bulk and past the actions, because the days of a whole shop would take hours through them. One axle has every
operation of its card done once, with a stretch of touch time and a sheet of readings each.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import count

from builds.definitions.plan import Slot
from builds.models import Axle, Operation, Phase, Span, Unit, Visit, VisitSheet, VisitState
from measurements.models import Characteristic, Reading, Sheet, VerdictWord
from shop.models import Item, ItemKind
from tests.shopfloor import Floor

BATCH = 2000
#: Of a hundred readings so many are out of limit.
OUT_OF_100 = 1


@dataclass
class History:
    """Gone axles of the line of one booked axle. `readings`: on each sheet; none, no sheets."""

    floor: Floor
    like: Axle
    readings: int = 4
    seed: int = 11
    numbers: Iterator[int] = field(default_factory=lambda: count(1))

    def __post_init__(self) -> None:
        self.chance = random.Random(self.seed)
        rows = Operation.objects.filter(revision=self.like.revision)
        self.operations = {row.number: row for row in rows}
        self.asked = list(Characteristic.objects.filter(asked_at__operation__in=rows).order_by("pk")[: self.readings])
        self.slots = [slot for slot in self.like.plan.slots if slot.operation.closing]

    def add(self, axles: int, begun: datetime, ended: datetime) -> int:
        """So many axles, begun evenly between the two moments. How many passes that were."""
        step = (ended - begun) / max(1, axles)
        made = [self._axle(begun + step * number) for number in range(axles)]
        self._passes(made)
        return len(made) * len(self.slots)

    def _axle(self, begun: datetime) -> tuple[Axle, dict[tuple[str, str], Item]]:
        mark = f"OLD-{next(self.numbers):06}"
        item = Item.objects.create(kind=ItemKind.AXLE, sort="", mark=mark)
        axle = Axle.objects.create(
            item=item, line=self.like.line, revision=self.like.revision, options=self.like.options, phase=Phase.GONE,
            booked_at=begun, closed_at=begun + timedelta(days=4),
        )  # fmt: skip
        names = sorted({(slot.unit, slot.side) for slot in self.slots} - {("axle", "")})
        items = Item.objects.bulk_create(
            Item(kind=ItemKind.UNIT, sort="", mark=f"{mark}-{number}") for number in range(len(names))
        )
        Unit.objects.bulk_create(
            Unit(item=own, role=role, side=side, axle=axle, joined_at=begun)
            for own, (role, side) in zip(items, names, strict=True)
        )
        return axle, {("axle", ""): item, **dict(zip(names, items, strict=True))}

    def _passes(self, axles: list[tuple[Axle, dict[tuple[str, str], Item]]]) -> None:
        visits = Visit.objects.bulk_create(
            (
                self._visit(axle, hosts[slot.unit, slot.side], slot, axle.booked_at + timedelta(minutes=90 * place))
                for axle, hosts in axles
                for place, slot in enumerate(self.slots)
            ),
            batch_size=BATCH,
        )
        Span.objects.bulk_create((self._span(visit) for visit in visits), batch_size=BATCH)
        if not self.asked:
            return
        sheets = Sheet.objects.bulk_create(
            (Sheet(item_id=visit.item_id, opened_at=visit.claimed_at) for visit in visits), batch_size=BATCH
        )
        pairs = list(zip(visits, sheets, strict=True))
        VisitSheet.objects.bulk_create((VisitSheet(visit=visit, sheet=sheet) for visit, sheet in pairs), BATCH)
        readings = (self._reading(visit, sheet, asked) for visit, sheet in pairs for asked in self.asked)
        Reading.objects.bulk_create(readings, batch_size=BATCH)

    def _visit(self, axle: Axle, item: Item, slot: Slot, begun: datetime) -> Visit:
        ended = begun + timedelta(minutes=self.chance.randrange(10, 85))
        return Visit(
            item=item, axle=axle, operation=self.operations[slot.operation.number], state=VisitState.DONE,
            claimed_by=self.floor.people["tam"], claimed_at=begun, done_at=ended,
        )  # fmt: skip

    def _span(self, visit: Visit) -> Span:
        touch = timedelta(minutes=self.chance.randrange(5, 60))
        begun = visit.claimed_at
        return Span(visit=visit, person_id=visit.claimed_by_id, begun_at=begun, ended_at=begun + touch)

    def _reading(self, visit: Visit, sheet: Sheet, asked: Characteristic) -> Reading:
        out = self.chance.randrange(100) < OUT_OF_100
        return Reading(
            sheet=sheet, item_id=visit.item_id, characteristic=asked, position="", typed="1.000", value=Decimal(1),
            verdict=VerdictWord.ABOVE if out else VerdictWord.IN, person_id=visit.claimed_by_id,
            entered_at=visit.claimed_at, happened_at=visit.claimed_at,
        )  # fmt: skip
