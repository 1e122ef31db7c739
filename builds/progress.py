"""Where each operation of one axle stands, from plain facts: no database, no clock read here.

The words are the shop's own: not yet, ready, in hand, set down, waiting for time, waiting for sign, done,
to redo, excused by change, and stopped where a red tag lies on it or on what it depends on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from builds.definitions.plan import BuildPlan, Slot


class SlotState(StrEnum):
    NOT_YET = "not yet"
    READY = "ready"
    IN_HAND = "in hand"
    SET_DOWN = "set down"
    WAIT_TIME = "waiting for time"
    WAIT_SIGN = "waiting for sign"
    DONE = "done"
    REDO = "to redo"
    EXCUSED = "excused by change"
    STOPPED = "stopped"


FINISHED = (SlotState.DONE, SlotState.EXCUSED)
CAN_START = (SlotState.READY, SlotState.REDO)


class VisitFact(NamedTuple):
    """One visit as far as the state of its slot needs it. `state` is the stored word.

    A tuple: a floor makes some hundred of them for every look, and a frozen dataclass takes five times as long to make.
    """

    pk: int
    number: int
    state: str
    person: str
    since: datetime
    done_at: datetime | None = None
    note: str = ""
    place: str = ""
    station: str = ""


@dataclass(frozen=True)
class TagFact:
    """An open red tag. `slots`: the keys it lies on; None: the whole axle."""

    pk: int
    number: int
    cause: str
    since: datetime
    slots: frozenset[str] | None = None


@dataclass(frozen=True)
class AxleFacts:
    """What is known of one axle: visits by slot, oldest first; open tags; events; parts not at hand by slot;
    `shortened`: when the newest shorter wait of an operation was signed."""

    visits: Mapping[str, tuple[VisitFact, ...]] = field(default_factory=dict)
    tags: tuple[TagFact, ...] = ()
    events: Mapping[str, datetime] = field(default_factory=dict)
    short: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    shortened: Mapping[int, datetime] = field(default_factory=dict)
    closed_at: datetime | None = None
    gone: bool = False


@dataclass(frozen=True)
class SlotView:
    """One slot with its state, the reason in words, and since when."""

    slot: Slot
    state: SlotState
    why: str = ""
    since: datetime | None = None
    visit: VisitFact | None = None
    tag: TagFact | None = None
    ready_at: datetime | None = None

    @property
    def finished(self) -> bool:
        return self.state in FINISHED

    @property
    def can_start(self) -> bool:
        return self.state in CAN_START


class Views(Mapping[str, SlotView]):
    """The slots of one axle by their key, in the order of the card; each is told when it is first asked for."""

    def __init__(self, plan: BuildPlan, facts: AxleFacts, now: datetime) -> None:
        self._plan, self._facts, self._now = plan, facts, now
        #: Keys of what is done or excused; known without telling any slot.
        self.finished = frozenset(
            key for key, visits in facts.visits.items() if visits and visits[-1].state in ("done", "excused")
        )
        self._told: dict[str, SlotView] = {}

    def __getitem__(self, key: str) -> SlotView:
        view = self._told.get(key)
        if view is None:
            view = self._told[key] = _view(self._plan, self._plan.by_key[key], self._facts, self.finished, self._now)
        return view

    def is_before_its_turn(self, key: str) -> bool:
        """Whether something before this slot is not finished and nobody has it under way: it can only be not yet, or
        stopped. Told of most slots of an axle, and much sooner than the slot itself."""
        visit = last_visit(self._facts, key)
        return (visit is None or visit.state == "redo") and not self._plan.before(key) <= self.finished

    def __iter__(self) -> Iterator[str]:
        return iter(self._plan.by_key)

    def __len__(self) -> int:
        return len(self._plan.by_key)


def progress(plan: BuildPlan, facts: AxleFacts, now: datetime) -> Views:
    """Every slot of the axle by its key, in the order of the card."""
    return Views(plan, facts, now)


def last_visit(facts: AxleFacts, key: str) -> VisitFact | None:
    visits = facts.visits.get(key)
    return visits[-1] if visits else None


def tag_on(plan: BuildPlan, facts: AxleFacts, key: str) -> TagFact | None:
    """The oldest open red tag that stops this slot: on it, on something before it, or on the whole axle."""
    if not facts.tags:
        return None
    reach = plan.before(key) | {key}
    for tag in facts.tags:
        if tag.slots is None or tag.slots & reach:
            return tag
    return None


def _view(plan: BuildPlan, slot: Slot, facts: AxleFacts, finished: frozenset[str], now: datetime) -> SlotView:
    visit = last_visit(facts, slot.key)
    if not slot.operation.closing:
        return _after_closing(slot, facts)
    if slot.key in finished and visit is not None:
        state = SlotState.DONE if visit.state == "done" else SlotState.EXCUSED
        return SlotView(slot, state, since=visit.done_at or visit.since, visit=visit)
    tag = tag_on(plan, facts, slot.key)
    if tag is not None:
        return SlotView(slot, SlotState.STOPPED, f"red tag {tag.number}: {tag.cause}", tag.since, visit, tag)
    if visit is not None and visit.state != "redo":
        return _under_way(slot, visit)
    return _waiting(plan, slot, facts, finished, now)


def _after_closing(slot: Slot, facts: AxleFacts) -> SlotView:
    """What follows the closed record (certificate signature, packing, shipping) has rows of its own, no visit."""
    if facts.gone:
        return SlotView(slot, SlotState.DONE, since=facts.closed_at)
    if facts.closed_at is not None:
        return SlotView(slot, SlotState.READY, "the record is closed", facts.closed_at)
    return SlotView(slot, SlotState.NOT_YET, "after the record is closed")


def _under_way(slot: Slot, visit: VisitFact) -> SlotView:
    if visit.state == "in_hand":
        return SlotView(slot, SlotState.IN_HAND, visit.person, visit.since, visit)
    if visit.state == "set_down":
        where = f"at {visit.place}" if visit.place else ""
        why = ", ".join(part for part in (f"by {visit.person}", where, visit.note) if part)
        return SlotView(slot, SlotState.SET_DOWN, why, visit.since, visit)
    by = slot.operation.hold.by if slot.operation.hold else slot.operation.beside
    words = " or ".join(word.replace("_", " ") for word in by) or "a second signature"
    return SlotView(slot, SlotState.WAIT_SIGN, f"waits for {words}", visit.since, visit)


def _waiting(plan: BuildPlan, slot: Slot, facts: AxleFacts, finished: frozenset[str], now: datetime) -> SlotView:
    visit = last_visit(facts, slot.key)
    if not plan.before(slot.key) <= finished:
        return SlotView(slot, SlotState.NOT_YET, _after(_missing_before(plan, slot, finished)), visit=visit)
    ready_at = wait_over(plan, slot, facts)
    if ready_at is not None and ready_at > now:
        reason = "; ".join(after.reason for after in plan.waits(slot.operation.number))
        return SlotView(slot, SlotState.WAIT_TIME, reason, visit=visit, ready_at=ready_at)
    if short := facts.short.get(slot.key):
        return SlotView(slot, SlotState.NOT_YET, "short of " + ", ".join(short), visit=visit, ready_at=ready_at)
    since = _ready_since(slot, facts, ready_at)
    if visit is not None:
        return SlotView(slot, SlotState.REDO, f"pass {visit.number + 1}", since, visit, ready_at=ready_at)
    return SlotView(slot, SlotState.READY, since=since, ready_at=ready_at)


def _missing_before(plan: BuildPlan, slot: Slot, finished: frozenset[str]) -> tuple[str, ...]:
    """At most three keys in the order of the card: of what stands just before, else of what is further back."""
    near = tuple(key for key in plan.near[slot.key] if key not in finished)
    far = near or sorted(plan.before(slot.key) - finished, key=plan.rank.__getitem__)
    return tuple(far[:3])


@lru_cache(maxsize=1024)
def _after(keys: tuple[str, ...]) -> str:
    """The same few sentences stand beside most operations of every axle in the house."""
    return "after " + ", ".join(map(_named, keys))


def wait_over(plan: BuildPlan, slot: Slot, facts: AxleFacts) -> datetime | None:
    """When the last clock wait of this slot ends; None where there is none, or none has begun."""
    signed_at = facts.shortened.get(slot.operation.number)
    ends = [
        at + timedelta(minutes=after.minutes)
        for after in plan.waits(slot.operation.number)
        if (at := facts.events.get(after.event)) is not None and not covers(signed_at, at)
    ]
    return max(ends, default=None)


def covers(signed_at: datetime | None, event_at: datetime) -> bool:
    """Whether a signed shorter wait counts for this event: one that comes after the signature has a wait of its own."""
    return signed_at is not None and event_at <= signed_at


def _ready_since(slot: Slot, facts: AxleFacts, ready_at: datetime | None) -> datetime | None:
    times = [
        visit.done_at
        for key in slot.starts_after
        if (visit := last_visit(facts, key)) is not None and visit.done_at is not None
    ]
    if ready_at is not None:
        times.append(ready_at)
    return max(times, default=None)


def _named(key: str) -> str:
    number, _, side = key.partition("/")
    return f"{number} {side}".strip()
