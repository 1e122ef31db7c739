"""What the floor view needs, as somebody would ask for it who writes SQL by hand: seven statements.

Written apart from the page's own, so that it is a floor and not a mirror; the benchmark holds both beside each other.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.conf import settings
from django.db import connection

from shop.clock import shop_day
from shop.models.hot_cursor import hot_cursor

Rows = list[tuple[Any, ...]]
IN_THE_HOUSE = "a.phase IN ('booked', 'kitted', 'floor', 'bought_off', 'certified')"
_OF_HOUSE = f"JOIN builds_axle a ON a.item_id = {{axle}} AND {IN_THE_HOUSE}"

HOUSE = f"""SELECT a.item_id, i.mark, a.phase, a.options, r.sha256, a.booked_at, a.closed_at, l.promised_to, c.name
FROM builds_axle a JOIN shop_item i ON i.id = a.item_id JOIN builds_line l ON l.id = a.line_id
JOIN builds_order o ON o.id = l.order_id JOIN shop_customer c ON c.id = o.customer_id
JOIN builds_revision r ON r.id = a.revision_id WHERE {IN_THE_HOUSE}"""

PASSES = f"""SELECT v.axle_id, v.item_id, o.number, v.number, v.state, p.name, v.claimed_at, v.done_at,
  v.set_down_note, v.set_down_position
FROM builds_visit v {_OF_HOUSE.format(axle="v.axle_id")}
JOIN builds_operation o ON o.id = v.operation_id JOIN shop_person p ON p.id = v.claimed_by_id
ORDER BY v.axle_id, v.number"""

TAGS = f"""SELECT t.axle_id, t.number, t.cause, t.stops_axle, t.opened_at, o.number, u.side
FROM builds_redtag t {_OF_HOUSE.format(axle="t.axle_id")} LEFT JOIN builds_disposition d ON d.tag_id = t.id
LEFT JOIN builds_operation o ON o.id = t.operation_id LEFT JOIN builds_unit u ON u.item_id = t.item_id
WHERE d.id IS NULL ORDER BY t.number"""

#: Units, what is set aside and fitted by role, and the events that waits count from.
BESIDE = f"""SELECT 'unit', u.axle_id, u.item_id, u.role, u.side, MAX(w.entered_at)
FROM builds_unit u {_OF_HOUSE.format(axle="u.axle_id")} LEFT JOIN builds_weld w ON w.item_id = u.item_id
GROUP BY u.axle_id, u.item_id, u.role, u.side
UNION ALL
SELECT 'aside', k.axle_id, k.host_id, k.role, '', NULL FROM builds_kitline k {_OF_HOUSE.format(axle="k.axle_id")}
WHERE k.returned_at IS NULL
UNION ALL
SELECT 'fitted', f.axle_id, f.host_id, f.role, '', NULL FROM builds_fitted f {_OF_HOUSE.format(axle="f.axle_id")}
LEFT JOIN builds_removal x ON x.fitted_id = f.id WHERE x.id IS NULL
UNION ALL
SELECT 'event', h.axle, 0, c.event, '', MAX(g.entered_at)
FROM (SELECT a.item_id AS axle, a.item_id AS item FROM builds_axle a WHERE {IN_THE_HOUSE}
  UNION ALL SELECT u.axle_id, u.item_id FROM builds_unit u {_OF_HOUSE.format(axle="u.axle_id")}) h
JOIN measurements_reading g ON g.item_id = h.item
JOIN measurements_characteristic c ON c.id = g.characteristic_id AND c.event <> ''
LEFT JOIN measurements_voiding z ON z.reading_id = g.id WHERE z.id IS NULL GROUP BY h.axle, c.event
UNION ALL
SELECT 'shorter', s.axle_id, o.number, '', '', MAX(g.at) FROM builds_shorterwait s
{_OF_HOUSE.format(axle="s.axle_id")} JOIN builds_operation o ON o.id = s.operation_id
JOIN record_signature g ON g.id = s.signature_id GROUP BY s.axle_id, o.number"""

RIGHT = """WITH first AS (
  SELECT v.id, v.operation_id FROM builds_visit v
  WHERE v.number = 1 AND v.claimed_at >= %s AND v.state NOT IN ('in_hand', 'set_down', 'wait_sign', 'excused')
), wrong AS (
  SELECT first.id FROM first JOIN builds_reopening b ON b.visit_id = first.id
  WHERE b.cause LIKE 'back %%' OR b.cause = 'hold not given'
  UNION
  SELECT first.id FROM first JOIN builds_visitsheet l ON l.visit_id = first.id
  JOIN measurements_reading g ON g.sheet_id = l.sheet_id AND g.verdict IN ('below', 'above', 'never', 'no')
  LEFT JOIN measurements_voiding z ON z.reading_id = g.id AND NOT z.counts
  WHERE z.id IS NULL AND NOT EXISTS (SELECT 1 FROM measurements_readinginput i
    JOIN measurements_voiding y ON y.reading_id = i.source_id AND NOT y.counts WHERE i.computed_id = g.id)
)
SELECT o.number, o.name, COUNT(*), COUNT(*) - COUNT(wrong.id)
FROM first JOIN builds_operation o ON o.id = first.operation_id LEFT JOIN wrong ON wrong.id = first.id
GROUP BY o.number, o.name ORDER BY o.number, o.name"""

#: PostgreSQL has the nearest rank as an aggregate and knows the shop's weeks.
_RANKED = """WITH done AS MATERIALIZED (
  SELECT v.id, v.operation_id, v.done_at, {elapsed} AS elapsed
  FROM builds_visit v WHERE v.state = 'done' AND v.done_at >= %s
), timed AS (
  SELECT done.operation_id, done.elapsed, COALESCE(SUM({touch}), 0) AS touch
  FROM done LEFT JOIN builds_span s ON s.visit_id = done.id AND s.ended_at IS NOT NULL
  GROUP BY done.id, done.operation_id, done.elapsed
)
SELECT t.code, NULL::date, COUNT(*), percentile_disc(ARRAY[0.5, 0.85]) WITHIN GROUP (ORDER BY touch),
  percentile_disc(ARRAY[0.5, 0.85]) WITHIN GROUP (ORDER BY elapsed)
FROM timed JOIN builds_operation o ON o.id = timed.operation_id JOIN shop_station t ON t.id = o.station_id
GROUP BY t.code
UNION ALL
SELECT '', date_trunc('week', done_at AT TIME ZONE %s)::date AS week, COUNT(*), NULL, NULL FROM done GROUP BY week"""
#: SQLite is asked for the rows; ranks and weeks are counted off outside the time that is taken.
_PLAIN = """SELECT t.code, v.done_at || '', COALESCE(
  (SELECT SUM({touch}) FROM builds_span s WHERE s.visit_id = v.id AND s.ended_at IS NOT NULL), 0), {elapsed}
FROM builds_visit v JOIN builds_operation o ON o.id = v.operation_id JOIN shop_station t ON t.id = o.station_id
WHERE v.state = 'done' AND v.done_at >= %s"""
STATIONS = "SELECT code, name FROM shop_station"


@dataclass
class ByHand:
    """The rows of each statement, as they came."""

    since: datetime
    rows: dict[str, Rows] = field(default_factory=dict)

    def ask(self) -> None:
        given = connection.ops.adapt_datetimefield_value(self.since)
        asked: dict[str, tuple[str, list[Any]]] = {
            "house": (HOUSE, []), "passes": (PASSES, []), "tags": (TAGS, []), "beside": (BESIDE, []),
            "times": times_statement(given), "right": (RIGHT, [given]), "stations": (STATIONS, []),
        }  # fmt: skip
        with hot_cursor(connection) as cursor:
            for name, (sql, values) in asked.items():
                cursor.execute(sql, values)
                self.rows[name] = cursor.fetchall()

    @property
    def serials(self) -> set[str]:
        return {str(row[1]) for row in self.rows["house"]}

    def finished(self) -> Counter[str]:
        """How many operations of each serial have been passed."""
        last: dict[tuple[int, int, int], str] = {}
        for axle, item, operation, _, state, *_ in self.rows["passes"]:
            last[axle, item, operation] = state
        marks = {row[0]: str(row[1]) for row in self.rows["house"]}
        return Counter(marks[axle] for (axle, _, _), state in last.items() if state in ("done", "excused"))

    def right(self) -> list[tuple[int, str, int, int]]:
        return [(number, name, count, right) for number, name, count, right in self.rows["right"]]

    def weeks(self) -> dict[date, int]:
        """How many passes were done in each week that had any, by its Monday in the shop."""
        if connection.vendor != "sqlite":
            return {monday: count for _, monday, count, *_ in self.rows["times"] if monday is not None}
        days = [shop_day(datetime.fromisoformat(f"{row[1]}+00:00")) for row in self.rows["times"]]
        return Counter(day - timedelta(days=day.weekday()) for day in days)

    def times(self) -> dict[str, tuple[int, float, float, float, float]]:
        """(how many, touch median and 85 %, elapsed median and 85 %) by station, in seconds."""
        if connection.vendor != "sqlite":
            rows = [row for row in self.rows["times"] if row[0]]
            return {code: (count, *touch, *elapsed) for code, _, count, touch, elapsed in rows}
        by: dict[str, list[list[float]]] = {}
        for code, _, touch, elapsed in self.rows["times"]:
            pair = by.setdefault(code, [[], []])
            pair[0].append(touch)
            pair[1].append(elapsed)
        return {code: (len(pair[0]), *_ranks(pair[0]), *_ranks(pair[1])) for code, pair in by.items()}


def _ranks(values: list[float]) -> tuple[float, float]:
    values.sort()
    return values[-(-len(values) * 50 // 100) - 1], values[-(-len(values) * 85 // 100) - 1]


def times_statement(since: Any) -> tuple[str, list[Any]]:
    """Times by station, and what was done in each week."""
    if connection.vendor == "sqlite":
        text, seconds, values = _PLAIN, "ROUND((julianday({}) - julianday({})) * 86400, 3)", [since]
    else:
        text, seconds = _RANKED, "EXTRACT(EPOCH FROM ({} - {}))::double precision"
        values = [since, settings.SHOP_TIME_ZONE]
    touch, elapsed = seconds.format("s.ended_at", "s.begun_at"), seconds.format("v.done_at", "v.claimed_at")
    return text.format(touch=touch, elapsed=elapsed), values
