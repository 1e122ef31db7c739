"""What a gauge, a person, a procedure, a terminal, a shift or a revision worked on: hand-written, one statement each.

Every part of a statement gives rows of (how, item, axle, visit, at).
"""

from __future__ import annotations

from collections.abc import Callable

from django.db import connection

from builds.reports.reach.cause import Between, Cause, CauseKind
from builds.reports.reach.statements import Values, during, moment

Made = tuple[str, Values]

_VISIT = "v.item_id AS item, v.axle_id AS axle, v.id AS visit"
_FITTED = "f.host_id AS item, f.axle_id AS axle, f.visit_id AS visit"
#: A coupon is read on one item and its sheet stands for every visit that shares it: all of them are touched.
_READ = (
    "FROM measurements_reading r LEFT JOIN builds_visitsheet s ON s.sheet_id = r.sheet_id"
    " LEFT JOIN builds_visit v ON v.id = s.visit_id"
)
_ELSEWHERE = (
    " AND NOT EXISTS (SELECT 1 FROM builds_visitsheet s JOIN builds_visit v ON v.id = s.visit_id"
    " WHERE s.sheet_id = r.sheet_id AND v.item_id = r.item_id)"
)


def seeds(cause: Cause) -> Made:
    """(how, item, axle, visit, how often, first, last) of everything that the cause worked on."""
    made = _PARTS[cause.kind](cause)
    rows = " UNION ALL ".join(sql for sql, _ in made)
    values = [value for _, more in made for value in more]
    return (
        "SELECT how, item, axle, visit, COUNT(*), MIN(at), MAX(at)"
        f" FROM ({rows}) worked GROUP BY how, item, axle, visit",
        values,
    )


def _one(how: str, what: str, tables: str, column: str, when: str, cause: Cause) -> Made:
    narrowed, values = during(when, cause.between)
    sql = f"SELECT '{how}' AS how, {what}, {when} AS at FROM {tables} WHERE {column} = %s{narrowed}"
    return sql, [cause.ids[0], *values]


def _reads(cause: Cause, column: str, how: str) -> list[Made]:
    """By the moment it was read. A reading is entered no earlier, and an index is by that: so both are asked."""
    entered, values = during("r.entered_at", Between(cause.between.begin))
    happened, more = during("r.happened_at", cause.between)
    where = f"WHERE {column} = %s{entered}{happened}"
    given = [cause.ids[0], *values, *more]
    at_visit = "COALESCE(v.item_id, r.item_id) AS item, v.axle_id AS axle, v.id AS visit, r.happened_at AS at"
    itself = "r.item_id AS item, CAST(NULL AS bigint) AS axle, CAST(NULL AS bigint) AS visit, r.happened_at AS at"
    return [
        (f"SELECT '{how}' AS how, {at_visit} {_READ} {where}", given),
        (f"SELECT '{how}' AS how, {itself} FROM measurements_reading r {where}{_ELSEWHERE}", given),
    ]


def _gauge(cause: Cause) -> list[Made]:
    return [*_reads(cause, "r.gauge_id", "read with it"), *_reads(cause, "r.ring_id", "gauge set on it")]


def _person(cause: Cause) -> list[Made]:
    signed = "record_signature g JOIN {} d ON d.signature_id = g.id JOIN builds_visit v ON v.id = d.visit_id"
    removal = "builds_removal m JOIN builds_fitted f ON f.id = m.fitted_id"
    weld = "builds_weld w JOIN builds_visit v ON v.id = w.visit_id"
    return [
        *_reads(cause, "r.person_id", "read"),
        _touch(cause),
        _one("fitted", _FITTED, "builds_fitted f", "f.person_id", "f.at", cause),
        _one("took out", _FITTED, removal, "m.person_id", "m.at", cause),
        _one("welded", _VISIT, weld, "w.welder_id", "w.ended_at", cause),
        _one("worked", _VISIT, "builds_visit v", "v.worked_by_id", "v.worked_at", cause),
        _one("signed", _VISIT, signed.format("builds_done"), "g.person_id", "g.at", cause),
        _one("released", _VISIT, signed.format("builds_hold"), "g.person_id", "g.at", cause),
    ]


def _touch(cause: Cause) -> Made:
    """Touch time counts when any of it lies in the range."""
    begun, values = during("p.begun_at", Between(None, cause.between.end))
    ended, more = during("p.ended_at", Between(cause.between.begin))
    lasts = f" AND (p.ended_at IS NULL OR {ended.removeprefix(' AND ')})" if ended else ""
    tables = "builds_span p JOIN builds_visit v ON v.id = p.visit_id"
    sql = f"SELECT 'worked' AS how, {_VISIT}, p.begun_at AS at FROM {tables}"
    return f"{sql} WHERE p.person_id = %s{begun}{lasts}", [cause.ids[0], *values, *more]


def _procedure(cause: Cause) -> list[Made]:
    tables = "builds_weld w JOIN builds_visit v ON v.id = w.visit_id"
    return [_one("welded by it", _VISIT, tables, "w.procedure_id", "w.ended_at", cause)]


def _terminal(cause: Cause) -> list[Made]:
    taken = _one("taken up at it", _VISIT, "builds_visit v", "v.terminal_id", "v.claimed_at", cause)
    return [*_reads(cause, "r.terminal_id", "read at it"), taken]


def _shift(cause: Cause) -> list[Made]:
    """Touch time that overlaps a shift; work on paper by the moment it was done."""
    stamp = "%s" if connection.vendor == "sqlite" else "%s::timestamptz"
    asked = " UNION ALL ".join(f"SELECT {stamp} AS begun, {stamp} AS ended" for _ in cause.shifts)
    given = [*(moment(at) for pair in cause.shifts for at in pair), cause.ids[0]]
    there = "JOIN builds_operation o ON o.id = v.operation_id WHERE o.station_id = %s"
    spans = (
        f"SELECT 'worked' AS how, {_VISIT}, p.begun_at AS at FROM ({asked}) h JOIN builds_span p"
        " ON p.begun_at < h.ended AND (p.ended_at IS NULL OR p.ended_at >= h.begun)"
        f" JOIN builds_visit v ON v.id = p.visit_id {there}"
    )
    paper = (
        f"SELECT 'worked' AS how, {_VISIT}, v.worked_at AS at FROM ({asked}) h"
        f" JOIN builds_visit v ON v.worked_at >= h.begun AND v.worked_at < h.ended {there}"
    )
    return [(spans, given), (paper, given)]


def _revision(cause: Cause) -> list[Made]:
    built = "a.item_id AS item, a.item_id AS axle, CAST(NULL AS bigint) AS visit"
    return [_one("built to it", built, "builds_axle a", "a.revision_id", "a.booked_at", cause)]


_PARTS: dict[CauseKind, Callable[[Cause], list[Made]]] = {
    CauseKind.GAUGE: _gauge,
    CauseKind.PERSON: _person,
    CauseKind.PROCEDURE: _procedure,
    CauseKind.TERMINAL: _terminal,
    CauseKind.STATION_SHIFT: _shift,
    CauseKind.REVISION: _revision,
}
