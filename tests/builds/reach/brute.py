"""The reach list by brute force: for every axle, everything that is or was in it is walked backwards, object by object,
and every row of work is looked at. Slow, and of another shape than the tool's own way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any

from builds.models import Axle, Fitted, Span, Unit, Visit, VisitSheet, Weld
from builds.reports.reach.cause import Between, Cause, CauseKind
from measurements.models import Reading
from shop.models import Drum, Heat, Item, Part, Piece

_KEPT: dict[type, list[Any]] = {}
_JOINED: dict[type, tuple[str, ...]] = {
    Fitted: ("part", "host", "axle__item", "removal"), Weld: ("wire", "item", "visit__item", "visit__axle__item"),
    Unit: ("item",), Visit: ("item__unit", "axle__item"), Axle: ("item",), Piece: ("heat__item", "parent__item"),
    Part: ("heat__item",), Drum: ("lot__item",), Span: ("visit__item", "visit__axle__item", "visit__operation"),
    Reading: ("item",), Heat: (), VisitSheet: ("visit__item", "visit__axle__item"),
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


def axles_touched(cause: Cause) -> dict[str, str]:
    """Serial: now, former or doubt, as the surest of its ways says."""
    wanted = set(cause.ids)
    doubtful = {piece.pk for piece in every(Piece) if piece.heat_id is None} if cause.steel else set()
    if not cause.is_thing:
        wanted = {item.pk for item in worked_on(cause)}
    found = {}
    for axle in every(Axle):
        inside = list(into(axle.item, cause.between))
        held = [how for pk, how in inside if pk in wanted]
        held += [DOUBT for pk, _ in inside if pk in doubtful]
        if held:
            found[axle.serial] = max(held, key=_ORDER.index)
    return found


def inside_on(item: Item, until: datetime) -> dict[int, str]:
    """Everything in the thing at that moment: now, or former when every way of it was out by then."""
    found: dict[int, str] = {}
    for pk, how in into(item, Between(None, until), by=until):
        found[pk] = max(how, found.get(pk, how), key=_ORDER.index)
    del found[item.pk]
    return found


def into(
    item: Item, between: Between, how: str = NOW, depth: int = 0, by: datetime | None = None
) -> Iterator[tuple[int, str]]:
    """(item, now or former) of the thing itself and of everything that it was made of or that ever went in.

    With `by`, what came out later than that is in it still.
    """
    assert depth < 20
    yield item.pk, how
    for source, until in _before(item, between, by):
        yield from into(source, between, FORMER if until or how == FORMER else NOW, depth + 1, by)


def _is_out(row: Fitted, by: datetime | None) -> bool:
    return hasattr(row, "removal") and (by is None or row.removal.at < by)


def _before(item: Item, between: Between, by: datetime | None) -> Iterator[tuple[Item, bool]]:
    for row in every(Fitted):
        if row.host_id == item.pk and between.holds(row.at):
            yield row.part, _is_out(row, by)
    for weld in every(Weld):
        if weld.item_id == item.pk and weld.wire is not None and between.holds(weld.ended_at):
            yield weld.wire, False
    if item.kind == "axle":
        for unit in every(Unit):
            if unit.axle_id == item.pk:
                yield unit.item, False
        for visit in every(Visit):  # a unit that was worked on for this axle
            if visit.axle_id == item.pk and visit.item_id != item.pk and visit.item.unit.axle_id != item.pk:
                yield from _for_it(visit, between, by)
    yield from _made_of(item)


def _for_it(visit: Visit, between: Between, by: datetime | None) -> Iterator[tuple[Item, bool]]:
    """A unit that is not in the axle any more still tells by its fittings which axle they were for."""
    for row in every(Fitted):
        if row.visit_id == visit.pk and row.axle_id == visit.axle_id and between.holds(row.at):
            yield row.part, _is_out(row, by)


def _made_of(item: Item) -> Iterator[tuple[Item, bool]]:
    made_of: tuple[tuple[type, Callable[..., object]], ...] = (
        (Piece, lambda row: (row.heat and row.heat.item, row.parent and row.parent.item)),
        (Part, lambda row: (row.heat and row.heat.item,)),
        (Drum, lambda row: (row.lot.item,)),
    )
    for model, sources in made_of:
        for row in every(model):
            if row.pk == item.pk:
                yield from ((source, False) for source in sources(row) if source is not None)  # type: ignore[attr-defined]


def worked_on(cause: Cause) -> Iterator[Item]:
    """What a gauge, a person ... had in hand in the range, the axle it was for included."""
    pk, between = cause.ids[0], cause.between
    for reading in every(Reading):
        hit = {
            CauseKind.GAUGE: pk in (reading.gauge_id, reading.ring_id),
            CauseKind.PERSON: reading.person_id == pk,
            CauseKind.TERMINAL: reading.terminal_id == pk,
        }.get(cause.kind, False)
        if hit and between.holds(reading.happened_at):
            yield reading.item
            for link in every(VisitSheet):
                if link.sheet_id == reading.sheet_id:
                    yield from _at(link.visit)
    for visit in every(Visit):
        if cause.kind is CauseKind.TERMINAL and visit.terminal_id == pk and between.holds(visit.claimed_at):
            yield from _at(visit)
    for span in every(Span):
        if _in_hand(cause, span):
            yield from _at(span.visit)
    for row in every(Fitted):
        mine = row.person_id == pk and between.holds(row.at)
        out = getattr(row, "removal", None)
        mine = mine or (out is not None and out.person_id == pk and between.holds(out.at))
        if cause.kind is CauseKind.PERSON and mine:
            yield row.host
            if row.axle is not None:
                yield row.axle.item
    for weld in every(Weld):
        of = {CauseKind.PERSON: weld.welder_id, CauseKind.PROCEDURE: weld.procedure_id}.get(cause.kind)
        if of == pk and between.holds(weld.ended_at):
            yield from _at(weld.visit)
    for axle in every(Axle):
        if cause.kind is CauseKind.REVISION and axle.revision_id == pk and between.holds(axle.booked_at):
            yield axle.item


def _in_hand(cause: Cause, span: Span) -> bool:
    if cause.kind is CauseKind.STATION_SHIFT:
        there = span.visit.operation.station_id == cause.ids[0]
        return there and any(span.begun_at < end and span.ended_at >= begin for begin, end in cause.shifts)  # type: ignore[operator]
    begins = cause.between.end is None or span.begun_at < cause.between.end
    ends = cause.between.begin is None or span.ended_at is None or span.ended_at >= cause.between.begin
    return cause.kind is CauseKind.PERSON and span.person_id == cause.ids[0] and begins and ends


def _at(visit: Visit) -> Iterator[Item]:
    yield visit.item
    if visit.axle is not None:
        yield visit.axle.item


def melts_of(supplier: int) -> list[int]:
    return [heat.pk for heat in every(Heat) if heat.supplier_id == supplier]
