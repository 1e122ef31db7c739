"""What is to be said of touched things: what they are, where they are, whose they are. One statement for each kind."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from builds.models import role_and_side
from builds.reports.reach.statements import STANDS, among, as_moment, rows
from builds.reports.reach.walking import Held
from shop.models import Where

_ITEMS = """
SELECT i.id, i.kind, i.sort, i.maker, i.mark, p."where", p.note, h.mark, u.role, u.side, u.axle_id
FROM shop_item i LEFT JOIN shop_place p ON p.item_id = i.id LEFT JOIN shop_item h ON h.id = p.host_id
LEFT JOIN builds_unit u ON u.item_id = i.id WHERE {}
"""
_AXLES = f"""
SELECT a.item_id, a.phase, a.closed_at, o.number, c.name, {STANDS}
FROM builds_axle a JOIN builds_line l ON l.id = a.line_id JOIN builds_order o ON o.id = l.order_id
JOIN shop_customer c ON c.id = o.customer_id WHERE {{}}
"""
_SENT = """
SELECT s.axle_id, s.consignee, s.shipped_at FROM builds_shipment s WHERE {} ORDER BY s.shipped_at, s.id
"""
_OF_VISITS = """
SELECT v.id, COALESCE(v.axle_id, v.item_id), o.number, o.name, v.number, v.item_id, v.claimed_at
FROM builds_visit v JOIN builds_operation o ON o.id = v.operation_id WHERE {}
"""
_STAYS = "SELECT s.unit_id, s.axle_id, s.at FROM builds_parted s WHERE {} AND NOT s.withdrawn"
WORDS = {str(where): str(where.label) for where in Where}


@dataclass(frozen=True)
class Thing:
    """An item in words. `where`: the word of its place, empty when none is on record."""

    pk: int
    kind: str
    sort: str
    maker: str
    mark: str
    where: str = ""
    note: str = ""
    host: str = ""
    role: str = ""
    side: str = ""
    of_axle: int | None = None

    @property
    def what(self) -> str:
        return what(self.kind, self.sort, self.role, self.side)

    @property
    def lies(self) -> str:
        return lies(self.where, self.host, self.note)


def what(kind: str, sort: str, role: str | None, side: str | None) -> str:
    """A thing in words: a unit by its role and side, others by their sort."""
    if kind == "unit":
        return role_and_side(role or "", side or "")
    named = sort.replace("_", " ") or kind
    return f"{kind} of {named}" if kind in ("lot", "drum", "heat") and sort else named


def lies(where: str | None, host: str | None, note: str | None) -> str:
    """Where it is, as words: in a kit of which axle, in which shelf."""
    words = WORDS.get(where or "", "place not on record")
    return " ".join(word for word in (words, f"({host})" if host else "", note) if word)


@dataclass(frozen=True)
class AxleFact:
    pk: int
    phase: str
    closed_at: datetime | None
    order: str
    customer: str
    at: str
    consignee: str = ""
    shipped_at: datetime | None = None


@dataclass(frozen=True)
class Facts:
    things: dict[int, Thing]
    axles: dict[int, AxleFact]


def load(items: Collection[int]) -> Facts:
    """Three statements, whatever the number of things."""
    things = {found[0]: _thing(found) for found in _ask(_ITEMS, "i.id", items)}
    axles = [pk for pk, thing in things.items() if thing.kind == "axle"]
    sent = {found[0]: found[1:] for found in _ask(_SENT, "s.axle_id", axles)}
    return Facts(things, {found[0]: _axle(found, sent.get(found[0])) for found in _ask(_AXLES, "a.item_id", axles)})


@dataclass(frozen=True)
class WorkedFor:
    """A pass of an operation in words; what has its work in it now: an axle, or a unit that is in none; and the axles
    that had it, for their unit left them later."""

    words: str
    has: int
    had: frozenset[int]

    @property
    def targets(self) -> dict[int, Held]:
        return dict.fromkeys(self.had, Held.FORMER) | {self.has: Held.NOW}


def of_visits(ids: Sequence[int]) -> dict[int, WorkedFor]:
    """Two statements."""
    found = _ask(_OF_VISITS, "v.id", ids)
    stays = _ask(_STAYS, "s.unit_id", {row[5] for row in found})
    return {
        pk: WorkedFor(
            f"operation {number} {name}" + (f", pass {which}" if which > 1 else ""),
            has,
            frozenset(axle for unit, axle, left in stays if unit == item and _before(at, left)),
        )
        for pk, has, number, name, which, item, at in found
    }


def _before(at: object, left: object) -> bool:
    one, other = as_moment(at), as_moment(left)
    return one is not None and other is not None and one < other


def _ask(sql: str, column: str, ids: Collection[int]) -> list[tuple[Any, ...]]:
    where, values = among(column, list(ids))
    return rows((sql.format(where), values))


def _thing(row: tuple[Any, ...]) -> Thing:
    pk, *words, axle = row
    told = ["" if word is None else str(word) for word in words]
    kind, sort, maker, mark, where, note, host, role, side = told
    return Thing(pk, kind, sort, maker, mark, where, note, host, role, side, axle)


def _axle(row: tuple[Any, ...], sent: tuple[Any, ...] | None) -> AxleFact:
    pk, phase, closed, order, customer, stands = row
    gone = (sent[0], as_moment(sent[1])) if sent else ("", None)
    return AxleFact(pk, phase, as_moment(closed), order, customer, stands or "", *gone)
