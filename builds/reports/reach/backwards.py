"""Backwards: everything that is in one axle on a chosen day, down to the melt, and what was in it and is out by then.

Two statements for the walk and five for what is said of the things, whatever their number.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.models import Axle
from builds.reports.reach.asking import morning
from builds.reports.reach.cause import Between
from builds.reports.reach.facts import Facts, Thing, load
from builds.reports.reach.statements import BACKWARDS, as_moment, edges, rows
from builds.reports.reach.telling import named, span
from builds.reports.reach.walking import ALWAYS, Edge, Window, overlap
from shop.clock import shop_day
from shop.errors import Refusal
from shop.lists import CsvList


@dataclass(frozen=True)
class Inside:
    """One thing on one way into the axle. `out`: when it, or what it was in, came out again; None: it is in."""

    item: int
    what: str
    mark: str
    role: str
    since: datetime | None
    out: datetime | None
    path: str


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


def contents(axle: Axle, day: date) -> Contents:
    """What was in the axle at the end of that day, by the shop's clock."""
    until = morning(day + timedelta(days=1))
    every = [_edge(row) for row in rows(edges([axle.pk], Between(None, until), BACKWARDS))]
    found = [edge for edge in every if edge.at is None or until is None or edge.at < until]
    into = _by_host(found)
    things = {axle.pk, *(edge.source for edge in found)}
    known = load(things, ())
    return Contents(axle, day, tuple(_walk(axle.pk, into, known, until)))


def _edge(row: tuple[object, ...]) -> Edge:
    how, host, part, visit, fitting, role, begun, ended = row
    return Edge(how, part, host, visit, fitting, role, as_moment(begun), as_moment(ended))  # type: ignore[arg-type]


def _by_host(found: list[Edge]) -> dict[int, list[Edge]]:
    """Without the short cut: a melt that is told by its bar."""
    cut = {edge.target for edge in found if edge.how == "cut"}
    into: dict[int, list[Edge]] = defaultdict(list)
    for edge in dict.fromkeys(found):
        if not (edge.how == "melt" and edge.target in cut):
            into[edge.target].append(edge)
    return into


def _walk(axle: int, into: dict[int, list[Edge]], known: Facts, until: datetime | None) -> Iterator[Inside]:
    def down(
        host: int, way: tuple[str, ...], out: datetime | None, seen: frozenset[int], window: Window
    ) -> Iterator[Inside]:
        for edge in sorted(into.get(host, ()), key=lambda one: _order(one, known.things[one.source])):
            both = overlap(window, edge.window)
            if edge.source in seen or both is None:
                continue
            thing = known.things[edge.source]
            gone = edge.until if edge.until is not None and until is not None and edge.until < until else None
            ended = min((at for at in (out, gone) if at is not None), default=None)
            here = (*way, named(thing) + (span(edge) if gone else ""))
            yield Inside(
                thing.pk,
                thing.what,
                thing.mark,
                edge.role.replace("_", " "),
                edge.at,
                ended,
                " → ".join(here),
            )
            yield from down(edge.source, here, ended, seen | {edge.source}, both)

    yield from down(axle, (known.things[axle].mark,), None, frozenset({axle}), ALWAYS)


def _order(edge: Edge, thing: Thing) -> tuple[str, str, str]:
    return thing.side, thing.what, thing.mark


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
