"""How work flowed, asked of the database by hand: it counts and ranks thousands of passes where they lie.

Percentiles are by nearest rank: of n values in order the one at place ceil(share x n), in whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db import connection

from builds.models import VisitState
from measurements.models import OUT
from shop.models.hot_cursor import hot_cursor

_MEDIAN, _MOST = "(r.n * 50 + 99) / 100", "(r.n * 85 + 99) / 100"

#: Met by the index on what was done; the bounds are moments, because a database does not know the shop's midnight.
_FLOW = """
WITH done AS (
  SELECT v.id, v.operation_id, v.claimed_at, v.done_at FROM builds_visit v
  WHERE v.state = '{done}' AND v.done_at >= %s
), touched AS (
  SELECT s.visit_id, SUM({touch}) AS seconds FROM done JOIN builds_span s ON s.visit_id = done.id
  WHERE s.ended_at IS NOT NULL GROUP BY s.visit_id
), timed AS (
  SELECT o.station_id, COALESCE(t.seconds, 0) AS touch, {elapsed} AS elapsed
  FROM done JOIN builds_operation o ON o.id = done.operation_id LEFT JOIN touched t ON t.visit_id = done.id
), ranked AS (
  SELECT station_id, touch, elapsed, COUNT(*) OVER (PARTITION BY station_id) AS n,
    ROW_NUMBER() OVER (PARTITION BY station_id ORDER BY touch) AS by_touch,
    ROW_NUMBER() OVER (PARTITION BY station_id ORDER BY elapsed) AS by_elapsed
  FROM timed
)
SELECT -1 AS week, r.n AS n, p.code, p.name,
  MAX(CASE WHEN r.by_touch = {median} THEN r.touch END), MAX(CASE WHEN r.by_touch = {most} THEN r.touch END),
  MAX(CASE WHEN r.by_elapsed = {median} THEN r.elapsed END), MAX(CASE WHEN r.by_elapsed = {most} THEN r.elapsed END)
FROM ranked r JOIN shop_station p ON p.id = r.station_id GROUP BY r.n, p.code, p.name
UNION ALL
SELECT CASE {weeks} END, COUNT(*), '', '', 0, 0, 0, 0 FROM done GROUP BY 1
"""

_RIGHT = """
SELECT o.number, o.name, COUNT(*), SUM(CASE WHEN
  EXISTS (SELECT 1 FROM builds_reopening b WHERE b.visit_id = v.id
    AND (b.cause LIKE 'back %%' OR b.cause = 'hold not given'))
  OR EXISTS (SELECT 1 FROM builds_visitsheet l JOIN measurements_reading r ON r.sheet_id = l.sheet_id
    WHERE l.visit_id = v.id AND r.verdict IN ({out})
    AND NOT EXISTS (SELECT 1 FROM measurements_voiding g WHERE g.reading_id = r.id)
    AND NOT EXISTS (SELECT 1 FROM measurements_readinginput i
      JOIN measurements_voiding g ON g.reading_id = i.source_id WHERE i.computed_id = r.id))
  THEN 0 ELSE 1 END)
FROM builds_visit v JOIN builds_operation o ON o.id = v.operation_id
WHERE v.number = 1 AND v.claimed_at >= %s AND v.state IN ('{done}', '{redo}')
GROUP BY o.number, o.name ORDER BY o.number, o.name
"""

Statement = tuple[str, list[Any]]


def flow_statement(mondays: Sequence[datetime]) -> Statement:
    """Rows (week, how many) by their place among the moments at which the shop's weeks begin; and with week -1
    (how many, code, name, touch median and 85 %, elapsed median and 85 %) of each station, in seconds."""
    later = [_given(monday) for monday in mondays[1:]]
    weeks = " ".join(f"WHEN done.done_at < %s THEN {number}" for number in range(len(later)))
    sql = _FLOW.format(
        done=VisitState.DONE, touch=_seconds("s.ended_at", "s.begun_at"),
        elapsed=_seconds("done.done_at", "done.claimed_at"), median=_MEDIAN, most=_MOST,
        weeks=f"{weeks} ELSE {len(later)}",
    )  # fmt: skip
    return sql, [_given(mondays[0]), *later]


def right_statement(since: datetime) -> Statement:
    """Rows (operation number, name, first passes begun since and ended, how many of them right at once)."""
    out = ", ".join(f"'{word}'" for word in OUT)
    return _RIGHT.format(out=out, done=VisitState.DONE, redo=VisitState.REDO), [_given(since)]


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
