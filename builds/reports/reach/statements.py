"""The hand-written statements of the reach list: one form for each database, from one list of edges.

On PostgreSQL the recursion's ids are collected before they meet a big table (`= ANY(ARRAY(SELECT ...))`); joined
plainly the planner would scan every axle. SQLite is quick with the plain form.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any

from django.db import connection

from builds.reports.reach.blanks import Blank
from builds.reports.reach.cause import Between
from builds.reports.reach.spelling import for_each_named
from shop.models.prepared import keys_given

#: PostgreSQL has to be told of what kind an absent value is.
_NO_ID, _NO_TIME = "CAST(NULL AS bigint)", "CAST(NULL AS timestamp with time zone)"


@dataclass(frozen=True)
class EdgeOf:
    """One way from a thing to what it became or went into. `rest`: visit, row (a fitting by its key,
    a stay that is over by its own below nought), role, when in, when out.

    `ends`: it leads to an axle, from which no way leads on, so the walk need not stand there to look around.
    """

    how: str
    table: str
    source: str
    target: str
    rest: str = f"{_NO_ID}, {_NO_ID}, '', {_NO_TIME}, {_NO_TIME}"
    where: str = ""
    when: str = ""
    ends: bool = False


_FITTED = "e.visit_id, e.id, e.role, e.at, (SELECT m.at FROM builds_removal m WHERE m.fitted_id = e.id)"
_WELDED = f"e.visit_id, {_NO_ID}, e.joint, e.ended_at, {_NO_TIME}"
_STAY = f"{_NO_ID}, {_NO_ID}, ''"
#: Every column is indexed; a test explains the whole on both databases.
EDGES = (
    EdgeOf("melt", "shop_piece", "heat_id", "item_id"),
    EdgeOf("melt", "shop_part", "heat_id", "item_id"),
    EdgeOf("cut", "shop_piece", "parent_id", "item_id"),
    EdgeOf("opened", "shop_drum", "lot_id", "item_id"),
    EdgeOf("fitted", "builds_fitted", "part_id", "host_id", _FITTED, when="at"),
    EdgeOf("wire", "builds_weld", "wire_id", "item_id", _WELDED, when="ended_at"),
    EdgeOf(
        "unit",
        "builds_unit",
        "item_id",
        "axle_id",
        f"{_STAY}, e.joined_at, {_NO_TIME}",
        "e.axle_id IS NOT NULL",
        ends=True,
    ),
    EdgeOf(
        "unit",
        "builds_parted",
        "unit_id",
        "axle_id",
        f"{_NO_ID}, -e.id, '', e.since, e.at",
        "NOT e.withdrawn",
        ends=True,
    ),
)
#: The same, from a thing to what is in it. A piece of no known melt leads nowhere.
BACKWARDS = tuple(
    replace(edge, source=edge.target, target=edge.source, where=f"e.{edge.source} IS NOT NULL", ends=False)
    for edge in EDGES
)
#: Of an axle `a` on the floor the work that is in hand, or was last. Asked axle by axle: as a join to the passes,
#: PostgreSQL would read all of them.
STANDS = """(SELECT y.name || ': ' || z.number || ' ' || z.name
  FROM builds_visit q JOIN builds_operation z ON z.id = q.operation_id JOIN shop_station y ON y.id = z.station_id
  WHERE q.axle_id = CASE WHEN a.phase IN ('booked', 'kitted', 'floor') THEN a.item_id END
  ORDER BY CASE WHEN q.state IN ('in_hand', 'set_down', 'wait_sign') THEN 0 ELSE 1 END, q.claimed_at DESC LIMIT 1)"""
Values = list[Any]


def edges(seeds: Sequence[int], between: Between) -> tuple[str, Values]:
    """Every edge that can be walked from these items: (how, source, target, visit, row, role, in, out).

    `between` narrows fittings and welds; what was made of what is not a matter of days.
    """
    step, step_values = _step(between)
    kept, kept_values = _kept(between)
    roots, root_values = ids_of(seeds)
    sql = f"WITH RECURSIVE reach(item) AS (SELECT item FROM ({roots}) seeds {step}) {kept}"
    return sql, [*root_values, *step_values, *kept_values]


def inside(axle: int, until: datetime | None) -> tuple[str, Values]:
    """Every edge on a way into the axle, with what it leads from in words, for fittings and welds before `until`.

    (how, host, part, visit, row, role, in, out, kind, sort, mark, role of a unit, its side); the first row is the axle
    itself. Each edge is met once: what was found is the walk, and no look through the tables follows it.
    """
    sql, moments = _inside(connection.vendor, is_bounded=until is not None)
    return sql, [axle, *[moment(until)] * moments]


@lru_cache
def _inside(_vendor: str, *, is_bounded: bool) -> tuple[str, int]:
    """The text, and how many moments it asks for."""
    end: Any = Blank(0, "end") if is_bounded else None
    between, steps, values = Between(None, end), [], Values()
    for edge in BACKWARDS:
        narrowed, more = _narrowed(edge, between)
        values += more
        tied = f"FROM {edge.table} e WHERE e.{edge.source} = up.part{narrowed}"
        select = f"SELECT '{edge.how}' AS how, e.{edge.source}, e.{edge.target} AS part, {edge.rest}"
        steps.append(
            f"UNION {select} FROM up CROSS JOIN {tied.removeprefix('FROM ')}" if _here() else f"{select} {tied}"
        )
    every = " ".join(steps)
    if not _here():
        every = f"UNION SELECT x.* FROM up CROSS JOIN LATERAL ({' UNION ALL '.join(steps)}) x"
    none = f"{_NO_ID}, {_NO_ID}, CAST('' AS varchar), {_NO_TIME}, {_NO_TIME}"
    begin = f"SELECT CAST('' AS text), {_NO_ID}, CAST(%s AS bigint), {none}"
    words = for_each_named(
        "shop_item i LEFT JOIN builds_unit u ON u.item_id = i.id",
        "i.id = up.part",
        {"kind": "i.kind", "sort": "i.sort", "mark": "i.mark", "of": "u.role", "side": "u.side"},
    )
    return (
        f"WITH RECURSIVE up(how, host, part, visit, row_key, role, begun, ended) AS ({begin} {every})"
        f" SELECT up.*, {', '.join(words[0].values())} FROM up {words[1]}",
        len(values),
    )


def _here() -> bool:
    return connection.vendor == "sqlite"


def ids_of(ids: Sequence[int]) -> tuple[str, Values]:
    """The ids as rows with one column `item`, as one value of the statement however many there are."""
    if _here():
        return "SELECT value AS item FROM json_each(%s)", [as_ids(ids)]
    if len(ids) == 1:
        return "SELECT %s::bigint AS item", list(ids)
    # Behind a SELECT of its own the planner does not count them, and so keeps one plan for any number.
    return "SELECT unnest((SELECT %s::bigint[])) AS item", [as_ids(ids)]


def as_ids(ids: Sequence[int]) -> Any:
    """The ids as one value of a statement."""
    first = ids[0] if ids else None
    return first._replace(what="ids") if isinstance(first, Blank) else keys_given(ids, connection)


def among(column: str, ids: Sequence[int]) -> tuple[str, Values]:
    """A condition that the column is one of these."""
    if connection.vendor == "sqlite":
        return f"{column} IN (SELECT value FROM json_each(%s))", [json.dumps(list(ids))]
    return f"{column} = ANY(%s::bigint[])", [list(ids)]


def among_words(column: str, words: Sequence[str]) -> tuple[str, Values]:
    """The same for words."""
    if connection.vendor == "sqlite":
        return f"{column} IN (SELECT value FROM json_each(%s))", [json.dumps(list(words))]
    return f"{column} = ANY(%s::text[])", [list(words)]


def _step(between: Between) -> tuple[str, Values]:
    values: Values = []
    parts = []
    for edge in EDGES:
        if edge.ends:
            continue
        narrowed, more = _narrowed(edge, between)
        values += more
        if connection.vendor == "sqlite":
            parts.append(
                f"UNION SELECT e.{edge.target} FROM reach JOIN {edge.table} e ON e.{edge.source} = reach.item{narrowed}"
            )
        else:
            parts.append(
                f"SELECT e.{edge.target} AS item FROM {edge.table} e WHERE e.{edge.source} = reach.item{narrowed}"
            )
    if connection.vendor == "sqlite":
        return " ".join(parts), values
    return f"UNION SELECT further.item FROM reach CROSS JOIN LATERAL ({' UNION ALL '.join(parts)}) further", values


def _kept(between: Between) -> tuple[str, Values]:
    values: Values = []
    parts = []
    inside = "IN (SELECT item FROM reach)" if connection.vendor == "sqlite" else "= ANY(ARRAY(SELECT item FROM reach))"
    for edge in EDGES:
        narrowed, more = _narrowed(edge, between)
        values += more
        parts.append(
            f"SELECT '{edge.how}' AS how, e.{edge.source}, e.{edge.target}, {edge.rest}"
            f" FROM {edge.table} e WHERE e.{edge.source} {inside}{narrowed}"
        )
    return " UNION ALL ".join(parts), values


def _narrowed(edge: EdgeOf, between: Between) -> tuple[str, Values]:
    words = f" AND {edge.where}" if edge.where else ""
    values: Values = []
    if edge.when:
        more, values = during(f"e.{edge.when}", between)
        words += more
    return words, values


def during(column: str, between: Between) -> tuple[str, Values]:
    """The condition that a moment lies in the range, to be put behind another."""
    words = ""
    values: Values = []
    if between.begin is not None:
        words, values = f" AND {column} >= %s", [moment(between.begin)]
    if between.end is not None:
        words, values = f"{words} AND {column} < %s", [*values, moment(between.end)]
    return words, values


def moment(at: datetime | Blank | None) -> Any:
    """A moment as the database takes it in a statement of our own."""
    return at if isinstance(at, Blank) else connection.ops.adapt_datetimefield_value(at)


def rows(made: tuple[str, Values]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(made[0], made[1])
        return list(cursor.fetchall())


def as_moment(value: Any) -> datetime | None:
    """A moment out of a statement of our own: SQLite keeps it in UTC and says no zone."""
    if value is None:
        return None
    if isinstance(value, datetime):
        return value if value.tzinfo is not None else value.replace(tzinfo=UTC)
    return datetime.fromisoformat(f"{value}+00:00")
