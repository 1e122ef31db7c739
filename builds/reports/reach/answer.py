"""The shape of a reach list: rows by place, each with the ways that connect it, and the same as a tree."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import cached_property
from operator import itemgetter
from typing import NamedTuple, Protocol

from builds.reports.reach.cause import Question
from shop.lists import CsvList


class Spot(StrEnum):
    """Where touched things are, in the order of the page. Each stands in every answer, empty or not."""

    STOCK = "in stock"
    REMNANTS = "bars and remnants"
    UNITS = "sub-assemblies"
    FLOOR = "on the floor"
    CLOSED = "bought off, not shipped"
    SHIPPED = "shipped"
    BACK = "back in the house"
    FORMERLY = "formerly fitted"
    GONE = "scrapped or sent back"
    UNKNOWN = "not determinable"

    @property
    def key(self) -> str:
        return self.name.lower()


class Row(NamedTuple):
    """One touched thing at its place. `axle`: the serial, where it is or was in one.

    `over`: of a formerly fitted thing the row by which it came out, as `touching` names it.
    """

    spot: Spot
    what: str
    mark: str
    item: int
    axle: str
    where: str
    order: str = ""
    consignee: str = ""
    day: datetime | None = None
    #: An axle itself, not a part or a bar.
    is_axle: bool = False
    over: int = 0
    told_by: Telling | None = None

    @property
    def ways(self) -> tuple[str, ...]:
        """How it is connected, a line for each way."""
        return self.told_by.ways(self) if self.told_by is not None else ()


_IN_ORDER = itemgetter(Row._fields.index("axle"), Row._fields.index("mark"))


class Telling(Protocol):
    """Who can tell how things are connected, when somebody asks."""

    def ways(self, row: Row) -> tuple[str, ...]: ...

    def trees(self) -> tuple[tuple[Branch, ...], int]:
        """The trees of the causes, and how many knots were left out of them."""
        ...


@dataclass(frozen=True)
class Branch:
    """A knot of the tree with what came of it."""

    words: str
    note: str = ""
    mark: str = ""
    held: str = ""
    serial: str = ""
    under: tuple[Branch, ...] = ()


@dataclass(frozen=True)
class Reached:
    """The whole answer at one moment. The ways and the trees are worked out when they are first asked for."""

    question: Question
    by_spot: dict[Spot, list[Row]]
    told_by: Telling
    at: datetime | None = None

    def at_spot(self, spot: Spot) -> list[Row]:
        return self.by_spot.get(spot, [])

    @property
    def spots(self) -> list[tuple[Spot, list[Row]]]:
        return [(spot, self.at_spot(spot)) for spot in Spot]

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """In the order of the places, then of the serials and marks."""
        return tuple(row for spot in Spot for row in self.at_spot(spot))

    @cached_property
    def axles(self) -> list[str]:
        """Every serial in the answer, once."""
        return sorted({row.axle for row in self.rows if row.axle})

    @property
    def trees(self) -> tuple[Branch, ...]:
        return self.told_by.trees()[0]

    @property
    def left_out(self) -> int:
        return self.told_by.trees()[1]


HEAD = ("place", "what", "mark", "axle", "where", "order", "consignee", "date", "connected by")


def as_csv(found: Reached) -> CsvList:
    return CsvList(
        "reach-list",
        HEAD,
        (
            (row.spot, row.what, row.mark, row.axle, row.where, row.order, row.consignee, row.day, " | ".join(row.ways))
            for row in found.rows
        ),
    )


def by_place(rows: Iterable[Row]) -> dict[Spot, list[Row]]:
    """At each place in the order of the serials, then of the marks."""
    found: dict[Spot, list[Row]] = {}
    for row in rows:
        found.setdefault(row.spot, []).append(row)
    for those in found.values():
        those.sort(key=_IN_ORDER)
    return found
