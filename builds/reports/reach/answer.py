"""The shape of a reach list: rows by place, each with the ways that connect it, and the same as a tree."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

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


@dataclass(frozen=True)
class Row:
    """One touched thing at its place. `axle`: the serial, where it is or was in one."""

    spot: Spot
    what: str
    mark: str
    item: int
    axle: str
    where: str
    order: str = ""
    consignee: str = ""
    day: datetime | None = None
    ways: tuple[str, ...] = ()
    #: An axle itself, not a part or a bar.
    is_axle: bool = False


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
    """The whole answer at one moment."""

    question: Question
    rows: tuple[Row, ...]
    trees: tuple[Branch, ...] = ()
    at: datetime | None = None
    left_out: int = 0
    marks: dict[int, str] = field(default_factory=dict)

    def at_spot(self, spot: Spot) -> list[Row]:
        return [row for row in self.rows if row.spot is spot]

    @property
    def spots(self) -> list[tuple[Spot, list[Row]]]:
        return [(spot, self.at_spot(spot)) for spot in Spot]

    @property
    def axles(self) -> list[str]:
        """Every serial in the answer, once."""
        return sorted({row.axle for row in self.rows if row.axle})


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


def lines(rows: Sequence[Row]) -> list[Row]:
    """In the order of the places, then of the serials and marks."""
    order = list(Spot)
    return sorted(rows, key=lambda row: (order.index(row.spot), row.axle, row.mark))
