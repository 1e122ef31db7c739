"""Backwards: everything that is in one axle on a chosen day, down to the melt, and what was in it and is out by then.

Two statements for the walk and five for what is said of the things, whatever their number.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from operator import itemgetter
from typing import Any, NamedTuple

from django.db import connection

from builds.models import Axle
from builds.reports.reach.asking import morning
from builds.reports.reach.facts import what
from builds.reports.reach.statements import as_moment, inside
from builds.reports.reach.telling import lasted
from builds.reports.reach.walking import ALWAYS, Window, overlap
from shop.clock import shop_day
from shop.errors import Refusal
from shop.lists import CsvList
from shop.models.hot_cursor import hot_cursor

_EVER, _NEVER = ALWAYS
_IN_ORDER = itemgetter(0, 1, 2)


class Inside(NamedTuple):
    """One thing on one way into the axle. `out`: when it, or what it was in, came out again; None: it is in."""

    item: int
    what: str
    mark: str
    role: str
    since: datetime | None
    out: datetime | None
    way: tuple[str, ...]

    @property
    def path(self) -> str:
        return " → ".join(self.way)


@dataclass(frozen=True)
class Contents:
    axle: Axle
    day: date
    lines: tuple[Inside, ...]

    @property
    def now_in(self) -> list[Inside]:
        return [line for line in self.lines if line.out is None]

    @property
    def formerly(self) -> list[Inside]:
        return [line for line in self.lines if line.out is not None]


def on_day(typed: str, axle: Axle, now: datetime) -> date:
    """The day that was typed; empty is today. Raises Refusal for no day, one ahead, or one before the booking."""
    today, booked = shop_day(now), shop_day(axle.booked_at)
    if not typed.strip():
        return today
    try:
        day = date.fromisoformat(typed.strip())
    except ValueError as error:
        raise Refusal("Write the day as year-month-day, such as 2025-11-20.", field="day") from error
    if day > today:
        raise Refusal(f"{day} lies ahead; today is {today}. What will be in it nobody knows.", field="day")
    if day < booked:
        raise Refusal(f"{axle.serial} was booked on {booked}; on {day} there was no such axle.", field="day")
    return day


class _In(NamedTuple):
    """An edge from a thing to what it went into, with the thing in words. In the order in which they are listed."""

    side: str
    what: str
    mark: str
    item: int
    role: str
    at: datetime | None
    until: datetime | None
    is_fitting: bool

    @property
    def words(self) -> str:
        return self.mark if self.what == "axle" else f"{self.what} {self.mark}"


def contents(axle: Axle, day: date) -> Contents:
    """What was in the axle at the end of that day, by the shop's clock. One statement, and no object for a thing."""
    until = morning(day + timedelta(days=1)) or _NEVER
    sql, values = inside(axle.pk, until)
    with hot_cursor(connection) as cursor:
        cursor.execute(sql, values)
        into = _by_host(cursor.fetchall(), until)
    return Contents(axle, day, tuple(_walked(axle, into, until)))


def _by_host(found: Sequence[tuple[Any, ...]], until: datetime) -> dict[int, list[_In]]:
    """Without the short cut: a melt that is told by its bar."""
    cut = {row[1] for row in found if row[0] == "cut"}
    into: dict[int, list[_In]] = defaultdict(list)
    for how, host, part, _, row_key, role, begun, ended, kind, sort, mark, of, side in found:
        at = as_moment(begun)
        if host is None or (how == "melt" and host in cut) or (at is not None and at >= until):
            continue
        one = _In(side or "", what(kind, sort, of, side), mark, part, role, at, as_moment(ended), row_key is not None)
        into[host].append(one)
    for those in into.values():
        those.sort(key=_IN_ORDER)
    return into


def _walked(axle: Axle, into: dict[int, list[_In]], until: datetime) -> list[Inside]:
    lines: list[Inside] = []

    def down(host: int, way: tuple[str, ...], out: datetime | None, seen: frozenset[int], window: Window) -> None:
        for one in into.get(host, ()):
            both = overlap(window, (one.at or _EVER, one.until or _NEVER))
            if one.item in seen or both is None:
                continue
            gone = one.until if one.until is not None and one.until < until else None
            ended = gone if out is None else out if gone is None else min(out, gone)
            here = (*way, one.words + (lasted(one.at, one.until, one.is_fitting) if gone else ""))
            lines.append(Inside(one.item, one.what, one.mark, one.role.replace("_", " "), one.at, ended, here))
            if one.item in into:
                down(one.item, here, ended, seen | {one.item}, both)

    down(axle.pk, (axle.serial,), None, frozenset({axle.pk}), ALWAYS)
    return lines


def as_csv(found: Contents) -> CsvList:
    head = ("axle", "day", "state", "what", "mark", "fitted as", "since", "out since", "path")
    lines = [
        (
            found.axle.serial, found.day, "formerly in it" if line.out else "in it", line.what, line.mark, line.role,
            line.since, line.out, line.path,
        )
        for line in found.lines
    ]  # fmt: skip
    return CsvList(f"{found.axle.serial}-inside", head, lines)
