"""The ways to fill a bar, and HiGHS (scipy.optimize.milp) choosing among them. Whole numbers only.

A pattern leaves no room for another piece still asked for. Every demand is met or left over with its count, so that
there is always a plan. Cutting stock by patterns: Gilmore and Gomory (1961).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, gcd
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

#: The solver's own limit; what it has found by then is used, with its bound.
LONGEST_S = 2.0

Sort = tuple[int, str]  # room of a bar or length of a piece, in grains; its heat


@dataclass(frozen=True, slots=True)
class Pattern:
    """So many pieces of each length, out of one sort of bar."""

    of: Sort
    counts: Mapping[int, int]


def every_pattern(rooms: Mapping[Sort, int], asked: Mapping[Sort, int], kerf: int, most: int) -> list[Pattern] | None:
    """Every way to fill each sort of bar; None when there are more than `most`."""
    found: list[Pattern] = []
    for room, heat in sorted(rooms):
        count: Counter[int] = Counter()
        for (length, of), number in asked.items():
            count[length] += number if of in ("", heat) else 0
        for counts in _fillings(+count, room + kerf, kerf):
            found.append(Pattern((room, heat), counts))
            if len(found) > most:
                return None
    return found


def _fillings(asked: Mapping[int, int], room: int, kerf: int) -> Iterator[dict[int, int]]:
    """Fillings that leave no room for another piece still asked for: none of them is for certain worse than another."""
    lengths = sorted(asked, reverse=True)

    def fill(at: int, left: int, counts: dict[int, int]) -> Iterator[dict[int, int]]:
        if at == len(lengths):
            if counts and not any(one + kerf <= left and counts.get(one, 0) < asked[one] for one in lengths):
                yield counts
            return
        step = lengths[at] + kerf
        for count in range(min(asked[lengths[at]], left // step), -1, -1):
            yield from fill(at + 1, left - count * step, counts | {lengths[at]: count} if count else counts)

    yield from fill(0, room, {})


def solve(
    patterns: Sequence[Pattern], rooms: Mapping[Sort, int], asked: Mapping[Sort, int], saw: tuple[int, int]
) -> tuple[list[Pattern], int, bool] | None:
    """The patterns to cut, the least length that any such plan takes into use, and whether these are proved best.

    Columns: how often each pattern is cut, how many pieces of each sort stay uncut, how many bars of each sort are
    taken into use. The last follow from the first; with them the solver's search is far shorter.
    """
    if not asked:
        return [], 0, True
    kerf, trim = saw
    # Whole small numbers: the solver may then round its bound up, and stops sooner.
    step = gcd(*(room + trim for room, _ in rooms)) or 1
    # One piece more left uncut is worse than every bar taken into use.
    missed = 1 + sum((room + trim) // step * count for (room, _), count in rooms.items())
    cost = [*(0 for _ in patterns), *(missed for _ in asked), *((room + trim) // step for room, _ in rooms)]
    most = [*(rooms[one.of] for one in patterns), *asked.values(), *rooms.values()]
    rows = [*_piece_rows(patterns, asked), *_bar_rows(patterns, rooms, len(asked))]
    rows.append(_room_row(rooms, asked, kerf, len(patterns)))
    found = _milp(cost, most, rows)
    if found.x is None:
        return None
    counts = np.rint(found.x).astype(int)
    uncut = int(counts[len(patterns) : len(patterns) + len(asked)].sum())
    chosen = [one for one, count in zip(patterns, counts[: len(patterns)], strict=True) for _ in range(count)]
    least = max(0, ceil(float(found.mip_dual_bound) - 1e-6) - missed * uncut)
    return chosen, least * step, found.status == 0


@dataclass(frozen=True, slots=True)
class _Row:
    """One condition: the sum over these columns is at least this."""

    cells: Mapping[int, int]
    least: int


def _milp(cost: Sequence[int], most: Sequence[int], rows: Sequence[_Row]) -> Any:
    """Whole numbers from 0 to `most` with the least cost that meet every row."""
    cells = [(number, at, value) for number, row in enumerate(rows) for at, value in row.cells.items()]
    numbers, columns, values = (np.array(part) for part in zip(*cells, strict=True))
    matrix = coo_array((values.astype(float), (numbers, columns)), (len(rows), len(cost)))
    return milp(
        np.array(cost, dtype=float),
        integrality=np.ones(len(cost), dtype=int),
        bounds=Bounds(np.zeros(len(cost)), np.array(most, dtype=float)),
        constraints=LinearConstraint(matrix, lb=np.array([row.least for row in rows], dtype=float)),
        options={"time_limit": LONGEST_S, "mip_rel_gap": 0.0},
    )


def _piece_rows(patterns: Sequence[Pattern], asked: Mapping[Sort, int]) -> Iterator[_Row]:
    """Cut or left uncut: of each length all together, and those bound to a heat out of its own bars."""
    uncut = {sort: len(patterns) + place for place, sort in enumerate(asked)}
    for length in {length for length, _ in asked}:
        cells = {at: one.counts[length] for at, one in enumerate(patterns) if length in one.counts}
        cells |= {at: 1 for (of, _), at in uncut.items() if of == length}
        yield _Row(cells, least=sum(count for (of, _), count in asked.items() if of == length))
    for (length, heat), count in asked.items():
        if heat:
            own = ((at, one) for at, one in enumerate(patterns) if one.of[1] == heat and length in one.counts)
            yield _Row({at: one.counts[length] for at, one in own} | {uncut[length, heat]: 1}, least=count)


def _bar_rows(patterns: Sequence[Pattern], rooms: Mapping[Sort, int], asked: int) -> Iterator[_Row]:
    """As many bars of a sort are in use as are cut."""
    for place, sort in enumerate(rooms):
        cut = {at: -1 for at, one in enumerate(patterns) if one.of == sort}
        yield _Row({len(patterns) + asked + place: 1} | cut, least=0)


def _room_row(rooms: Mapping[Sort, int], asked: Mapping[Sort, int], kerf: int, patterns: int) -> _Row:
    """The bars in use have room for all that is not left uncut. It follows from the other rows; it shortens the
    search."""
    uncut = {patterns + place: length + kerf for place, (length, _) in enumerate(asked)}
    room = {patterns + len(asked) + place: room + kerf for place, (room, _) in enumerate(rooms)}
    return _Row(uncut | room, least=sum((length + kerf) * count for (length, _), count in asked.items()))
