"""The lists of the build's pages as CSV: the columns of each page, with what a link or a mark says there as a word."""

from __future__ import annotations

from collections.abc import Sequence

from builds.models import Axle, AxleModel, WeldProcedure
from builds.reports.axle_file import AxleFile
from builds.reports.floor import FloorRow
from builds.reports.holds import HoldRow, TagRow
from builds.reports.kits import KitRow
from builds.reports.lookback import Line
from builds.reports.orders import OrderView
from builds.reports.stock import Drawer
from builds.reports.waiting import StationList
from measurements.models import Gauge
from shop.lists import CsvList
from shop.models import Item, Place


def floor_list(rows: Sequence[FloorRow]) -> CsvList:
    head = (
        "axle", "state", "operation", "station", "why", "since", "customer", "promised", "done", "of", "late",
    )  # fmt: skip
    lines = [
        (
            row.axle.serial, row.state, row.at, row.station, row.why, row.since, row.customer, row.promised,
            row.done, row.of, row.late,
        )
        for row in rows
    ]  # fmt: skip
    return CsvList("floor", head, lines)


def axle_list(rows: Sequence[Axle]) -> CsvList:
    lines = [
        (
            row.serial, row.revision.model.name, row.get_phase_display(), row.line.order.number,
            row.line.order.customer.name,
        )
        for row in rows
    ]  # fmt: skip
    return CsvList("axles", ("axle", "model", "phase", "order", "customer"), lines)


def order_list(views: Sequence[OrderView]) -> CsvList:
    head = ("order", "customer", "placed", "promised", "axles", "booked", "gone")
    lines = [
        (
            view.order.number, view.order.customer.name, view.order.placed_on, view.promised, view.quantity,
            view.booked, view.gone,
        )
        for view in views
    ]  # fmt: skip
    return CsvList("orders", head, lines)


def kit_list(rows: Sequence[KitRow]) -> CsvList:
    head = ("axle", "state", "promised to", "rush", "there", "of", "short", "may start before")
    lines = [
        (
            row.axle.serial, row.axle.get_phase_display(), row.axle.line.promised_to, row.axle.line.rush, row.there,
            len(row.state.kit_needs), "; ".join(need.words for need in row.state.short), row.short_from,
        )
        for row in rows
    ]  # fmt: skip
    return CsvList("kits", head, lines)


def hold_list(rows: Sequence[HoldRow]) -> CsvList:
    head = ("axle", "operation", "name", "side", "waits for", "since", "work by")
    lines = [
        (
            row.visit.bench.serial, row.visit.operation.number, row.visit.operation.name,
            row.side.strip("-"), row.waits_for, row.since, row.did,
        )
        for row in rows
    ]  # fmt: skip
    return CsvList("holds", head, lines)


def red_tag_list(rows: Sequence[TagRow]) -> CsvList:
    head = (
        "red tag", "axle", "item", "mark", "operation", "what is wrong", "opened", "opened by", "decision", "reason",
        "decided", "decided by", "concession",
    )  # fmt: skip
    return CsvList("red-tags", head, [_red_tag(row) for row in rows])


def _red_tag(row: TagRow) -> tuple[object, ...]:
    tag, decided = row.tag, row.disposition
    concession = getattr(decided, "concession", None)
    opened = (
        tag.number, tag.axle.serial if tag.axle else "", tag.item.get_kind_display(), tag.item.mark,
        str(tag.operation) if tag.operation else "", tag.cause, tag.opened_at, tag.opened_by.name,
    )  # fmt: skip
    if decided is None:
        return (*opened, "", "", None, "", "")
    return (
        *opened, decided.get_decision_display(), decided.reason, decided.at, decided.signature.person.name,
        concession.number if concession else "",
    )  # fmt: skip


def card_list(models: Sequence[AxleModel]) -> CsvList:
    head = ("model", "revision", "state", "released", "axles in work", "axles ever")
    lines = [
        (model.name, one.letter, one.get_state_display(), one.released_at, one.open_axles, one.built)
        for model in models
        for one in model.shown_revisions  # type: ignore[attr-defined]
    ]
    return CsvList("build-cards", head, lines)


def procedure_list(rows: Sequence[WeldProcedure]) -> CsvList:
    head = ("procedure", "revision", "title", "process", "in force from", "withdrawn on")
    lines = [(row.code, row.revision, row.title, row.process, row.released_on, row.withdrawn_on) for row in rows]
    return CsvList("weld-procedures", head, lines)


def waiting_list(station: str, rows: StationList) -> CsvList:
    head = ("axle", "operation", "name", "side", "state", "waits for", "rush", "promised to")
    lines = [
        (
            row.bench.serial, row.view.slot.operation.number, row.view.slot.operation.name, row.view.slot.side,
            str(row.view.state), row.why, row.rush, row.promised,
        )
        for row in (*rows.now, *rows.later)
    ]  # fmt: skip
    return CsvList(f"waiting-{station}", head, lines)


def reading_list(file: AxleFile) -> CsvList:
    """Every try of every reading, as the axle file tells it."""
    names = (
        "operation", "pass", "code", "name", "side", "position", "try", "shown", "unit", "typed", "limits", "word",
        "state", "reason", "gauge", "calibration", "who", "terminal", "entered", "happened", "late",
    )  # fmt: skip
    head = ("verdict" if name == "word" else "reading" if name == "shown" else name for name in names)
    return CsvList(
        f"{file.axle.serial}-readings", tuple(head), [tuple(row[name] for name in names) for row in file.readings]
    )


def stock_list(drawer: Drawer, name: str) -> CsvList | None:
    """One list of the material drawer by its name; None when there is no list of that name."""
    made = {
        "heats": _heats, "pieces": _pieces, "lots": _lots, "drums": _drums, "parts": _parts,
    }.get(name)  # fmt: skip
    return made(drawer) if made is not None else None


def _heats(drawer: Drawer) -> CsvList:
    head = ("heat", "mill", "material", "certificate", "type", "state", "bars and pieces")
    lines = [
        (
            row.item.mark, str(row.supplier or ""), row.material, row.certificate, row.certificate_type,
            row.get_status_display(), getattr(row, "bars", 0),
        )
        for row in drawer.heats
    ]  # fmt: skip
    return CsvList("heats", head, lines)


def _pieces(drawer: Drawer) -> CsvList:
    head = ("mark", "stock", "heat", "cut from", "length", "unit", "where", "in")
    lines = [
        (
            row.item.mark, row.kind.name, row.heat.item.mark if row.heat else "not determinable",
            row.parent.item.mark if row.parent else "", row.length, row.length_unit if row.length else "",
            *_where(row.item),
        )
        for row in drawer.pieces
    ]  # fmt: skip
    return CsvList("bars-and-pieces", head, lines)


def _lots(drawer: Drawer) -> CsvList:
    head = ("lot", "of", "maker", "came on", "may be used to the end of", "expired", "came", "left", "where", "in")
    lines = [
        (
            row.lot.item.mark, row.lot.kind.name, str(row.lot.supplier or ""), row.lot.received_on,
            row.lot.expires_on, row.expired, row.lot.received, row.left, *_where(row.lot.item),
        )
        for row in drawer.lots
    ]  # fmt: skip
    return CsvList("lots", head, lines)


def _drums(drawer: Drawer) -> CsvList:
    head = ("drum", "of", "lot", "opened", "may be used to the end of", "shut", "where", "in")
    lines = [
        (
            row.item.mark,
            row.lot.kind.name,
            row.lot.item.mark,
            row.opened_at,
            row.last_day,
            row.shut_at,
            *_where(row.item),
        )
        for row in drawer.drums
    ]
    return CsvList("drums", head, lines)


def _parts(drawer: Drawer) -> CsvList:
    head = ("mark", "part", "maker", "set", "heat", "stands on it", "where", "in")
    lines = [
        (
            row.part.item.mark, row.part.kind.name, str(row.part.supplier or ""), row.part.set_mark,
            row.part.heat.item.mark if row.part.heat else "", row.stands, *_where(row.part.item),
        )
        for row in drawer.parts
    ]  # fmt: skip
    return CsvList("parts", head, lines)


def _where(item: Item) -> tuple[str, str]:
    place: Place | None = getattr(item, "place", None)
    if place is None:
        return "", ""
    return place.get_where_display(), place.host.mark if place.host is not None else place.note


def look_back_list(gauge: Gauge, lines: Sequence[Line], name: str = "look-back") -> CsvList:
    head = (
        "axle", "on", "code", "characteristic", "position", "unit", "as written", "put right", "low", "high",
        "verdict then", "verdict now", "changed", "counts",
    )  # fmt: skip
    rows = [
        (
            " ".join(line.serials), line.again.reading.item.mark, line.again.reading.characteristic.code,
            line.again.reading.characteristic.name, line.again.reading.position,
            line.again.reading.characteristic.unit, line.original, line.corrected, line.again.reading.low,
            line.again.reading.high, line.verdict, line.word, line.again.changed, line.again.counts,
        )
        for line in lines
    ]  # fmt: skip
    return CsvList(f"{gauge.item.mark}-{name}", head, rows)
