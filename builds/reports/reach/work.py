"""What a gauge, a person, a procedure, a terminal, a shift or a revision worked on: hand-written, one statement each.

`seeds` tells how, how often and when, for the ways; `worked` is the set only, each pass met once however many hands the
cause had in it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.db import connection

from builds.reports.reach.cause import Between, Cause, CauseKind
from builds.reports.reach.spelling import for_each
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
#: What a reading says of each kind of cause, and in which words.
_READS = {
    CauseKind.GAUGE: (("r.gauge_id", "read with it"), ("r.ring_id", "gauge set on it")),
    CauseKind.PERSON: (("r.person_id", "read"),),
    CauseKind.TERMINAL: (("r.terminal_id", "read at it"),),
}
_SIGNED = "record_signature g JOIN {} d ON d.signature_id = g.id"


@dataclass(frozen=True)
class Hand:
    """A hand in a pass: `visit` and `column` (of the cause) of these tables, and when it was."""

    how: str
    tables: str
    visit: str
    column: str
    when: str


_HANDS = {
    CauseKind.PERSON: (
        Hand("welded", "builds_weld w", "w.visit_id", "w.welder_id", "w.ended_at"),
        Hand("worked", "builds_visit z", "z.id", "z.worked_by_id", "z.worked_at"),
        Hand("signed", _SIGNED.format("builds_done"), "d.visit_id", "g.person_id", "g.at"),
        Hand("released", _SIGNED.format("builds_hold"), "d.visit_id", "g.person_id", "g.at"),
    ),
    CauseKind.PROCEDURE: (Hand("welded by it", "builds_weld w", "w.visit_id", "w.procedure_id", "w.ended_at"),),
    CauseKind.TERMINAL: (Hand("taken up at it", "builds_visit z", "z.id", "z.terminal_id", "z.claimed_at"),),
}


def seeds(cause: Cause) -> Made:
    """(how, item, axle, visit, how often, first, last) of everything that the cause worked on."""
    made = [made for column, how in _READS.get(cause.kind, ()) for made in _reads(cause, column, how)]
    made += [_hand(cause, hand) for hand in _HANDS.get(cause.kind, ())]
    if cause.kind is CauseKind.PERSON:
        made.append(_touch(cause))
    made += _other(cause)
    rows, values = _all(made)
    return (
        "SELECT how, item, axle, visit, COUNT(*), MIN(at), MAX(at)"
        f" FROM ({rows}) worked GROUP BY how, item, axle, visit",
        values,
    )


def worked(cause: Cause) -> Made:
    """(item, visit, at) of the same; a thing may stand there several times."""
    readings, values = _all([_sheets(cause, column) for column, _ in _READS.get(cause.kind, ())])
    passes = [_plain(cause, hand) for hand in _HANDS.get(cause.kind, ())]
    if cause.kind is CauseKind.PERSON:
        passes.append(_spans(cause))
    others = [(f"SELECT item, visit, at FROM ({sql}) other", more) for sql, more in _other(cause)]
    parts: list[Made] = []
    begin = ""
    if readings:
        begin = f"WITH readings(sheet, item, at) AS MATERIALIZED ({readings}) "
        sheets = for_each("builds_visitsheet s", "s.sheet_id = readings.sheet", "s")
        passes.append((f"SELECT s.visit_id AS visit, readings.at AS at FROM readings {sheets}", []))
        parts.append(("SELECT item, CAST(NULL AS bigint) AS visit, at FROM readings", []))
    if passes:
        sql, more = _all(passes)
        once = f"(SELECT visit, MIN(at) AS at FROM ({sql}) had GROUP BY visit) passes"
        visits = for_each("builds_visit v", "v.id = passes.visit", "v")
        parts.append((f"SELECT v.item_id AS item, passes.visit AS visit, passes.at AS at FROM {once} {visits}", more))
    sql, more = _all([*parts, *others])
    return begin + sql, [*values, *more]


def _all(made: list[Made]) -> Made:
    return " UNION ALL ".join(sql for sql, _ in made), [value for _, more in made for value in more]


def _one(how: str, what: str, tables: str, column: str, when: str, cause: Cause) -> Made:
    narrowed, values = during(when, cause.between)
    sql = f"SELECT '{how}' AS how, {what}, {when} AS at FROM {tables} WHERE {column} = %s{narrowed}"
    return sql, [cause.ids[0], *values]


def _hand(cause: Cause, hand: Hand) -> Made:
    tables = f"{hand.tables} JOIN builds_visit v ON v.id = {hand.visit}"
    return _one(hand.how, _VISIT, tables, hand.column, hand.when, cause)


def _plain(cause: Cause, hand: Hand) -> Made:
    narrowed, values = during(hand.when, cause.between)
    sql = f"SELECT {hand.visit} AS visit, {hand.when} AS at FROM {hand.tables} WHERE {hand.column} = %s{narrowed}"
    return sql, [cause.ids[0], *values]


def _sheets(cause: Cause, column: str) -> Made:
    """Each sheet once. The index is by when a reading was entered; an index by when it happened, of all gauges and all
    people, would be of no help, so it is kept out of PostgreSQL's sight."""
    entered, values = during("r.entered_at", Between(cause.between.begin))
    happened, more = during("had.at", cause.between)
    apart = "" if connection.vendor == "sqlite" else " OFFSET 0"
    read = "SELECT r.sheet_id AS sheet, r.item_id AS item, r.happened_at AS at FROM measurements_reading r"
    return (
        f"SELECT sheet, item, MIN(at) AS at FROM ({read} WHERE {column} = %s{entered}{apart}) had"
        f" WHERE 1 = 1{happened} GROUP BY sheet, item",
        [cause.ids[0], *values, *more],
    )


def _reads(cause: Cause, column: str, how: str) -> list[Made]:
    """By the moment it was read. A reading is entered no earlier, and an index is by that: so both are asked."""
    entered, values = during("r.entered_at", Between(cause.between.begin))
    happened, more = during("r.happened_at", cause.between)
    where, given = f"WHERE {column} = %s{entered}{happened}", [cause.ids[0], *values, *more]
    at_visit = "COALESCE(v.item_id, r.item_id) AS item, v.axle_id AS axle, v.id AS visit, r.happened_at AS at"
    itself = "r.item_id AS item, CAST(NULL AS bigint) AS axle, CAST(NULL AS bigint) AS visit, r.happened_at AS at"
    return [
        (f"SELECT '{how}' AS how, {at_visit} {_READ} {where}", given),
        (f"SELECT '{how}' AS how, {itself} FROM measurements_reading r {where}{_ELSEWHERE}", given),
    ]


def _other(cause: Cause) -> list[Made]:
    return _PARTS[cause.kind](cause) if cause.kind in _PARTS else []


def _person(cause: Cause) -> list[Made]:
    removal = "builds_removal m JOIN builds_fitted f ON f.id = m.fitted_id"
    return [
        _one("fitted", _FITTED, "builds_fitted f", "f.person_id", "f.at", cause),
        _one("took out", _FITTED, removal, "m.person_id", "m.at", cause),
    ]


def _touch(cause: Cause) -> Made:
    spans, values = _spanned(cause)
    tables = "builds_span p JOIN builds_visit v ON v.id = p.visit_id"
    return f"SELECT 'worked' AS how, {_VISIT}, p.begun_at AS at FROM {tables} {spans}", values


def _spans(cause: Cause) -> Made:
    spans, values = _spanned(cause)
    return f"SELECT p.visit_id AS visit, p.begun_at AS at FROM builds_span p {spans}", values


def _spanned(cause: Cause) -> Made:
    """Touch time counts when any of it lies in the range."""
    begun, values = during("p.begun_at", Between(None, cause.between.end))
    ended, more = during("p.ended_at", Between(cause.between.begin))
    lasts = f" AND (p.ended_at IS NULL OR {ended.removeprefix(' AND ')})" if ended else ""
    return f"WHERE p.person_id = %s{begun}{lasts}", [cause.ids[0], *values, *more]


def _shift(cause: Cause) -> list[Made]:
    """Touch time that overlaps a shift; work on paper by the moment it was done."""
    stamp = "%s" if connection.vendor == "sqlite" else "%s::timestamptz"
    asked = " UNION ALL ".join(f"SELECT {stamp} AS begun, {stamp} AS ended" for _ in cause.shifts)
    given = [*(moment(at) for pair in cause.shifts for at in pair), cause.ids[0]]
    there = "JOIN builds_operation o ON o.id = v.operation_id WHERE o.station_id = %s"
    spans = (
        f"SELECT 'worked' AS how, {_VISIT}, p.begun_at AS at FROM ({asked}) hours JOIN builds_span p"
        " ON p.begun_at < hours.ended AND (p.ended_at IS NULL OR p.ended_at >= hours.begun)"
        f" JOIN builds_visit v ON v.id = p.visit_id {there}"
    )
    paper = (
        f"SELECT 'worked' AS how, {_VISIT}, v.worked_at AS at FROM ({asked}) hours"
        f" JOIN builds_visit v ON v.worked_at >= hours.begun AND v.worked_at < hours.ended {there}"
    )
    return [(spans, given), (paper, given)]


def _revision(cause: Cause) -> list[Made]:
    built = "a.item_id AS item, a.item_id AS axle, CAST(NULL AS bigint) AS visit"
    return [_one("built to it", built, "builds_axle a", "a.revision_id", "a.booked_at", cause)]


_PARTS: dict[CauseKind, Callable[[Cause], list[Made]]] = {
    CauseKind.PERSON: _person,
    CauseKind.STATION_SHIFT: _shift,
    CauseKind.REVISION: _revision,
}
