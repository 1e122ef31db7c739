"""Which values the axles that left have: the set of axles of each heat, lot, drum, supplier, gauge, person, terminal,
procedure, revision and station's shift. Five statements, however many axles."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from builds.models import Axle
from builds.reports.reach.cause import CauseKind
from builds.reports.reach.statements import among, as_moment, rows
from builds.reports.reach.work import Made
from builds.reports.returns.inside import inside
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
    def key(self) -> str:
        """What stands for it in an address."""
        return "|".join((self.kind.value, self.typed, self.day, self.shift))


Exposed = dict[Value, frozenset[int]]


def exposure(axles: Sequence[int]) -> Exposed:
    """Every value of these axles with those that have it."""
    found: dict[Value, set[int]] = defaultdict(set)
    for value, axle in (*_things(axles), *_worked(axles), *_shifts(axles), *_revisions(axles)):
        found[value].add(axle)
    return {value: frozenset(those) for value, those in found.items()}


def _things(axles: Sequence[int]) -> Iterator[tuple[Value, int]]:
    pairs = inside(axles)
    named: dict[int, list[Value]] = {}
    for pk, kind, maker, mark, code, name in rows(_named({item for _, item in pairs})):
        own = Value(CauseKind.ITEM, f"{ItemKind(kind).label} {mark}", f"{maker}/{mark}".strip("/"))
        named[pk] = [own] if kind in SHARED else []
        named[pk] += [Value(CauseKind.SUPPLIER, f"supplier {name}", code)] if code else []
    for axle, item in pairs:
        for value in named[item]:
            yield value, axle


def _named(ids: set[int]) -> Made:
    where, values = among("i.id", sorted(ids))
    return (
        "SELECT i.id, i.kind, i.maker, i.mark, s.code, s.name FROM shop_item i"
        " LEFT JOIN shop_heat h ON h.item_id = i.id LEFT JOIN shop_lot l ON l.item_id = i.id"
        " LEFT JOIN shop_part p ON p.item_id = i.id"
        " LEFT JOIN shop_supplier s ON s.id = COALESCE(h.supplier_id, l.supplier_id, p.supplier_id)"
        f" WHERE {where}",
        values,
    )


_READ = (
    "measurements_reading r JOIN builds_visitsheet s ON s.sheet_id = r.sheet_id"
    " JOIN builds_visit v ON v.id = s.visit_id"
)
_SIGNED = "record_signature g JOIN {} d ON d.signature_id = g.id JOIN builds_visit v ON v.id = d.visit_id"
_REMOVED = "builds_removal m JOIN builds_fitted f ON f.id = m.fitted_id JOIN builds_visit v ON v.id = f.visit_id"


def _made(kind: CauseKind, tables: str, of: str) -> tuple[CauseKind, str, str, str]:
    """Kind, what the reach list is asked, how it is named, and the tables; `of`: the column that names it."""
    joined, typed, words = {
        CauseKind.GAUGE: ("shop_item x", "x.mark", "'gauge ' || x.mark"),
        CauseKind.PERSON: ("shop_person x", "x.code", "'person ' || x.name"),
        CauseKind.TERMINAL: ("shop_terminal x", "x.code", "'terminal ' || x.code"),
        CauseKind.PROCEDURE: ("builds_weldprocedure x", "x.code || ' REV ' || x.revision",
                              "'weld procedure ' || x.code || ' rev ' || x.revision"),
    }[kind]  # fmt: skip
    return kind, typed, words, f"{tables} JOIN {joined} ON x.id = {of}"


#: The same work that the reach list knows.
_WORK = (
    _made(CauseKind.GAUGE, _READ, "r.gauge_id"),
    _made(CauseKind.GAUGE, _READ, "r.ring_id"),
    _made(CauseKind.TERMINAL, _READ, "r.terminal_id"),
    _made(CauseKind.TERMINAL, "builds_visit v", "v.terminal_id"),
    _made(CauseKind.PROCEDURE, "builds_weld w JOIN builds_visit v ON v.id = w.visit_id", "w.procedure_id"),
    _made(CauseKind.PERSON, _READ, "r.person_id"),
    _made(CauseKind.PERSON, "builds_weld w JOIN builds_visit v ON v.id = w.visit_id", "w.welder_id"),
    _made(CauseKind.PERSON, "builds_fitted f JOIN builds_visit v ON v.id = f.visit_id", "f.person_id"),
    _made(CauseKind.PERSON, _REMOVED, "m.person_id"),
    _made(CauseKind.PERSON, "builds_span n JOIN builds_visit v ON v.id = n.visit_id", "n.person_id"),
    _made(CauseKind.PERSON, "builds_visit v", "v.worked_by_id"),
    _made(CauseKind.PERSON, _SIGNED.format("builds_done"), "g.person_id"),
    _made(CauseKind.PERSON, _SIGNED.format("builds_hold"), "g.person_id"),
)


def _worked(axles: Sequence[int]) -> Iterator[tuple[Value, int]]:
    """By whom, with what and where each was worked on."""
    parts, values = [], []
    for place, (_, typed, words, tables) in enumerate(_WORK):
        where, more = among("v.axle_id", axles)
        parts.append(f"SELECT DISTINCT {place}, {typed}, {words}, v.axle_id FROM {tables} WHERE {where}")
        values += more
    for place, typed, words, axle in rows((" UNION ALL ".join(parts), values)):
        yield Value(_WORK[place][0], words, typed), axle


def _shifts(axles: Sequence[int]) -> Iterator[tuple[Value, int]]:
    """The station's shift in which each stretch of touch time began."""
    where, values = among("v.axle_id", axles)
    sql = (
        "SELECT DISTINCT v.axle_id, t.code, t.name, n.begun_at FROM builds_span n"
        " JOIN builds_visit v ON v.id = n.visit_id"
        f" JOIN builds_operation o ON o.id = v.operation_id JOIN shop_station t ON t.id = o.station_id WHERE {where}"
    )
    every = list(Shift.objects.all())
    for axle, code, name, begun in rows((sql, values)):
        at = as_moment(begun)
        if at is not None:
            day, shift = shift_of(at, every)
            yield Value(CauseKind.STATION_SHIFT, f"{name}, {day} {shift}".strip(), code, day, shift), axle


def shift_of(at: datetime, every: Iterable[Shift]) -> tuple[str, str]:
    """The day to which a moment belongs and its shift's name; after midnight the day on which the shift began."""
    here = at.astimezone(shop_zone())
    clock = here.time()
    for shift in every:
        if shift.holds(clock):
            began_before = shift.starts > shift.ends and clock < shift.ends
            return (here.date() - timedelta(days=began_before)).isoformat(), shift.name
    return here.date().isoformat(), ""


def _revisions(axles: Sequence[int]) -> Iterator[tuple[Value, int]]:
    named = Axle.objects.filter(pk__in=axles).values_list("pk", "revision__model__code", "revision__letter")
    for pk, model, letter in named:
        yield Value(CauseKind.REVISION, f"build card {model} rev {letter}", f"{model}/{letter}"), pk
