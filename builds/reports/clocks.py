"""The units of some axles and what their clocks count from, in one hand-written statement.

Four small questions that are always asked together; asked apart, each costs more to build than to answer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from django.db import connection

from builds.definitions.words import LAST_ARC

#: Items of the axle: itself and its units. Joined, so that the index of the big table is met by item.
_SQL = """
WITH own (axle, item) AS (
  SELECT u.axle_id, u.item_id FROM builds_unit u WHERE u.axle_id IN ({axles})
  UNION ALL SELECT a.item_id, a.item_id FROM builds_axle a WHERE a.item_id IN ({axles})
)
SELECT 'unit', u.axle_id, u.item_id, u.role, u.side, NULL FROM builds_unit u WHERE u.axle_id IN ({axles})
UNION ALL
SELECT 'event', own.axle, 0, '{last_arc}', '', MAX(w.entered_at)
  FROM own JOIN builds_weld w ON w.item_id = own.item GROUP BY own.axle
UNION ALL
SELECT 'event', own.axle, 0, c.event, '', MAX(r.entered_at)
  FROM own JOIN measurements_reading r ON r.item_id = own.item
  JOIN measurements_characteristic c ON c.id = r.characteristic_id AND c.event <> ''
  WHERE NOT EXISTS (SELECT 1 FROM measurements_voiding v WHERE v.reading_id = r.id) GROUP BY own.axle, c.event
UNION ALL
SELECT 'shorter', s.axle_id, o.number, '', '', MAX(g.at)
  FROM builds_shorterwait s JOIN builds_operation o ON o.id = s.operation_id
  JOIN record_signature g ON g.id = s.signature_id WHERE s.axle_id IN ({axles}) GROUP BY s.axle_id, o.number
"""

Units = dict[tuple[str, str], int]


@dataclass(frozen=True)
class Clocks:
    """Of each axle: its units by (role, side); the latest of each event that a wait counts from, by the server's
    clock, so no typed time shortens it; and when the shorter wait of an operation was last signed."""

    units: dict[int, Units] = field(default_factory=lambda: defaultdict(dict))
    events: dict[int, dict[str, datetime]] = field(default_factory=lambda: defaultdict(dict))
    shortened: dict[int, dict[int, datetime]] = field(default_factory=lambda: defaultdict(dict))


def clocks_of(axles: Sequence[int]) -> Clocks:
    """One statement, however many axles."""
    found = Clocks()
    if not axles:
        return found
    with connection.cursor() as cursor:
        cursor.execute(_SQL.format(axles=", ".join(["%s"] * len(axles)), last_arc=LAST_ARC), [*axles] * 4)
        rows = cursor.fetchall()
    for what, axle, number, word, side, at in rows:
        if what == "unit":
            found.units[axle][word, side] = number
        elif what == "shorter":
            found.shortened[axle][number] = moment(at)
        else:
            found.events[axle][word] = max(moment(at), found.events[axle].get(word, moment(at)))
    return found


def moment(at: Any) -> datetime:
    """A moment out of a statement whose columns name no type: SQLite gives its text, which is UTC."""
    found = at if isinstance(at, datetime) else datetime.fromisoformat(at)
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)
