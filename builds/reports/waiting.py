"""What a station can start now, oldest promise first; and for the rest, why not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from builds.models import Axle, Bench, Unit
from builds.progress import SlotState, SlotView
from builds.reports.facts import AxleStanding, standing_of, standing_of_units
from builds.reports.wording import day
from shop.models.prepared import Prepared

#: In this order on the page: what is under way, what can start, what waits for something, what is stopped.
_ORDER = {
    SlotState.SET_DOWN: 0,
    SlotState.IN_HAND: 0,
    SlotState.REDO: 1,
    SlotState.READY: 1,
    SlotState.WAIT_SIGN: 2,
    SlotState.WAIT_TIME: 3,
    SlotState.STOPPED: 4,
    SlotState.NOT_YET: 5,
}


@dataclass(frozen=True)
class Waiting:
    """One operation of one axle, or of a unit that is built for stock, at a station. The latter has no promise."""

    bench: Bench
    view: SlotView
    promised: date | None
    rush: bool

    @property
    def side(self) -> str:
        return self.view.slot.side or "-"

    @property
    def why(self) -> str:
        if self.view.ready_at is not None and self.view.state is SlotState.WAIT_TIME:
            return f"until {day(self.view.ready_at)}"
        return self.view.why


@dataclass(frozen=True)
class StationList:
    """What a station has before it: `now` can be taken up, `later` cannot, each with its reason."""

    now: tuple[Waiting, ...]
    later: tuple[Waiting, ...]


_BEING_BUILT = Prepared(
    lambda: (
        Axle.objects.being_built()
        .select_related("item", "line__order__customer", "revision__model")
        .defer("revision__text")
        .order_by("line__promised_to", "item__mark")
    )
)


_IN_HAND = Prepared(
    lambda: (
        Unit.objects.in_hand()
        .select_related("item", "revision__model")
        .defer("revision__text")
        .order_by("begun_at", "pk")
    )
)


def house(now: datetime) -> list[AxleStanding]:
    """Every axle being built, with the state of each of its operations."""
    axles = _BEING_BUILT.all()
    stands = standing_of(axles, now)
    return [stands[axle.pk] for axle in axles]


def waiting_at(station: str, now: datetime) -> StationList:
    """A constant number of queries, however many axles are in the house."""
    found = [row for stands in (*house(now), *units_in_hand(now)) for row in _of_bench(stands, station)]
    found.sort(key=lambda row: (_ORDER[row.view.state], not row.rush, row.promised or date.max, row.bench.serial))
    now_rows = tuple(row for row in found if _ORDER[row.view.state] <= 1)
    return StationList(now_rows, tuple(row for row in found if _ORDER[row.view.state] > 1))


def units_in_hand(now: datetime) -> list[AxleStanding]:
    """Every unit that is being built for stock, with the state of each of its operations. One query where there is
    none."""
    units = _IN_HAND.all()
    stands = standing_of_units(units, now) if units else {}
    return [stands[unit.pk] for unit in units]


def _of_bench(stands: AxleStanding, station: str) -> Iterator[Waiting]:
    """What is left for this station. Of an axle's operations that cannot start yet it is told of its next one only."""
    axle, told = stands.bench.as_axle, False
    promised, rush = (axle.line.promised_to, axle.line.rush) if axle is not None else (None, False)
    for slot in stands.plan.at_station(station):
        view = stands.slots[slot.key]
        later = view.state is SlotState.NOT_YET
        if slot.operation.closing and not view.finished and not (later and told):
            yield Waiting(stands.bench, view, promised, rush)
        told = told or later
