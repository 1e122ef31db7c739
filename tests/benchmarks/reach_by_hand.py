"""What a reach list needs, as somebody would ask for it who writes SQL by hand: for one kind of cause, one statement.

Written apart from the tool's own, so that it is a floor and not a mirror. Each gives a row for an axle: key, serial,
phase, order, customer, consignee, and when it left.
"""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from django.db import connection

from builds.reports.reach.statements import moment
from shop.models.hot_cursor import hot_cursor

Rows = list[tuple[Any, ...]]
_AXLES = """
SELECT a.item_id, i.mark, a.phase, o.number, c.name, s.consignee, s.shipped_at
FROM builds_axle a JOIN shop_item i ON i.id = a.item_id JOIN builds_line l ON l.id = a.line_id
JOIN builds_order o ON o.id = l.order_id JOIN shop_customer c ON c.id = o.customer_id
LEFT JOIN builds_shipment s ON s.axle_id = a.item_id WHERE a.item_id {found}"""
_STEPS = (
    "SELECT p.item_id AS item FROM shop_piece p WHERE p.heat_id = r.item",
    "SELECT p.item_id FROM shop_piece p WHERE p.parent_id = r.item",
    "SELECT d.item_id FROM shop_drum d WHERE d.lot_id = r.item",
    "SELECT f.host_id FROM builds_fitted f WHERE f.part_id = r.item AND NOT EXISTS"
    " (SELECT 1 FROM builds_removal m WHERE m.fitted_id = f.id)",
    "SELECT w.item_id FROM builds_weld w WHERE w.wire_id = r.item",
    "SELECT u.axle_id FROM builds_unit u WHERE u.item_id = r.item AND u.axle_id IS NOT NULL",
)
_READ = """SELECT v.axle_id FROM measurements_reading r JOIN builds_visitsheet s ON s.sheet_id = r.sheet_id
JOIN builds_visit v ON v.id = s.visit_id WHERE r.{whose} = %s AND r.entered_at >= %s AND r.happened_at >= %s
AND r.happened_at < %s"""
_WORKED = """SELECT v.axle_id FROM builds_span n JOIN builds_visit v ON v.id = n.visit_id
WHERE n.person_id = %s AND n.begun_at < %s AND n.ended_at >= %s"""
_FITTED = "SELECT f.axle_id FROM builds_fitted f WHERE f.person_id = %s AND f.at >= %s AND f.at < %s"
_SIGNED = """SELECT v.axle_id FROM record_signature g JOIN builds_done d ON d.signature_id = g.id
JOIN builds_visit v ON v.id = d.visit_id WHERE g.person_id = %s AND g.at >= %s AND g.at < %s"""


def ask(sql: str, values: list[Any]) -> Rows:
    with hot_cursor(connection) as cursor:
        cursor.execute(sql, values)
        return list(cursor.fetchall())


def _inside(found: str) -> str:
    """The ids are collected before they meet the axles, where the planner would scan them all otherwise."""
    if connection.vendor == "postgresql":
        return _AXLES.format(found=f"= ANY (ARRAY({found}))")
    return _AXLES.format(found=f"IN ({found})")


def of_things(ids: list[int]) -> Rows:
    """Everything that these heats, bars, lots or drums are in now."""
    if connection.vendor == "postgresql":
        walk = f"SELECT x.item FROM r CROSS JOIN LATERAL ({' UNION ALL '.join(_STEPS)}) x"
        begin, values = "SELECT unnest(%s::bigint[])", [ids]
        sql = f"WITH RECURSIVE r(item) AS ({begin} UNION {walk}) {_inside('SELECT item FROM r')}"
        return ask(sql, values)
    steps = " ".join(f"UNION {step.replace(' WHERE ', ' JOIN r WHERE ', 1)}" for step in _STEPS)
    sql = f"WITH RECURSIVE r(item) AS (SELECT value FROM json_each(%s) {steps}) {_inside('SELECT item FROM r')}"
    return ask(sql, [json.dumps(ids)])


def of_gauge(gauge: int, begin: datetime, end: datetime) -> Rows:
    given = [gauge, moment(begin), moment(begin), moment(end)]
    return ask(_inside(_READ.format(whose="gauge_id")), given)


def of_person(person: int, begin: datetime, end: datetime) -> Rows:
    """Read, worked, fitted, signed: what the generated shop has of a person."""
    first, last = moment(begin), moment(end)
    sql = " UNION ".join([_READ.format(whose="person_id"), _WORKED, _FITTED, _SIGNED])
    work = [person, last, first, person, first, last, person, first, last]
    return ask(_inside(sql), [person, first, first, last, *work])


def readings_of_gauge(gauge: int, begin: datetime, end: datetime) -> Rows:
    return ask(
        "SELECT r.id, r.item_id FROM measurements_reading r WHERE r.gauge_id = %s AND r.entered_at >= %s"
        " AND r.entered_at < %s",
        [gauge, moment(begin), moment(end)],
    )


_BACK = (
    "SELECT f.part_id AS item FROM builds_fitted f WHERE f.host_id = r.item",
    "SELECT f.part_id FROM builds_fitted f WHERE f.axle_id = r.item",
    "SELECT u.item_id FROM builds_unit u WHERE u.axle_id = r.item",
    "SELECT w.wire_id FROM builds_weld w WHERE w.item_id = r.item AND w.wire_id IS NOT NULL",
    "SELECT p.heat_id FROM shop_piece p WHERE p.item_id = r.item AND p.heat_id IS NOT NULL",
    "SELECT p.parent_id FROM shop_piece p WHERE p.item_id = r.item AND p.parent_id IS NOT NULL",
    "SELECT d.lot_id FROM shop_drum d WHERE d.item_id = r.item",
)


def inside(axle: int) -> Rows:
    """Everything in one axle, and what was: key, kind, sort, mark, where."""
    if connection.vendor == "postgresql":
        steps = f"UNION SELECT x.item FROM r CROSS JOIN LATERAL ({' UNION ALL '.join(_BACK)}) x"
        found = "= ANY (ARRAY(SELECT item FROM r))"
    else:
        steps = " ".join(f"UNION {step.replace(' WHERE ', ' JOIN r WHERE ', 1)}" for step in _BACK)
        found = "IN (SELECT item FROM r)"
    return ask(
        f'WITH RECURSIVE r(item) AS (SELECT CAST(%s AS bigint) {steps}) SELECT i.id, i.kind, i.sort, i.mark, p."where"'
        f" FROM shop_item i LEFT JOIN shop_place p ON p.item_id = i.id WHERE i.id {found}",
        [axle],
    )
