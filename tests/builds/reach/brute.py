"""The reach list by brute force: for every axle, everything that is or was in it is walked backwards, object by object,
and every row of work is looked at. Slow, and of another shape than the tool's own way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import Any

from builds.models import Axle, Fitted, Parted, Span, Unit, Visit, VisitSheet, Weld
from builds.reports.reach.cause import Between, Cause, CauseKind
from measurements.models import Reading
from shop.models import Drum, Heat, Item, Part, Piece

_KEPT: dict[type, list[Any]] = {}
_JOINED: dict[type, tuple[str, ...]] = {
    Fitted: ("part", "host", "removal"), Weld: ("wire", "item", "visit__item"), Unit: ("item",),
    Parted: ("unit__item",), Visit: ("item",), Axle: ("item",), Piece: ("heat__item", "parent__item"),
    Part: ("heat__item",), Drum: ("lot__item",), Span: ("visit__item", "visit__operation"), Reading: ("item",),
    Heat: (), VisitSheet: ("visit__item",),
}  # fmt: skip


def every(model: type) -> list[Any]:
    """All rows of a table, kept until `afresh`."""
    if model not in _KEPT:
        _KEPT[model] = list(model.objects.select_related(*_JOINED[model]))  # type: ignore[attr-defined]
    return _KEPT[model]


def afresh() -> None:
    _KEPT.clear()


NOW, FORMER, DOUBT = "now", "former", "doubt"
_ORDER = (DOUBT, FORMER, NOW)


_EVER, _NEVER = datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC)


def axles_touched(cause: Cause) -> dict[str, str]:
    """Serial: now, former or doubt, as the surest of its ways says."""
    wanted = dict.fromkeys(cause.ids, _EVER)
    doubtful = {piece.pk for piece in every(Piece) if piece.heat_id is None} if cause.steel else set()
    if not cause.is_thing:
        wanted = {}
        for item, at in worked_on(cause):
            wanted[item.pk] = min(at, wanted.get(item.pk, at))
    found = {}
    for axle in every(Axle):
        inside = list(into(axle.item, cause.between))
        held = [how for pk, how, left in inside if pk in wanted and wanted[pk] <= left]
        held += [DOUBT for pk, _, _ in inside if pk in doubtful]
        if held:
            found[axle.serial] = max(held, key=_ORDER.index)
    return found


def inside_on(item: Item, until: datetime) -> dict[int, str]:
    """Everything in the thing at that moment: now, or former when every way of it was out by then."""
    found: dict[int, str] = {}
    for pk, how, _ in into(item, Between(None, until), by=until):
        found[pk] = max(how, found.get(pk, how), key=_ORDER.index)
    del found[item.pk]
    return found


def into(
    item: Item,
    between: Between,
    how: str = NOW,
    depth: int = 0,
    by: datetime | None = None,
    came: datetime = _EVER,
    left: datetime = _NEVER,
) -> Iterator[tuple[int, str, datetime]]:
    """(item, now or former, when it left) of the thing itself and of everything that it was made of or that ever went
    in while the whole way was so: what goes into a unit in March was never in the axle that the unit left in February.

    With `by`, what came out later than that is in it still.
    """
    assert depth < 20
    yield item.pk, how, left
    for source, begin, end in _before(item, between, by):
        at, until = max(came, begin or _EVER), min(left, end or _NEVER)
        if at > until:
            continue
        out = end is not None and (by is None or end < by)
        yield from into(source, between, FORMER if out or how == FORMER else NOW, depth + 1, by, at, until)


def _out_at(row: Fitted) -> datetime | None:
    return row.removal.at if hasattr(row, "removal") else None


Lasted = tuple[Item, datetime | None, datetime | None]


def _before(item: Item, between: Between, by: datetime | None) -> Iterator[Lasted]:
    for row in every(Fitted):
        if row.host_id == item.pk and between.holds(row.at):
            yield row.part, row.at, _out_at(row)
    for weld in every(Weld):
        if weld.item_id == item.pk and weld.wire is not None and between.holds(weld.ended_at):
            yield weld.wire, weld.ended_at, None
    for unit in every(Unit) if item.kind == "axle" else ():
        if unit.axle_id == item.pk and (by is None or unit.joined_at is None or unit.joined_at < by):
            yield unit.item, unit.joined_at, None
    for stay in every(Parted) if item.kind == "axle" else ():
        began = stay.since is None or by is None or stay.since < by
        if stay.axle_id == item.pk and not stay.withdrawn and began:
            yield stay.unit.item, stay.since, stay.at
    for source in _made_of(item):
        yield source, None, None


def _made_of(item: Item) -> Iterator[Item]:
    made_of: tuple[tuple[type, Callable[..., object]], ...] = (
        (Piece, lambda row: (row.heat and row.heat.item, row.parent and row.parent.item)),
        (Part, lambda row: (row.heat and row.heat.item,)),
        (Drum, lambda row: (row.lot.item,)),
    )
    for model, sources in made_of:
        for row in every(model):
            if row.pk == item.pk:
                yield from (source for source in sources(row) if source is not None)  # type: ignore[attr-defined]


def worked_on(cause: Cause) -> Iterator[tuple[Item, datetime]]:
    """What a gauge, a person ... had in hand in the range, and when; the axle it was for follows by what is in it."""
    pk, between = cause.ids[0], cause.between
    for reading in every(Reading):
        hit = {
            CauseKind.GAUGE: pk in (reading.gauge_id, reading.ring_id),
            CauseKind.PERSON: reading.person_id == pk,
            CauseKind.TERMINAL: reading.terminal_id == pk,
        }.get(cause.kind, False)
        if hit and between.holds(reading.happened_at):
            yield reading.item, reading.happened_at
            for link in every(VisitSheet):
                if link.sheet_id == reading.sheet_id:
                    yield link.visit.item, reading.happened_at
    for visit in every(Visit):
        if cause.kind is CauseKind.TERMINAL and visit.terminal_id == pk and between.holds(visit.claimed_at):
            yield visit.item, visit.claimed_at
    for span in every(Span):
        if _in_hand(cause, span):
            yield span.visit.item, span.begun_at
    for row in every(Fitted):
        out = getattr(row, "removal", None)
        hands = [(row.person_id, row.at)] + ([(out.person_id, out.at)] if out is not None else [])
        for person, at in hands if cause.kind is CauseKind.PERSON else ():
            if person == pk and between.holds(at):
                yield row.host, at
    for weld in every(Weld):
        of = {CauseKind.PERSON: weld.welder_id, CauseKind.PROCEDURE: weld.procedure_id}.get(cause.kind)
        if of == pk and between.holds(weld.ended_at):
            yield weld.visit.item, weld.ended_at
    for axle in every(Axle):
        if cause.kind is CauseKind.REVISION and axle.revision_id == pk and between.holds(axle.booked_at):
            yield axle.item, axle.booked_at


def _in_hand(cause: Cause, span: Span) -> bool:
    if cause.kind is CauseKind.STATION_SHIFT:
        there = span.visit.operation.station_id == cause.ids[0]
        return there and any(span.begun_at < end and span.ended_at >= begin for begin, end in cause.shifts)  # type: ignore[operator]
    begins = cause.between.end is None or span.begun_at < cause.between.end
    ends = cause.between.begin is None or span.ended_at is None or span.ended_at >= cause.between.begin
    return cause.kind is CauseKind.PERSON and span.person_id == cause.ids[0] and begins and ends


def melts_of(supplier: int) -> list[int]:
    return [heat.pk for heat in every(Heat) if heat.supplier_id == supplier]
