"""What is fitted and photographed at a pass, and what is done before it, as columns of a statement that asks for more.

So an entry and a signature need no way of their own to the database for it. Only what they decide by is read, not
what a page shows of it.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import connection

from builds.models import Fitted, Operation, Photo, Visit
from builds.reports.kit import PartRows, role_of, rows_by_host, slot_of
from shop.models.fields import SCALE

_FITTED = """(SELECT {rows} FROM builds_fitted f LEFT JOIN builds_removal o ON o.fitted_id = f.id
    LEFT JOIN builds_visit w ON w.id = f.visit_id LEFT JOIN builds_operation n ON n.id = w.operation_id
    WHERE f.host_id = v.item_id AND f.role IN ({roles}) AND o.id IS NULL)"""
_PHOTOS = "(SELECT {rows} FROM builds_photo p WHERE p.visit_id = v.id)"
#: How many of the slots named in the value (",10/,20/left,") are done or excused.
_DONE = """(SELECT COUNT(*) FROM builds_visit d JOIN builds_operation e ON e.id = d.operation_id
    LEFT JOIN builds_unit u ON u.item_id = d.item_id WHERE {own} AND d.state IN ('done', 'excused')
      AND CAST(%s AS text) LIKE '%%,' || e.number || '/' || COALESCE(u.{side}, '') || ',%%')"""
_IN_AXLE = {"own": "d.axle_id = v.axle_id", "side": "side"}
_ALONE = {"own": "d.item_id = v.item_id AND d.axle_id IS NULL", "side": "built_side"}
_OF_FITTED, _OF_PHOTO = "f.id, f.role, f.part_id, f.quantity, f.visit_id, n.number", "p.id, p.name"


@dataclass(frozen=True)
class AtPass:
    """Parts now in the pass's own item in the roles of its operation, the photos taken at it, and how many of the
    slots that come before its own are done or excused."""

    parts: PartRows
    photos: tuple[Photo, ...]
    done: int


def roles_here(visit: Visit) -> list[str]:
    """The roles that the visit's operation fits, each once."""
    slot = slot_of(visit)
    return list(dict.fromkeys(role_of(slot, planned) for planned in slot.needs))


def slots_before(visit: Visit) -> str:
    """The keys of all slots that come before the visit's own, as the column of what is done takes them."""
    return f",{','.join(sorted(visit.bench.plan.before(slot_of(visit).key)))},"


def columns(roles: Collection[str], *, alone: bool) -> str:
    """Three columns, fitted, photos and how many slots are done, for a statement over `builds_visit v`; its values are
    the roles and the slots. `alone`: the pass is of a unit that is in no axle."""
    asked = ", ".join("%s" for _ in roles) or "NULL"
    fitted, photos = _FITTED.format(rows=_list(_OF_FITTED), roles=asked), _PHOTOS.format(rows=_list(_OF_PHOTO))
    return f"{fitted},\n  {photos},\n  {_DONE.format(**(_ALONE if alone else _IN_AXLE))}"


def _list(values: str) -> str:
    if connection.vendor == "postgresql":
        return f"json_agg(json_build_array({values}))::text"
    return f"json_group_array(json_array({values}))"


def read(visit: Visit, fitted: str | None, photos: str | None, done: int) -> AtPass:
    """What the three columns say."""
    rows = [_fitted(visit, *row) for row in sorted(json.loads(fitted or "[]"))]
    taken = [Photo(pk=pk, name=name, visit=visit) for pk, name in sorted(json.loads(photos or "[]"))]
    return AtPass(PartRows({}, {}, rows_by_host(rows)), tuple(taken), done)


def _fitted(visit: Visit, pk: int, role: str, part: int, quantity: int, at: int | None, number: Any) -> Fitted:
    where = None if at is None else Visit(pk=at, operation=Operation(number=number))
    exact = Decimal(quantity).scaleb(-SCALE)
    return Fitted(pk=pk, host_id=visit.item_id, role=role, part_id=part, quantity=exact, visit=where)
