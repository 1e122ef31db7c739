"""The plain facts from which progress is told, for many axles in a constant number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from builds.definitions.plan import BuildPlan, Slot, slot_key
from builds.models import Axle, Bench, Fitted, KitLine, Parted, Phase, RedTag, Unit
from builds.progress import AxleFacts, TagFact, Views, VisitFact, progress
from builds.reports.beside import open_tags, open_tags_alone, slots_under
from builds.reports.clocks import Passed, clocks_and_passes, of_units_alone
from builds.reports.kit import PartRows
from shop.models.prepared import PreparedValues, among

_IN_KIT = KitLine.objects.filter(among("axle_id", "axles"), returned_at=None).values_list("host_id", "role")
_IN_PLACE = Fitted.objects.now().filter(among("axle_id", "axles")).values_list("host_id", "role")
_ASIDE = PreparedValues(lambda: _IN_KIT.union(_IN_PLACE))


@dataclass(frozen=True)
class AxleStanding:
    """One axle, or a unit that is in none, with its plan, its units by (role, side), its open red tags and the state of
    every slot."""

    bench: Bench
    plan: BuildPlan
    units: Mapping[tuple[str, str], int]
    facts: AxleFacts
    slots: Views
    tags: Sequence[RedTag]

    def item_of(self, slot: Slot) -> int:
        """The item a visit of this slot is on: the unit, or the axle itself."""
        return self.units.get((slot.unit, slot.side), self.bench.pk)

    @property
    def axle(self) -> Axle:
        """For who asks of axles only."""
        assert self.bench.as_axle is not None
        return self.bench.as_axle


@dataclass(frozen=True)
class Read:
    """What the caller has of its one axle already: its open tags, and (host, role) of what is set aside or fitted."""

    tags: Sequence[RedTag]
    aside: Collection[tuple[int, str]]


def standing_of(
    axles: Sequence[Axle], now: datetime, parts: PartRows | None = None, read: Read | None = None
) -> dict[int, AxleStanding]:
    """Every axle's standing by its key. Three queries, however many axles; two where the caller has the `parts`, one
    where it has `read` tags and parts. One more where an axle is closed: what a service took out of it since."""
    ids = [axle.pk for axle in axles]
    clocks = clocks_and_passes(ids)
    for (axle_id, role, side), item in _served([axle.pk for axle in axles if axle.closed_at is not None]):
        clocks.units[axle_id][role, side] = item
    tags: dict[int, list[RedTag]] = defaultdict(list)
    for tag in open_tags(ids) if read is None else read.tags:
        tags[tag.axle_id or 0].append(tag)
    aside = read.aside if read is not None else _set_aside(ids, parts)
    found = {}
    for axle in axles:
        plan, units = axle.plan, clocks.units.get(axle.pk, {})
        facts = AxleFacts(
            visits=_visits(clocks.passes.get(axle.pk, ()), units),
            tags=tuple(_placed(plan, tag) for tag in tags[axle.pk]),
            events=clocks.events.get(axle.pk, {}),
            short=_short(plan, units, axle.pk, aside),
            shortened=clocks.shortened.get(axle.pk, {}),
            closed_at=axle.closed_at,
            gone=axle.phase in (Phase.GONE, Phase.BACK),
        )
        found[axle.pk] = AxleStanding(axle, plan, units, facts, progress(plan, facts, now), tags[axle.pk])
    return found


def _served(closed: Sequence[int]) -> Iterator[tuple[tuple[int, str, str], int]]:
    """(axle, role, side) and the unit that was there as the record was closed, where it was exchanged since."""
    if closed:
        rows = Parted.objects.filter(axle__in=closed, after_closing=True).order_by("-pk")
        for axle, role, side, unit in rows.values_list("axle_id", "unit__role", "side", "unit_id"):
            yield (axle, role, side), unit


def standing_of_units(units: Sequence[Unit], now: datetime) -> dict[int, AxleStanding]:
    """The standing of units that are in no axle, by their key: two queries, however many. They have no kit: what goes
    into them is scanned at the bench."""
    ids = [unit.pk for unit in units]
    clocks = of_units_alone(ids)
    tags: dict[int, list[RedTag]] = defaultdict(list)
    for tag in open_tags_alone(ids) if ids else ():
        tags[tag.item_id].append(tag)
    found = {}
    for unit in units:
        own = clocks.units.get(unit.pk, {})
        facts = AxleFacts(
            visits=_visits(clocks.passes.get(unit.pk, ()), own),
            tags=tuple(_placed(unit.plan, tag) for tag in tags[unit.pk]),
            events=clocks.events.get(unit.pk, {}),
        )
        found[unit.pk] = AxleStanding(unit, unit.plan, own, facts, progress(unit.plan, facts, now), tags[unit.pk])
    return found


def standing(bench: Bench, now: datetime, parts: PartRows | None = None, read: Read | None = None) -> AxleStanding:
    """Of an axle, or of a unit that is in none."""
    if bench.as_axle is None:
        return standing_of_units([bench], now)[bench.pk]
    return standing_of([bench], now, parts, read)[bench.pk]


def _visits(passes: Iterable[Passed], units: Mapping[tuple[str, str], int]) -> dict[str, tuple[VisitFact, ...]]:
    side = {item: key[1] for key, item in units.items()}
    rows: dict[str, tuple[VisitFact, ...]] = {}
    for operation, item, visit in passes:
        key = slot_key(operation, side.get(item, ""))
        before = rows.get(key)
        rows[key] = (*before, visit) if before else (visit,)
    return rows


def _placed(plan: BuildPlan, tag: RedTag) -> TagFact:
    whole = tag.stops_axle or tag.operation is None
    return TagFact(tag.pk, tag.number, tag.cause, tag.opened_at, None if whole else frozenset(slots_under(plan, tag)))


def _set_aside(ids: Sequence[int], parts: PartRows | None) -> set[tuple[int, str]]:
    """(host, role) of every need that has something in the kit or already fitted."""
    if parts is not None:
        return {*parts.aside, *parts.fitted}
    return {(host, role) for host, role in _ASIDE.all(axles=ids)}


def _short(
    plan: BuildPlan, units: Mapping[tuple[str, str], int], axle: int, aside: Collection[tuple[int, str]]
) -> dict[str, tuple[str, ...]]:
    short: dict[str, tuple[str, ...]] = {}
    for slot, needs in plan.from_kit:
        host = units.get((slot.unit, slot.side), axle)
        missing = tuple(name for role, name in needs if (host, role) not in aside)
        if missing:
            short[slot.key] = missing
    return short
