"""Which values these axles have: the set of axles of each heat, lot, drum, supplier, gauge, person, terminal,
procedure, revision and station's shift. Five statements, however many axles; about a millisecond of the database for
each axle, so what is found for one that left is kept (`kept`)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.db import connection

from builds.reports.reach.cause import CauseKind
from builds.reports.reach.statements import among, rows
from builds.reports.returns.inside import inside_of
from shop.clock import shop_zone
from shop.models import ItemKind, Shift

#: A part, a piece or a unit lies in one axle: what came back cannot share it.
SHARED = (ItemKind.HEAT, ItemKind.LOT, ItemKind.DRUM)


@dataclass(frozen=True, order=True)
class Value:
    """One thing that axles can have in common. `typed`, `day` and `shift` ask the reach list for it."""

    kind: CauseKind
    words: str
    typed: str
    day: str = ""
    shift: str = ""

    @property
    def counted_as(self) -> tuple[str, str, str, str, str]:
        """What makes it one value; words change with a name, but for a thing's, whose marks are for ever."""
        words = self.words if self.kind is CauseKind.ITEM else ""
        return self.kind.value, self.typed, self.day, self.shift, words

    @property
    def key(self) -> str:
        """What stands for it in an address."""
        return "|".join((self.kind.value, self.typed, self.day, self.shift))


Exposed = dict[Value, frozenset[int]]


def exposure(axles: Sequence[int]) -> Exposed:
    """Every value of these axles with those that have it."""
    # One number for each axle, however many values it has: a big shop has ten million pairs.
    numbers = {str(axle): axle for axle in axles}
    found: dict[Value, set[int]] = defaultdict(set)
    for value, those in (*_things(axles), *_worked(axles), *_shifts(axles), *_revisions(axles)):
        found[value].update(numbers[axle] for axle in those.split(","))
    return {value: frozenset(those) for value, those in found.items()}


def _listed(column: str) -> str:
    """An aggregate: the keys as one text. The database puts them together many times as fast as rows are fetched."""
    if connection.vendor == "sqlite":
        return f"group_concat({column})"
    return f"string_agg(CAST({column} AS text), ',')"


def _things(axles: Sequence[int]) -> Iterator[tuple[Value, str]]:
    """Heats, lots and drums, and whoever supplied anything that went in."""
    walk, values = inside_of(axles)
    kinds = ", ".join(f"'{kind}'" for kind in SHARED)
    sql = (
        f"{walk}, known AS (SELECT up.axle, up.item, i.kind, COALESCE(h.supplier_id, l.supplier_id, p.supplier_id)"
        " AS supplier FROM up JOIN shop_item i ON i.id = up.item LEFT JOIN shop_heat h ON h.item_id = up.item"
        " LEFT JOIN shop_lot l ON l.item_id = up.item LEFT JOIN shop_part p ON p.item_id = up.item),"
        f" items AS (SELECT item, {_listed('axle')} AS those FROM known WHERE kind IN ({kinds}) GROUP BY item),"
        f" makers AS (SELECT supplier, {_listed('axle')} AS those FROM"
        " (SELECT DISTINCT supplier, axle FROM known WHERE supplier IS NOT NULL) had GROUP BY supplier)"
        " SELECT i.kind, i.maker, i.mark, items.those FROM items JOIN shop_item i ON i.id = items.item"
        " UNION ALL SELECT 'supplier', s.code, s.name, makers.those FROM makers"
        " JOIN shop_supplier s ON s.id = makers.supplier"
    )
    for kind, maker, mark, those in rows((sql, values)):
        if kind == "supplier":
            yield Value(CauseKind.SUPPLIER, f"supplier {mark}", maker), those
        else:
            yield Value(CauseKind.ITEM, f"{ItemKind(kind).label} {mark}", f"{maker}/{mark}".strip("/")), those


#: Read once for all that is said of a reading: they are the greatest table.
_READINGS = (
    "readings AS (SELECT DISTINCT v.axle_id, r.gauge_id, r.ring_id, r.terminal_id, r.person_id"
    " FROM measurements_reading r JOIN builds_visitsheet s ON s.sheet_id = r.sheet_id"
    " JOIN builds_visit v ON v.id = s.visit_id WHERE {})"
)
_SIGNED = "record_signature g JOIN {} d ON d.signature_id = g.id JOIN builds_visit v ON v.id = d.visit_id"
_REMOVED = "builds_removal m JOIN builds_fitted f ON f.id = m.fitted_id JOIN builds_visit v ON v.id = f.visit_id"
#: The same work that the reach list knows: kind, tables, and the column that names it.
_WORK = (
    (CauseKind.GAUGE, "readings v", "v.gauge_id"),
    (CauseKind.GAUGE, "readings v", "v.ring_id"),
    (CauseKind.TERMINAL, "readings v", "v.terminal_id"),
    (CauseKind.TERMINAL, "builds_visit v", "v.terminal_id"),
    (CauseKind.PROCEDURE, "builds_weld w JOIN builds_visit v ON v.id = w.visit_id", "w.procedure_id"),
    (CauseKind.PERSON, "readings v", "v.person_id"),
    (CauseKind.PERSON, "builds_weld w JOIN builds_visit v ON v.id = w.visit_id", "w.welder_id"),
    (CauseKind.PERSON, "builds_fitted f JOIN builds_visit v ON v.id = f.visit_id", "f.person_id"),
    (CauseKind.PERSON, _REMOVED, "m.person_id"),
    (CauseKind.PERSON, "builds_span n JOIN builds_visit v ON v.id = n.visit_id", "n.person_id"),
    (CauseKind.PERSON, "builds_visit v", "v.worked_by_id"),
    (CauseKind.PERSON, _SIGNED.format("builds_done"), "g.person_id"),
    (CauseKind.PERSON, _SIGNED.format("builds_hold"), "g.person_id"),
)
#: What the reach list is asked, and how it is called.
_NAMES = {
    CauseKind.GAUGE: ("shop_item", "x.mark", "'gauge ' || x.mark"),
    CauseKind.PERSON: ("shop_person", "x.code", "'person ' || x.name"),
    CauseKind.TERMINAL: ("shop_terminal", "x.code", "'terminal ' || x.code"),
    CauseKind.PROCEDURE: (
        "builds_weldprocedure", "x.code || ' REV ' || x.revision",
        "'weld procedure ' || x.code || ' rev ' || x.revision",
    ),
}  # fmt: skip


def _worked(axles: Sequence[int]) -> Iterator[tuple[Value, str]]:
    """By whom, with what and where each was worked on."""
    where, one = among("v.axle_id", axles)
    values, parts = list(one), []
    for kind, tables, column in _WORK:
        narrowed = "" if tables == "readings v" else f" AND {where}"
        values += one if narrowed else []
        table, typed, words = _NAMES[kind]
        parts.append(
            f"SELECT '{kind}' AS kind, {typed}, {words}, u.those FROM (SELECT value, {_listed('axle')} AS those FROM"
            f" (SELECT DISTINCT {column} AS value, v.axle_id AS axle FROM {tables}"
            f" WHERE {column} IS NOT NULL{narrowed}) had GROUP BY value) u JOIN {table} x ON x.id = u.value"
        )
    sql = f"WITH {_READINGS.format(where)} {' UNION ALL '.join(parts)}"
    for kind, typed, words, those in rows((sql, values)):
        yield Value(CauseKind(kind), words, typed), those


def _shifts(axles: Sequence[int]) -> Iterator[tuple[Value, str]]:
    """The station's shift in which each stretch of touch time began."""
    every = list(Shift.objects.all())
    # Shifts begin and end on whole quarters; where one does not, each second is looked at by itself.
    whole = all(not (at.minute % 15 or at.second) for shift in every for at in (shift.starts, shift.ends))
    step, (where, values) = 900 if whole else 1, among("v.axle_id", axles)
    epoch = "strftime('%%s', n.begun_at)" if connection.vendor == "sqlite" else "FLOOR(EXTRACT(EPOCH FROM n.begun_at))"
    sql = (
        f"SELECT t.code, t.name, b.part, b.those FROM (SELECT station, part, {_listed('axle')} AS those FROM"
        f" (SELECT DISTINCT o.station_id AS station, CAST({epoch} AS bigint) / {step} AS part, v.axle_id AS axle"
        " FROM builds_span n JOIN builds_visit v ON v.id = n.visit_id"
        f" JOIN builds_operation o ON o.id = v.operation_id WHERE {where}) began GROUP BY station, part) b"
        " JOIN shop_station t ON t.id = b.station"
    )
    for code, name, part, those in rows((sql, values)):
        day, shift = shift_of(datetime.fromtimestamp(part * step, UTC), every)
        yield Value(CauseKind.STATION_SHIFT, f"{name}, {day} {shift}".strip(), code, day, shift), those


def shift_of(at: datetime, every: Iterable[Shift]) -> tuple[str, str]:
    """The day to which a moment belongs and its shift's name; after midnight the day on which the shift began."""
    here = at.astimezone(shop_zone())
    clock = here.time()
    for shift in every:
        if shift.holds(clock):
            began_before = shift.starts > shift.ends and clock < shift.ends
            return (here.date() - timedelta(days=began_before)).isoformat(), shift.name
    return here.date().isoformat(), ""


def _revisions(axles: Sequence[int]) -> Iterator[tuple[Value, str]]:
    where, values = among("a.item_id", axles)
    sql = (
        f"SELECT m.code, r.letter, g.those FROM (SELECT a.revision_id AS revision, {_listed('a.item_id')} AS those"
        f" FROM builds_axle a WHERE {where} GROUP BY a.revision_id) g JOIN builds_revision r ON r.id = g.revision"
        " JOIN builds_axlemodel m ON m.id = r.model_id"
    )
    for model, letter, those in rows((sql, values)):
        yield Value(CauseKind.REVISION, f"build card {model} rev {letter}", f"{model}/{letter}"), those
