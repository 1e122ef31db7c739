"""What was found in the axles that left, kept: each is looked through once, and anew when its record has moved on.

An axle that left hardly changes any more: its passes, fits and readings are closed. What may still change it writes in
its own chain, or in that of a unit that was taken out of it; the lengths of these chains are the stamp. So the ranking
over a hundred thousand axles reads four bytes for each value of each, and not ten million rows.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from django.conf import settings
from numpy.typing import NDArray

from builds.reports.reach.statements import among_words, rows
from builds.reports.returns.exposure import Exposed, Value
from shop.models import Shift

Numbers = NDArray[np.int64]
Identity = tuple[str, str, str, str, str]
#: Goes up when another kind of value is looked for.
RULES = 1
STORED = np.dtype("<u4")

_STANDING = """
SELECT l.axle_id, COALESCE(h.sequence, 0) + COALESCE(u.sequence, 0), x.stamp, x.rules{numbers}
FROM (SELECT DISTINCT axle_id FROM builds_shipment) l JOIN shop_item i ON i.id = l.axle_id
LEFT JOIN record_head h ON h.subject = 'axle:' || i.mark
LEFT JOIN (SELECT p.axle_id, SUM(t.sequence) AS sequence FROM builds_parted p JOIN shop_item o ON o.id = p.unit_id
  JOIN record_head t ON t.subject = 'unit:' || o.mark GROUP BY p.axle_id) u ON u.axle_id = l.axle_id
LEFT JOIN builds_exposed x ON x.axle_id = l.axle_id{where} ORDER BY l.axle_id"""


def rules_now() -> str:
    """A print of what decides which values an axle has: the code's own number, and the shifts of the house."""
    shifts = [(row.name, str(row.starts), str(row.ends)) for row in Shift.objects.order_by("pk")]
    told = json.dumps([RULES, settings.SHOP_TIME_ZONE, shifts])
    return hashlib.sha256(told.encode()).hexdigest()[:16]


def not_kept(rules: str) -> list[tuple[int, int]]:
    """The axles that left and have to be looked through, each with its stamp as it is now."""
    where = " WHERE x.axle_id IS NULL OR x.rules <> %s OR x.stamp <> COALESCE(h.sequence, 0) + COALESCE(u.sequence, 0)"
    return [(axle, int(stamp)) for axle, stamp, *_ in rows((_STANDING.format(numbers="", where=where), [rules]))]


@dataclass(frozen=True)
class Held:
    """A value that a returned axle has: how many of all have it, which returned ones, how many are alike. `those`: the
    same for two values that the same axles have, and for no others."""

    value: Value
    axles: int
    back: frozenset[int]
    alike: int
    those: bytes


class Looked:
    """Every axle that left with its values, in memory as numbers: what is kept, and what is found now for the rest.

    Two statements, and those of `exposure` for what is not kept.
    """

    def __init__(self, rules: str) -> None:
        every = rows((_STANDING.format(numbers=", x.numbers", where=""), []))
        fresh = [row for row in every if row[3] == rules and row[2] == row[1]]
        self.kept: list[tuple[int, Any]] = [(row[0], row[4]) for row in fresh]
        self.built = frozenset(row[0] for row in every)
        self.stale = self.built - {row[0] for row in fresh}

    def take(self, found: Exposed, axles: Iterable[int]) -> None:
        """The values of these axles, as found now; what is kept of them is left aside."""
        now = frozenset(axles)
        kept = [(axle, bytes(numbers)) for axle, numbers in self.kept if axle not in now]
        self.numbers = _numbers(found)
        self.values = {self.numbers[value.counted_as]: value for value in found}
        sizes = [len(numbers) // STORED.itemsize for _, numbers in kept]
        stored = np.frombuffer(b"".join(numbers for _, numbers in kept), STORED).astype(np.int64)
        pairs = [(self.numbers[value.counted_as], axle) for value, those in found.items() for axle in those & now]
        more = np.array(sorted(pairs), dtype=np.int64).reshape(-1, 2)
        self.axle = np.concatenate([np.repeat([axle for axle, _ in kept], sizes).astype(np.int64), more[:, 1]])
        self.number = np.concatenate([stored, more[:, 0]])

    @cached_property
    def looked_at(self) -> int:
        """How many values there are among all of these axles."""
        return len(np.unique(self.number))

    def held(self, failed: frozenset[int], chosen: Value | None) -> list[Held]:
        """Every value that one of these axles has; `chosen`: one of them, within which the others are looked at."""
        back = np.isin(self.axle, list(failed))
        mine = np.isin(self.number, np.unique(self.number[back]))
        # The axles stand in one order throughout, so that the same set gives the same bytes.
        order = np.argsort(self.number[mine], kind="stable")
        axle, number, back = self.axle[mine][order], self.number[mine][order], back[mine][order]
        starts = np.flatnonzero(np.r_[True, number[1:] != number[:-1]]) if len(number) else number
        ends = np.r_[starts[1:], len(number)]
        alike = np.zeros(len(axle), dtype=bool)
        if chosen is not None:
            alike = np.isin(axle, axle[number == self.numbers[chosen.counted_as]])
        return [
            Held(
                self.values[int(number[a])], int(z - a), frozenset(axle[a:z][back[a:z]].tolist()),
                int(alike[a:z].sum()), hashlib.sha256(axle[a:z].tobytes()).digest(),
            )
            for a, z in zip(starts.tolist(), ends.tolist(), strict=True)
        ]  # fmt: skip


def _numbers(found: Exposed) -> dict[Identity, int]:
    """The number of each value: as it is kept; below nothing for one that is kept nowhere."""
    typed = sorted({value.typed for value in found})
    kept: dict[Identity, int] = {
        (kind, words, day, shift, thing): pk
        for kind, words, day, shift, thing, pk in numbered(typed)
    }  # fmt: skip
    for place, value in enumerate(found):
        kept.setdefault(value.counted_as, -1 - place)
    return kept


def numbered(typed: Sequence[str]) -> list[tuple[Any, ...]]:
    """The kept values that are asked for by these words, with their keys. One statement."""
    where, values = among_words("typed", typed)
    return rows((f"SELECT kind, typed, day, shift, words, id FROM builds_sharedvalue WHERE {where}", values))


def by_axle(found: Exposed) -> dict[int, list[Value]]:
    """The other way round: the values of each axle."""
    turned: dict[int, list[Value]] = defaultdict(list)
    for value, those in found.items():
        for axle in those:
            turned[axle].append(value)
    return turned
