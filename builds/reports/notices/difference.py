"""What has changed between the list as it was frozen last and the list as it would be drawn now. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from builds.reports.notices.frozen import FrozenRow
from shop.models import Where


@dataclass(frozen=True)
class Difference:
    """`moved`: the same thing at another place, before and now."""

    added: tuple[FrozenRow, ...]
    gone: tuple[FrozenRow, ...]
    moved: tuple[tuple[FrozenRow, FrozenRow], ...]

    def __bool__(self) -> bool:
        return bool(self.added or self.gone or self.moved)


def difference(before: Sequence[FrozenRow], now: Sequence[FrozenRow]) -> Difference:
    was, is_ = {row.key: row for row in before}, {row.key: row for row in now}
    return Difference(
        tuple(row for key, row in is_.items() if key not in was),
        tuple(row for key, row in was.items() if key not in is_),
        tuple((was[key], row) for key, row in is_.items() if key in was and _moved(was[key], row)),
    )


def _moved(was: FrozenRow, now: FrozenRow) -> bool:
    """Another place, axle, order or consignee. The red-tag shelf is no move: the notice itself put it there."""
    if _whose(was) != _whose(now):
        return True
    return was.where != now.where and str(Where.RED_TAG.label) not in now.where


def _whose(row: FrozenRow) -> tuple[str, ...]:
    return row.spot, row.axle, row.order, row.consignee
