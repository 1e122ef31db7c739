"""The floor: what is where, stopped ones first with the cause, then the oldest first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from builds.models import Axle, Phase
from builds.progress import SlotState, SlotView
from builds.reports.facts import AxleStanding, standing_of
from shop.clock import shop_day
from shop.models.prepared import Prepared

_UNDER_WAY = (SlotState.IN_HAND, SlotState.SET_DOWN, SlotState.WAIT_SIGN, SlotState.REDO, SlotState.READY)


@dataclass(frozen=True)
class FloorRow:
    """One axle in the house. `since`: since when it stands where it stands."""

    axle: Axle
    state: str
    at: str
    station: str
    why: str
    since: datetime
    customer: str
    promised: date
    late: bool
    done: int
    of: int


_IN_THE_HOUSE = Prepared(
    lambda: (
        Axle.objects.in_the_house()
        .select_related("item", "line__order__customer", "revision__model")
        .defer("revision__text")
    )
)


def floor_rows(now: datetime) -> list[FloorRow]:
    """Every axle that has not left the house: stopped first, then the one that stands longest."""
    axles = _IN_THE_HOUSE.all()
    stands = standing_of(axles, now)
    rows = [_row(axle, stands[axle.pk], now) for axle in axles]
    return sorted(rows, key=lambda row: (row.state != "stopped", row.since))


def _row(axle: Axle, stands: AxleStanding, now: datetime) -> FloorRow:
    view = _tagged(stands) or _foremost(stands)
    state, why, since = _state(axle, stands, view)
    return FloorRow(
        axle=axle,
        state=state,
        at=view.slot.named if view is not None else "",
        station=view.slot.operation.station if view is not None else "",
        why=why,
        since=since or axle.booked_at,
        customer=axle.line.order.customer.name,
        promised=axle.line.promised_to,
        late=axle.line.promised_to < shop_day(now) and axle.closed_at is None,
        done=sum(1 for slot in stands.plan.to_close if slot.key in stands.slots.finished),
        of=len(stands.plan.to_close),
    )


def _tagged(stands: AxleStanding) -> SlotView | None:
    """The operation that the oldest open red tag lies on."""
    if not stands.facts.tags or not stands.facts.tags[0].slots:
        return None
    lies_on = stands.facts.tags[0].slots
    return next((stands.slots[slot.key] for slot in stands.plan.to_close if slot.key in lies_on), None)


def _foremost(stands: AxleStanding) -> SlotView | None:
    """Where the axle is: what is in hand, else what is furthest among what can go on, else what it waits for."""
    left = [slot.key for slot in stands.plan.to_close if slot.key not in stands.slots.finished]
    views = [stands.slots[key] for key in left if not stands.slots.is_before_its_turn(key)]
    for state in _UNDER_WAY:
        found = [view for view in views if view.state is state]
        if found:
            return found[-1] if state is not SlotState.READY else found[0]
    return stands.slots[left[0]] if left else None


def _state(axle: Axle, stands: AxleStanding, view: SlotView | None) -> tuple[str, str, datetime | None]:
    if stands.facts.tags and axle.closed_at is None:
        tag = stands.facts.tags[0]
        return "stopped", f"red tag {tag.number}: {tag.cause}", tag.since
    if view is None:
        return axle.get_phase_display(), "", axle.closed_at
    if axle.phase in (Phase.BOUGHT_OFF, Phase.CERTIFIED):
        return axle.get_phase_display(), "", axle.closed_at or view.since
    return str(view.state), view.why, view.since


@dataclass(frozen=True)
class StationLoad:
    """How many axles stand at a station, and since when the oldest."""

    code: str
    name: str
    count: int
    stopped: int
    oldest: datetime | None


def station_loads(rows: list[FloorRow], names: dict[str, str]) -> list[StationLoad]:
    found = []
    for code, name in names.items():
        here = [row for row in rows if row.station == code]
        oldest = min((row.since for row in here), default=None)
        stopped = sum(1 for row in here if row.state == "stopped")
        found.append(StationLoad(code, name, len(here), stopped, oldest))
    return found
