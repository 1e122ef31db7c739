"""A question answered: every touched thing in its place.

One statement, whatever it finds, and no object for what it finds. The ways that connect the things are told by
`explained.py`, when somebody asks for them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from django.db import connection
from django.utils import timezone

from builds.reports.reach.answer import Reached, Row, Spot, by_place
from builds.reports.reach.asked import asked
from builds.reports.reach.cause import Question
from builds.reports.reach.explained import Explained
from builds.reports.reach.facts import WORDS, lies, what
from builds.reports.reach.listing import AXLES, THINGS, OverLine, ThingLine
from builds.reports.reach.statements import as_moment
from builds.reports.reach.touching import DOUBT, FORMER
from shop.models.hot_cursor import hot_cursor

_SPOT_OF_PHASE = {
    "booked": Spot.FLOOR, "kitted": Spot.FLOOR, "floor": Spot.FLOOR, "bought_off": Spot.CLOSED,
    "certified": Spot.CLOSED, "gone": Spot.SHIPPED, "back": Spot.BACK, "retired": Spot.GONE,
}  # fmt: skip
_STANDS = {"gone": "shipped", "bought_off": "bought off", "floor": "on the floor"}
_WENT = ("scrap", "supplier", "shipped")
Raw = tuple[Any, ...]


def reach(question: Question, *, at: datetime | None = None) -> Reached:
    """The reach list of the question as things stand now. `at` is only printed on it."""
    sql, values = asked(question)
    with hot_cursor(connection) as cursor:
        cursor.execute(sql, values)
        found = cursor.fetchall()
    told_by = Explained(question)
    axles: dict[int, tuple[int, Row]] = {}
    for held, row in _axles(found, told_by):
        before = axles.get(row.item)
        if before is None or _later(row, before[1]):
            axles[row.item] = held, row
    former = list(_formerly(found, axles, told_by))
    told, told_axles = {row.item for row in former}, {row.axle for row in former}
    rows = [
        row for held, row in axles.values() if held != FORMER and (row.spot is not Spot.GONE or row.item not in told)
    ]
    rows += [row for row in _things(found, told_by) if row.spot is not Spot.GONE or row.item not in told]
    rows += former
    # Touched only by what was in a part that is in it still, or was.
    rows += [
        row._replace(spot=Spot.FORMERLY)
        for held, row in axles.values()
        if held == FORMER and row.axle not in told_axles
    ]
    return Reached(question, by_place(rows), told_by, at or timezone.now())


def _axles(found: Sequence[Raw], told_by: Explained) -> Iterator[tuple[int, Row]]:
    """A row for an axle; of one that was shipped twice a row for each time."""
    for sort, held, item, _, _, left, mark, phase, order, customer, consignee, stands, *_ in found:
        if sort == AXLES:
            spot = _SPOT_OF_PHASE[phase] if held != DOUBT else Spot.UNKNOWN
            where = (phase == "floor" and stands) or _STANDS.get(phase) or phase
            to, day = consignee or customer, as_moment(left)
            yield held, Row(spot, "axle", mark, item, mark, where, order, to, day, True, 0, told_by)


def _later(one: Row, other: Row) -> bool:
    """Of an axle that was shipped twice the last counts."""
    return one.day is not None and (other.day is None or one.day > other.day)


def _things(found: Sequence[Raw], told_by: Explained) -> Iterator[Row]:
    for raw in found:
        if raw[0] == THINGS:
            line = ThingLine(*raw[1 : 1 + len(ThingLine._fields)])
            where = lies(line.where, line.host, line.note)
            where += f"; set aside for {line.kits}" if line.kits and not line.host else ""
            said = what(line.kind, line.sort, line.role, line.side)
            yield Row(_spot(line), said, line.mark, line.item, "", where, told_by=told_by)


def _spot(line: ThingLine) -> Spot:
    if line.held == DOUBT:
        return Spot.UNKNOWN
    if line.kind == "unit":
        return Spot.UNITS
    if line.where in _WENT:
        return Spot.GONE
    return Spot.REMNANTS if line.kind == "piece" else Spot.STOCK


def _formerly(found: Sequence[Raw], axles: dict[int, tuple[int, Row]], told_by: Explained) -> Iterator[Row]:
    """What came out, and whole units that left. While it was there, every cause must have touched the axle."""
    for raw in found:
        if raw[0] in (AXLES, THINGS):
            continue
        line = OverLine(*raw[1 : 1 + len(OverLine._fields)])
        axle = line.host if line.host_kind == "axle" else line.axle
        if axle is not None and axle not in axles:
            continue
        order, consignee, serial = "", "", ""
        if axle is not None:
            of = axles[axle][1]
            order, consignee, serial = of.order, of.consignee, of.mark
        where = _is_now(line) or " ".join(
            word for word in ("went to:", WORDS.get(line.went or "", ""), line.said) if word
        )
        said = what(line.kind, line.sort, line.role, line.side)
        day = as_moment(line.until)
        yield Row(
            Spot.FORMERLY,
            said,
            line.mark,
            line.item,
            serial,
            where,
            order,
            consignee,
            day,
            False,
            line.row_key,
            told_by,
        )


def _is_now(line: OverLine) -> str:
    """Where a thing is that is in one place only; empty for a lot, a drum or a heat."""
    if line.kind not in ("part", "piece", "unit"):
        return ""
    return f"now in {line.now_in}" if line.now_in else f"now {lies(line.where, line.holder, line.note)}"
