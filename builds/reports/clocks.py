"""The units of some axles, what their clocks count from and their passes, in one hand-written statement.

Five small questions that are always asked together; asked apart, each costs more to build than to answer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, NamedTuple

from django.db import connection

from builds.definitions.words import LAST_ARC
from builds.models import Bench
from builds.progress import VisitFact
from shop.models.hot_cursor import hot_cursor
from shop.models.prepared import keys_given, one_of

#: Items of the axle: itself and its units. Joined, so that the index of the big table is met by item.
_OWN = """WITH own (axle, item) AS (
  SELECT u.axle_id, u.item_id FROM builds_unit u WHERE u.axle_id {among}
  UNION ALL SELECT a.item_id, a.item_id FROM builds_axle a WHERE a.item_id {among}
)
"""
_OWN_ALONE = "WITH own (axle, item) AS (SELECT u.item_id, u.item_id FROM builds_unit u WHERE u.item_id {among})\n"
_PASSES = """SELECT 'pass', v.{key}, v.item_id, v.state, t.code, v.claimed_at,
  v.id, o.number, v.number, p.name, v.done_at, v.set_down_note, v.set_down_position
FROM builds_visit v JOIN builds_operation o ON o.id = v.operation_id
JOIN shop_station t ON t.id = o.station_id JOIN shop_person p ON p.id = v.claimed_by_id WHERE v.{key} {among}{alone}
UNION ALL
"""
_CLOCKS = """SELECT 'event', own.axle, 0, '{last_arc}', '', MAX(w.entered_at){rest}
  FROM own JOIN builds_weld w ON w.item_id = own.item GROUP BY own.axle
UNION ALL
SELECT 'event', own.axle, 0, c.event, '', MAX(r.entered_at){rest}
  FROM own JOIN measurements_reading r ON r.item_id = own.item
  JOIN measurements_characteristic c ON c.id = r.characteristic_id AND c.event <> ''
  WHERE NOT EXISTS (SELECT 1 FROM measurements_voiding v WHERE v.reading_id = r.id) GROUP BY own.axle, c.event
UNION ALL
SELECT 'unit', u.{key}, u.item_id, u.role, u.{side}, NULL{rest} FROM builds_unit u WHERE u.{key} {among}
UNION ALL
SELECT 'shorter', s.axle_id, o.number, '', '', MAX(g.at){rest}
  FROM builds_shorterwait s JOIN builds_operation o ON o.id = s.operation_id
  JOIN record_signature g ON g.id = s.signature_id WHERE s.axle_id {among} GROUP BY s.axle_id, o.number
"""
_REST = ", 0, 0, 0, '', NULL, '', ''"
_OF_AXLES = {"key": "axle_id", "side": "side", "alone": ""}
#: Of units that are in no axle: what was done on them under one, before its record was closed, stays there.
_ALONE = {"key": "item_id", "side": "built_side", "alone": " AND v.axle_id IS NULL"}

Units = dict[tuple[str, str], int]


class Passed(NamedTuple):
    """One visit as far as the standing of its axle needs it: of which operation, and on which item."""

    operation: int
    item: int
    visit: VisitFact


@dataclass(frozen=True)
class Clocks:
    """Of each axle: its units by (role, side); the latest of each event that a wait counts from, by the server's
    clock, so no typed time shortens it; when the shorter wait of an operation was last signed; and its passes in
    their order, where they were asked for."""

    units: dict[int, Units] = field(default_factory=lambda: defaultdict(dict))
    events: dict[int, dict[str, datetime]] = field(default_factory=lambda: defaultdict(dict))
    shortened: dict[int, dict[int, datetime]] = field(default_factory=lambda: defaultdict(dict))
    passes: dict[int, list[Passed]] = field(default_factory=lambda: defaultdict(list))


def clocks_of(bench: Bench) -> Clocks:
    """Of an axle, or of a unit that is in none, without the passes. One statement."""
    own = _OWN if bench.as_axle is not None else _OWN_ALONE
    return _read([bench.pk], own + _CLOCKS, "", _OF_AXLES if bench.as_axle is not None else _ALONE)


def clocks_and_passes(axles: Sequence[int]) -> Clocks:
    """One statement as well: who asks where an axle stands asks for all of it."""
    return _in_order(_read(axles, _OWN + _PASSES + _CLOCKS, _REST, _OF_AXLES))


def of_units_alone(units: Sequence[int]) -> Clocks:
    """The same of units that are in no axle, by the unit."""
    return _in_order(_read(units, _OWN_ALONE + _PASSES + _CLOCKS, _REST, _ALONE))


def _in_order(found: Clocks) -> Clocks:
    for passes in found.passes.values():
        passes.sort(key=lambda one: one.visit.number)
    return found


def _read(given: Sequence[int], text: str, rest: str, columns: Mapping[str, str]) -> Clocks:
    found = Clocks()
    if not given:
        return found
    keys = keys_given(given, connection)
    sql = text.format(among=one_of(connection), last_arc=LAST_ARC, rest=rest, **columns)
    with hot_cursor(connection) as cursor:
        cursor.execute(sql, [keys] * sql.count("%s"))
        rows = cursor.fetchall()
    for what, axle, number, word, side, at, *more in rows:
        if what == "pass":
            pk, operation, passed, person, done_at, note, place = more
            ended = moment(done_at) if done_at is not None else None
            visit = VisitFact(pk, passed, word, person, moment(at), ended, note, place, side)
            found.passes[axle].append(Passed(operation, number, visit))
        elif what == "unit":
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
