"""What a reach list needs, as somebody would ask for it who writes SQL by hand: for one kind of cause, one statement.

Written apart from the tool's own, so that it is a floor and not a mirror. It gives the same rows with the same columns:
every touched thing at its place, axles with order, consignee and date, what was formerly fitted, what cannot be told;
it walks in time, over units that moved from axle to axle. It leaves out the ways, which the answer tells when asked,
and that a melt may be named for an axle before it is cut, which the generated shop never does.
"""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any, NamedTuple

from django.db import connection
from psycopg.types.numeric import Int8

from builds.reports.reach.statements import moment
from shop.models.hot_cursor import hot_cursor

Rows = list[tuple[Any, ...]]


class Line(NamedTuple):
    """A row of the answer: `place` as the page's anchors call it."""

    place: str
    kind: str
    sort: str
    mark: str
    axle: str
    where: str | None
    order: str
    consignee: str
    day: Any
    note: str | None
    host: str | None
    role: str | None
    side: str | None
    kits: str | None


def ask(sql: str, values: list[Any]) -> Rows:
    with hot_cursor(connection) as cursor:
        cursor.execute(sql, values)
        return list(cursor.fetchall())


def _here() -> bool:
    return connection.vendor == "sqlite"


#: (table, from, to, when in, when out, row that is over, more). `m` is the removal of a fitting.
_STEPS = (
    ("shop_piece e", "heat_id", "item_id", "", "", "0", ""),
    ("shop_part e", "heat_id", "item_id", "", "", "0", ""),
    ("shop_piece e", "parent_id", "item_id", "", "", "0", ""),
    ("shop_drum e", "lot_id", "item_id", "", "", "0", ""),
    ("builds_fitted e LEFT JOIN builds_removal m ON m.fitted_id = e.id", "part_id", "host_id", "e.at", "m.at",
     "CASE WHEN m.at IS NULL THEN 0 ELSE e.id END", "{fitted}"),
    ("builds_weld e", "wire_id", "item_id", "e.ended_at", "", "0", "{welded}"),
    ("builds_unit e", "item_id", "axle_id", "e.joined_at", "", "0", " AND e.axle_id IS NOT NULL"),
    ("builds_parted e", "unit_id", "axle_id", "e.since", "e.at", "-e.id", " AND NOT e.withdrawn"),
)  # fmt: skip


def _walk(name: str, begin: str, between: tuple[datetime, datetime] | None) -> tuple[str, list[Any]]:
    """r(item, begun, ended, over): in time; `between` narrows what was fitted and welded."""
    ever, never = ("''", "'~'") if _here() else ("'-infinity'::timestamptz", "'infinity'::timestamptz")
    later, sooner = ("MAX", "MIN") if _here() else ("GREATEST", "LEAST")
    days = {"fitted": "", "welded": ""}
    values: list[Any] = []
    if between is not None:
        days = {"fitted": " AND e.at >= %s AND e.at < %s", "welded": " AND e.ended_at >= %s AND e.ended_at < %s"}
        values = [moment(at) for at in between] * 2
    begin = begin.format(ever=ever, never=never)
    parts = []
    for table, source, target, at, until, over, more in _STEPS:
        at, until = (
            f"COALESCE({at or 'NULL'}, {ever})" if at else ever,
            f"COALESCE({until}, {never})" if until else never,
        )
        tied = f"WHERE e.{source} = r.item{more.format(**days)}"
        if _here():
            parts.append(
                f"UNION SELECT e.{target}, {later}(r.begun, {at}), {sooner}(r.ended, {until}), {over}"
                f" FROM {name} r CROSS JOIN {table} {tied} AND {later}(r.begun, {at}) <= {sooner}(r.ended, {until})"
            )
        else:
            parts.append(f"SELECT e.{target} AS item, {at} AS at, {until} AS until, {over} AS over FROM {table} {tied}")
    steps = " ".join(parts)
    if not _here():
        both = f"{later}(r.begun, x.at)", f"{sooner}(r.ended, x.until)"
        steps = (
            f"UNION SELECT x.item, {both[0]}, {both[1]}, x.over FROM {name} r CROSS JOIN LATERAL"
            f" ({' UNION ALL '.join(parts)}) x WHERE {both[0]} <= {both[1]}"
        )
    return f"{name}(item, begun, ended, over) AS ({begin} {steps})", values


_ORDER = (
    " JOIN builds_line l ON l.id = a.line_id JOIN builds_order o ON o.id = l.order_id"
    " JOIN shop_customer c ON c.id = o.customer_id LEFT JOIN builds_shipment s ON s.axle_id = a.item_id"
)
_AT_WORK = """(SELECT t.name || ': ' || v.number || ' ' || v.name FROM builds_visit q
 JOIN builds_operation v ON v.id = q.operation_id JOIN shop_station t ON t.id = v.station_id
 WHERE q.axle_id = a.item_id AND a.phase = 'floor'
 ORDER BY CASE WHEN q.state IN ('in_hand', 'set_down', 'wait_sign') THEN 0 ELSE 1 END, q.claimed_at DESC LIMIT 1)"""
_KITS = """(SELECT {joined}(b.mark, ', ') FROM builds_kitline k JOIN shop_item b ON b.id = k.axle_id
 WHERE k.part_id = i.id AND k.returned_at IS NULL AND NOT EXISTS
 (SELECT 1 FROM builds_fitted f WHERE f.part_id = k.part_id AND f.axle_id = k.axle_id))"""
_NO, _WHEN = "CAST(NULL AS text)", "CAST(NULL AS timestamp with time zone)"
_AXLES = f"""SELECT {{place}}, 'axle', '', i.mark, i.mark, COALESCE({_AT_WORK}, a.phase), o.number,
 COALESCE(s.consignee, c.name), COALESCE(s.shipped_at, a.closed_at), {_NO}, {_NO}, {_NO}, {_NO}, {_NO}
 FROM builds_axle a JOIN shop_item i ON i.id = a.item_id{_ORDER} WHERE a.item_id {{found}}"""
_BY_PHASE = """CASE a.phase WHEN 'gone' THEN 'shipped' WHEN 'back' THEN 'back' WHEN 'retired' THEN 'gone'
 WHEN 'certified' THEN 'closed' WHEN 'bought_off' THEN 'closed' ELSE 'floor' END"""
_LYING = """ LEFT JOIN shop_place p ON p.item_id = i.id LEFT JOIN shop_item h ON h.id = p.host_id
 LEFT JOIN builds_unit u ON u.item_id = i.id"""
_THINGS = f"""SELECT {{place}}, i.kind, i.sort, i.mark, '', p."where", '', '',
 CAST(NULL AS timestamp with time zone), p.note, h.mark, u.role, u.side, {_KITS}
 FROM shop_item i{_LYING} WHERE i.id {{found}} AND i.kind NOT IN ('heat', 'axle', 'gauge', 'batch', 'delivery')
 AND COALESCE(p."where", '') NOT IN ('fitted', 'cut_up') AND u.axle_id IS NULL"""
_BY_KIND = """CASE WHEN i.kind = 'unit' THEN 'units' WHEN p."where" IN ('scrap', 'supplier', 'shipped') THEN 'gone'
 WHEN i.kind = 'piece' THEN 'remnants' ELSE 'stock' END"""
#: What is scrapped is told by where it was, when it was somewhere.
_NOT_TOLD = """ AND (p."where" NOT IN ('scrap', 'supplier', 'shipped') OR p."where" IS NULL OR i.id NOT IN
 (SELECT f.part_id FROM builds_fitted f WHERE f.id {over}))"""
_FORMERLY = f"""SELECT 'formerly', i.kind, i.sort, i.mark, COALESCE(n.mark, ''), p."where", COALESCE(o.number, ''),
 COALESCE(s.consignee, c.name, ''), {{at}}, p.note, h.mark, u.role, u.side, {{to}} FROM {{tables}}
 JOIN shop_item i ON i.id = {{source}} LEFT JOIN builds_axle a ON a.item_id = {{axle}} LEFT JOIN shop_item n
 ON n.id = a.item_id{_ORDER.replace(" JOIN", " LEFT JOIN").replace("LEFT LEFT", "LEFT")}{_LYING}
 WHERE {{over}} AND ({{axle}} IS NULL OR {{axle}} IN (SELECT item FROM have))"""


def _collected(ids: str) -> str:
    """The ids are collected before they meet a big table, which the planner would read as a whole otherwise."""
    return f"IN ({ids})" if _here() else f"= ANY (ARRAY({ids}))"


def _answer(parts: list[str], values: list[Any], *, doubt: bool = False) -> list[Line]:
    """The recursions, and then every place. Those of a sure way that lasts, then what is over, then the doubtful."""
    never, joined = ("'~'", "group_concat") if _here() else ("'infinity'", "string_agg")
    kits = {"joined": joined}
    still = _collected("SELECT item FROM have WHERE lasts = 1")
    over = _collected("SELECT over FROM r WHERE over > 0")
    parted = _collected("SELECT -over FROM r WHERE over < 0")
    have = f"have(item, lasts) AS (SELECT item, MAX(CASE WHEN ended = {never} THEN 1 ELSE 0 END) FROM r GROUP BY item)"
    host = "CASE WHEN j.kind = 'axle' THEN f.host_id ELSE f.axle_id END"
    lists = [
        _AXLES.format(place=_BY_PHASE, found=still),
        _THINGS.format(place=_BY_KIND, found=still, **kits) + _NOT_TOLD.format(over=over),
        _FORMERLY.format(
            tables="builds_fitted f JOIN builds_removal m ON m.fitted_id = f.id JOIN shop_item j ON j.id = f.host_id",
            source="f.part_id", axle=host, at="m.at", to='m."to"', over=f"f.id {over}",
        ),
        _FORMERLY.format(
            tables="builds_parted f", source="f.unit_id", axle="f.axle_id", at="f.at", to=_NO, over=f"f.id {parted}"
        ),
    ]  # fmt: skip
    if doubt:
        may = _collected("SELECT item FROM d EXCEPT SELECT item FROM have")
        lists += [_AXLES.format(place="'unknown'", found=may), _THINGS.format(place="'unknown'", found=may, **kits)]
    every = " UNION ALL ".join(f"SELECT * FROM ({one}) x" if _here() else f"({one})" for one in lists)
    return [Line(*row) for row in ask(f"WITH RECURSIVE {', '.join([*parts, have])} {every}", values)]


def of_things(ids: list[int], *, steel: bool = False) -> list[Line]:
    """Everything that these heats, bars, lots or drums are in, or were. `steel`: and what may be of it."""
    given = "SELECT value AS item FROM json_each(%s)" if _here() else "SELECT unnest((SELECT %s::bigint[])) AS item"
    zero = "CAST(0 AS bigint)"
    sure, _ = _walk("r", f"SELECT g.item, {{ever}}, {{never}}, {zero} FROM ({given}) g", None)
    parts, values = [sure], [json.dumps(ids) if _here() else [Int8(pk) for pk in ids]]
    if steel:
        begin = f"SELECT p.item_id, {{ever}}, {{never}}, {zero} FROM shop_piece p WHERE p.heat_id IS NULL"
        parts.append(_walk("d", begin, None)[0])
    return _answer(parts, values, doubt=steel)


_READ = """SELECT COALESCE(v.item_id, r.item_id) AS item, r.happened_at AS at FROM measurements_reading r
 LEFT JOIN builds_visitsheet s ON s.sheet_id = r.sheet_id LEFT JOIN builds_visit v ON v.id = s.visit_id
 WHERE r.{whose} = %s AND r.entered_at >= %s AND r.happened_at >= %s AND r.happened_at < %s"""
_WORKED = (
    "SELECT v.item_id, n.begun_at FROM builds_span n JOIN builds_visit v ON v.id = n.visit_id WHERE n.person_id = %s"
    " AND n.begun_at < %s AND (n.ended_at IS NULL OR n.ended_at >= %s)",
)
_AT = (
    "SELECT f.host_id, f.at FROM builds_fitted f WHERE f.person_id = %s AND f.at >= %s AND f.at < %s",
    "SELECT f.host_id, m.at FROM builds_removal m JOIN builds_fitted f ON f.id = m.fitted_id WHERE m.person_id = %s"
    " AND m.at >= %s AND m.at < %s",
    "SELECT v.item_id, g.at FROM record_signature g JOIN builds_done d ON d.signature_id = g.id"
    " JOIN builds_visit v ON v.id = d.visit_id WHERE g.person_id = %s AND g.at >= %s AND g.at < %s",
    "SELECT v.item_id, g.at FROM record_signature g JOIN builds_hold d ON d.signature_id = g.id"
    " JOIN builds_visit v ON v.id = d.visit_id WHERE g.person_id = %s AND g.at >= %s AND g.at < %s",
    "SELECT v.item_id, w.ended_at FROM builds_weld w JOIN builds_visit v ON v.id = w.visit_id WHERE w.welder_id = %s"
    " AND w.ended_at >= %s AND w.ended_at < %s",
    "SELECT v.item_id, v.worked_at FROM builds_visit v WHERE v.worked_by_id = %s AND v.worked_at >= %s"
    " AND v.worked_at < %s",
)


def _worked(parts: list[str], values: list[Any], between: tuple[datetime, datetime]) -> list[Line]:
    begin = f"SELECT item, MIN(at), {{never}}, CAST(0 AS bigint) FROM ({' UNION ALL '.join(parts)}) w GROUP BY item"
    walk, more = _walk("r", begin, between)
    return _answer([walk], [*values, *more])


def of_gauge(gauge: int, begin: datetime, end: datetime) -> list[Line]:
    first, last = moment(begin), moment(end)
    parts = [_READ.format(whose="gauge_id"), _READ.format(whose="ring_id")]
    return _worked(parts, [gauge, first, first, last] * 2, (begin, end))


def of_person(person: int, begin: datetime, end: datetime) -> list[Line]:
    """Everything in which a person can have had a hand."""
    first, last = moment(begin), moment(end)
    values = [person, first, first, last, person, last, first, *([person, first, last] * len(_AT))]
    return _worked([_READ.format(whose="person_id"), *_WORKED, *_AT], values, (begin, end))


def readings_of_gauge(gauge: int, begin: datetime, end: datetime) -> Rows:
    return ask(
        "SELECT r.id, r.item_id FROM measurements_reading r WHERE r.gauge_id = %s AND r.entered_at >= %s"
        " AND r.entered_at < %s",
        [gauge, moment(begin), moment(end)],
    )


#: (table, from, to, role, in, out, more)
_BACK = (
    ("builds_fitted e LEFT JOIN builds_removal m ON m.fitted_id = e.id", "host_id", "part_id", "e.role", "e.at", "m.at",
     " AND e.at < %s"),
    ("builds_unit e", "axle_id", "item_id", "''", "e.joined_at", "", " AND (e.joined_at IS NULL OR e.joined_at < %s)"),
    ("builds_parted e", "axle_id", "unit_id", "''", "e.since", "e.at",
     " AND NOT e.withdrawn AND (e.since IS NULL OR e.since < %s)"),
    ("builds_weld e", "item_id", "wire_id", "e.joint", "e.ended_at", "",
     " AND e.ended_at < %s AND e.wire_id IS NOT NULL"),
    ("shop_piece e", "item_id", "heat_id", "''", "", "", " AND e.heat_id IS NOT NULL"),
    ("shop_piece e", "item_id", "parent_id", "''", "", "", " AND e.parent_id IS NOT NULL"),
    ("shop_part e", "item_id", "heat_id", "''", "", "", " AND e.heat_id IS NOT NULL"),
    ("shop_drum e", "item_id", "lot_id", "''", "", "", ""),
)  # fmt: skip


def inside(axle: int, until: datetime) -> Rows:
    """Everything in one axle by that moment, and what was: key, kind, sort, mark, role and side of a unit, fitted as
    what, since when, and when that, or what it was in, came out, if it did."""
    ever, never = ("''", "'~'") if _here() else ("'-infinity'::timestamptz", "'infinity'::timestamptz")
    later, sooner = ("MAX", "MIN") if _here() else ("GREATEST", "LEAST")
    steps, values = [], [axle]
    for table, source, target, role, since, out, more in _BACK:
        values += [moment(until)] * more.count("%s")
        at, end = f"COALESCE({since}, {ever})" if since else ever, f"COALESCE({out}, {never})" if out else never
        row = f"e.{target} AS item, CAST({role} AS text) AS role, {since or _WHEN} AS since, {at} AS at, {end} AS until"
        tied = f"{table} WHERE e.{source} = r.item{more}"
        if _here():
            both = f"{later}(r.begun, {at}), {sooner}(r.ended, {end})"
            steps.append(
                f"UNION SELECT e.{target}, {role}, {since or _WHEN}, {both} FROM r CROSS JOIN {tied}"
                f" AND {later}(r.begun, {at}) <= {sooner}(r.ended, {end})"
            )
        else:
            steps.append(f"SELECT {row} FROM {tied}")
    every = " ".join(steps)
    if not _here():
        every = (
            f"UNION SELECT x.item, x.role, x.since, {later}(r.begun, x.at), {sooner}(r.ended, x.until) FROM r"
            f" CROSS JOIN LATERAL ({' UNION ALL '.join(steps)}) x"
            f" WHERE {later}(r.begun, x.at) <= {sooner}(r.ended, x.until)"
        )
    named = "SELECT i.id, i.kind, i.sort, i.mark, u.role AS of, u.side FROM shop_item i LEFT JOIN builds_unit u"
    join = f"CROSS JOIN LATERAL ({named} ON u.item_id = i.id WHERE i.id = r.item OFFSET 0) i"
    if _here():
        join = f"JOIN ({named} ON u.item_id = i.id) i ON i.id = r.item"
    return ask(
        f"WITH RECURSIVE r(item, role, since, begun, ended) AS (SELECT CAST(%s AS bigint), CAST('' AS text), {_WHEN},"
        f" {ever}, {never} {every}) SELECT i.id, i.kind, i.sort, i.mark, i.of, i.side, r.role, r.since,"
        f" CASE WHEN r.ended < %s THEN r.ended END FROM r {join}",
        [*values, moment(until)],
    )
