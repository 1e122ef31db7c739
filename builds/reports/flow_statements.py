"""How work flowed, asked of the database by hand: thousands of passes are counted and ranked where that is cheapest.

Percentiles are by nearest rank: of n values in order the one at place ceil(share x n). PostgreSQL ranks by itself.
SQLite gives its passes and they are ranked here: measured, its windows take three times as long as handing them over.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple

from django.db import connection

from builds.models import VisitState
from measurements.models import OUT
from shop.models.hot_cursor import hot_cursor

#: Met by the index on what was done; the bounds are moments, because a database does not know the shop's midnight.
_DONE = "FROM builds_visit v {joined}WHERE v.state = '{done}' AND v.done_at >= %s"
#: Every station stands in the answer with its place and name, whether anything was done there or not.
_RANKED = """
WITH done AS MATERIALIZED (
  SELECT v.id, v.operation_id, v.done_at, {elapsed} AS elapsed {done}
), timed AS (
  SELECT done.operation_id, done.elapsed, COALESCE(SUM({touch}), 0) AS touch
  FROM done LEFT JOIN builds_span s ON s.visit_id = done.id AND s.ended_at IS NOT NULL
  GROUP BY done.id, done.operation_id, done.elapsed
)
SELECT -1 AS week, COUNT(*), p.code, p.name,
  percentile_disc(ARRAY[0.5, 0.85]) WITHIN GROUP (ORDER BY timed.touch),
  percentile_disc(ARRAY[0.5, 0.85]) WITHIN GROUP (ORDER BY timed.elapsed)
FROM timed JOIN builds_operation o ON o.id = timed.operation_id JOIN shop_station p ON p.id = o.station_id
GROUP BY p.code, p.name
UNION ALL SELECT -2, "order", code, name, NULL, NULL FROM shop_station
UNION ALL SELECT CASE {weeks} END, COUNT(*), '', '', NULL, NULL FROM done GROUP BY 1
"""
_HANDED_OVER = """
SELECT p.code, p.name, v.done_at || '', {elapsed},
  (SELECT SUM({touch}) FROM builds_span s WHERE s.visit_id = v.id AND s.ended_at IS NOT NULL) {done}
UNION ALL SELECT code, name, NULL, "order", NULL FROM shop_station
"""
_JOINED = "JOIN builds_operation o ON o.id = v.operation_id JOIN shop_station p ON p.id = o.station_id "

_FIRST = "v.number = 1 AND v.claimed_at >= %s AND v.state IN ('{done}', '{redo}')"
#: What went wrong is joined and not asked of every pass: the database begins at what is less. Grouped by the bare
#: column, SQLite reads the passes of all years in that order; by a sum it takes the index on what was begun.
_RIGHT = """
WITH wrong AS (
  SELECT v.id FROM builds_visit v JOIN builds_reopening b ON b.visit_id = v.id
  WHERE {first} AND (b.cause LIKE 'back %%' OR b.cause = 'hold not given')
  UNION
  SELECT v.id FROM builds_visit v JOIN builds_visitsheet l ON l.visit_id = v.id
  JOIN measurements_reading r ON r.sheet_id = l.sheet_id
  WHERE {first} AND r.verdict IN ({out})
    AND NOT EXISTS (SELECT 1 FROM measurements_voiding g WHERE g.reading_id = r.id AND NOT g.counts)
    AND NOT EXISTS (SELECT 1 FROM measurements_readinginput i
      JOIN measurements_voiding g ON g.reading_id = i.source_id WHERE i.computed_id = r.id AND NOT g.counts)
), counted AS (
  SELECT v.operation_id + 0 AS operation_id, COUNT(*) AS passed, COUNT(*) - COUNT(wrong.id) AS good
  FROM builds_visit v LEFT JOIN wrong ON wrong.id = v.id WHERE {first} GROUP BY v.operation_id + 0
)
SELECT o.number, o.name, CAST(SUM(c.passed) AS bigint), CAST(SUM(c.good) AS bigint)
FROM counted c JOIN builds_operation o ON o.id = c.operation_id
GROUP BY o.number, o.name ORDER BY o.number, o.name
"""

Statement = tuple[str, list[Any]]
Ranks = tuple[float, float]


class Ranked(NamedTuple):
    """How many passes of one station were done, with the median and 85 % of touch and of elapsed time, in seconds."""

    passes: int
    touch: Ranks
    elapsed: Ranks


class Told(NamedTuple):
    """Passes done in each week, by its place among the Mondays asked for; the stations where any was done, by code;
    and of every station (place, code, name)."""

    weeks: Mapping[int, int]
    stations: Mapping[str, Ranked]
    every: Sequence[tuple[int, str, str]]


def flow_of(mondays: Sequence[datetime]) -> Told:
    """One statement. `mondays`: the moments at which the shop's weeks begin, the first of them the earliest told of."""
    rows = rows_of(flow_statement(mondays))
    return _handed_over(rows, mondays) if connection.vendor == "sqlite" else _ranked(rows)


def flow_statement(mondays: Sequence[datetime]) -> Statement:
    first, *later = map(_given, mondays)
    words = {"touch": _seconds("s.ended_at", "s.begun_at"), "elapsed": _seconds("v.done_at", "v.claimed_at")}
    if connection.vendor == "sqlite":
        done = _DONE.format(done=VisitState.DONE, joined=_JOINED)
        return _HANDED_OVER.format(done=done, **words), [first]
    done = _DONE.format(done=VisitState.DONE, joined="")
    cases = [f"WHEN done.done_at < %s THEN {number}" for number in range(len(later))]
    return _RANKED.format(done=done, weeks=" ".join([*cases, f"ELSE {len(later)}"]), **words), [first, *later]


def _ranked(rows: Sequence[tuple[Any, ...]]) -> Told:
    weeks, stations, every = {}, {}, []
    for week, count, code, name, touch, elapsed in rows:
        if week >= 0:
            weeks[week] = count
        elif elapsed is None:
            every.append((count, code, name))
        else:
            stations[code] = Ranked(count, tuple(touch), tuple(elapsed))
    return Told(weeks, stations, every)


def _handed_over(rows: Sequence[tuple[Any, ...]], mondays: Sequence[datetime]) -> Told:
    later = [_given(monday) for monday in mondays[1:]]
    every = [(order, code, name) for code, name, done_at, order, _ in rows if done_at is None]
    done = [row for row in rows if row[2] is not None]
    weeks = Counter([bisect_right(later, row[2]) for row in done])
    taken: dict[str, list[tuple[Any, ...]]] = defaultdict(list)
    for row in done:
        taken[row[0]].append(row)
    stations = {
        code: Ranked(len(some), _ranks([row[4] or 0.0 for row in some]), _ranks([row[3] for row in some]))
        for code, some in taken.items()
    }
    return Told(weeks, stations, every)


def _ranks(values: list[float]) -> Ranks:
    values.sort()
    median, most = (-(-len(values) * share // 100) - 1 for share in (50, 85))
    return values[median], values[most]


def right_statement(since: datetime) -> Statement:
    """Rows (operation number, name, first passes begun since and ended, how many of them right at once)."""
    out = ", ".join(f"'{word}'" for word in OUT)
    first = _FIRST.format(done=VisitState.DONE, redo=VisitState.REDO)
    return _RIGHT.format(out=out, first=first), [_given(since)] * 3


def rows_of(statement: Statement) -> list[tuple[Any, ...]]:
    with hot_cursor(connection) as cursor:
        cursor.execute(*statement)
        return list(cursor.fetchall())


def _given(moment: datetime) -> Any:
    return connection.ops.adapt_datetimefield_value(moment)


def _seconds(end: str, begin: str) -> str:
    if connection.vendor == "sqlite":
        return f"ROUND((julianday({end}) - julianday({begin})) * 86400, 3)"
    return f"CAST(EXTRACT(EPOCH FROM ({end} - {begin})) AS double precision)"
