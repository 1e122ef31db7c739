"""Which pieces to cut from which bar: the least steel taken into use, with the saw's kerf and the trimmed end.

n pieces fit a bar when the sum of (length + kerf) is at most (bar - trim) + kerf: the last cut may fall on the bar's
end. Every way of filling a bar that leaves no room for another piece is a pattern; HiGHS (see `patterns`) chooses
patterns so that first as few pieces as possible stay uncut and then the least length of bars is taken into use. Where
there are too many patterns the longest pieces go first, each into the first bar that has room, and the plan says so.

The cutting-stock problem after Gilmore and Gomory (1961); the rule of the kerf is arithmetic. Lengths are exact: whole
ten-thousandths of the unit they are given in (any one unit, the same for all).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from builds.reports.planning.patterns import Pattern, Sort, every_pattern, solve

#: Past so many patterns the solver would keep a worker waiting.
MOST_PATTERNS = 20_000
#: Lengths are whole multiples of this.
GRAIN = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar or remnant; `heat` is what its pieces keep."""

    mark: str
    length: Decimal
    heat: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """One piece to cut. With `heat` it must come from that heat; without one any bar will do."""

    name: str
    length: Decimal
    heat: str = ""


@dataclass(frozen=True, slots=True)
class Saw:
    """What each cut turns into chips, and what is cut off the end of a bar first."""

    kerf: Decimal = Decimal(0)
    trim: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Cuts:
    """The pieces out of one bar, the longest first, and what is left of it."""

    bar: Bar
    pieces: tuple[Wanted, ...]
    left: Decimal


class Method(StrEnum):
    OPTIMAL = "optimal"
    BEST_FOUND = "best found in the time allowed"
    FIRST_FIT = "longest first, into the first bar with room"


@dataclass(frozen=True, slots=True)
class Plan:
    """`used` is the length of the bars taken into use; no plan that cuts as many pieces can use less than `bound`."""

    cuts: tuple[Cuts, ...]
    short: tuple[Wanted, ...]
    used: Decimal
    bound: Decimal
    method: Method


class LengthTooFine(ValueError):
    """A length that is not a whole number of ten-thousandths, or is not above nothing."""


def nest(bars: Sequence[Bar], wanted: Sequence[Wanted], saw: Saw, *, most_patterns: int = MOST_PATTERNS) -> Plan:
    """The plan. Pieces of one length and heat go to the bars in the order given; LengthTooFine for a bad length.

    Where every piece is bound to a heat, each heat is a plan of its own.
    """
    heats = {piece.heat for piece in wanted}
    if len(heats) < 2 or "" in heats:
        return _nest(bars, wanted, saw, most_patterns)
    parts = [
        _nest(
            [bar for bar in bars if bar.heat == heat], [one for one in wanted if one.heat == heat], saw, most_patterns
        )
        for heat in sorted(heats)
    ]
    return Plan(
        cuts=tuple(cuts for part in parts for cuts in part.cuts),
        short=tuple(piece for part in parts for piece in part.short),
        used=sum((part.used for part in parts), Decimal(0)),
        bound=sum((part.bound for part in parts), Decimal(0)),
        method=max((part.method for part in parts), key=list(Method).index),
    )


def _nest(bars: Sequence[Bar], wanted: Sequence[Wanted], saw: Saw, most_patterns: int) -> Plan:
    kerf, trim = _grains(saw.kerf, least=0), _grains(saw.trim, least=0)
    asked = Counter((_grains(piece.length), piece.heat) for piece in wanted)
    rooms = Counter(room for bar in bars if (room := (_grains(bar.length) - trim, bar.heat))[0] > 0)
    patterns = every_pattern(rooms, asked, kerf, most_patterns)
    solved = None if patterns is None else solve(patterns, rooms, asked, (kerf, trim))
    if solved is None:
        filled = _first_fit(bars, wanted, kerf, trim)
        cut = sum((piece.length for _, pieces in filled for piece in pieces), Decimal(0))
        return _plan(filled, wanted, saw, cut, Method.FIRST_FIT)
    chosen, least, proved = solved
    method = Method.OPTIMAL if proved else Method.BEST_FOUND
    return _plan(_deal(chosen, bars, wanted, trim), wanted, saw, least * GRAIN, method)


def _grains(length: Decimal, *, least: int = 1) -> int:
    grains = length / GRAIN
    if grains != grains.to_integral_value() or grains < least:
        raise LengthTooFine(f"{length} is not a length in whole ten-thousandths above nothing.")
    return int(grains)


_Filled = list[tuple[Bar, list[Wanted]]]


def _deal(chosen: Sequence[Pattern], bars: Sequence[Bar], wanted: Sequence[Wanted], trim: int) -> _Filled:
    """Real bars and pieces for the patterns; a pattern that cuts more than is asked for cuts the fewer.

    Those bound to a heat are dealt first, so that no place of their heat goes to a piece that any bar would do for.
    """
    shelf: dict[Sort, list[Bar]] = defaultdict(list)
    for bar in reversed(bars):
        shelf[_grains(bar.length) - trim, bar.heat].append(bar)
    filled: _Filled = [(shelf[pattern.of].pop(), []) for pattern in chosen]
    free = [Counter(pattern.counts) for pattern in chosen]
    for piece in sorted(wanted, key=lambda one: not one.heat):
        length = _grains(piece.length)
        for (bar, pieces), places in zip(filled, free, strict=True):
            if places[length] and piece.heat in ("", bar.heat):
                places[length] -= 1
                pieces.append(piece)
                break
    return [(bar, pieces) for bar, pieces in filled if pieces]


def _first_fit(bars: Sequence[Bar], wanted: Sequence[Wanted], kerf: int, trim: int) -> _Filled:
    """The longest piece first, into the first bar in use that has room, else into the shortest fresh one."""
    fresh = sorted(bars, key=lambda bar: bar.length)
    filled: _Filled = []
    room: list[int] = []
    for piece in sorted(wanted, key=lambda one: -one.length):
        need = _grains(piece.length) + kerf
        fits = (at for at, (bar, _) in enumerate(filled) if room[at] >= need and piece.heat in ("", bar.heat))
        at = next(fits, None)
        if at is None:
            bar = next((b for b in fresh if _room(b, kerf, trim) >= need and piece.heat in ("", b.heat)), None)
            if bar is None:
                continue
            fresh.remove(bar)
            filled.append((bar, []))
            room.append(_room(bar, kerf, trim))
            at = len(filled) - 1
        filled[at][1].append(piece)
        room[at] -= need
    return filled


def _room(bar: Bar, kerf: int, trim: int) -> int:
    return _grains(bar.length) - trim + kerf


def _plan(filled: _Filled, wanted: Sequence[Wanted], saw: Saw, bound: Decimal, method: Method) -> Plan:
    cut = {id(piece) for _, pieces in filled for piece in pieces}
    return Plan(
        cuts=tuple(_cuts(bar, pieces, saw) for bar, pieces in filled),
        short=tuple(piece for piece in wanted if id(piece) not in cut),
        used=sum((bar.length for bar, _ in filled), Decimal(0)),
        bound=bound,
        method=method,
    )


def _cuts(bar: Bar, pieces: Sequence[Wanted], saw: Saw) -> Cuts:
    """Each piece costs its kerf; where the last cut falls on the end there is nothing left and less to saw."""
    left = bar.length - saw.trim - sum((piece.length + saw.kerf for piece in pieces), Decimal(0))
    return Cuts(bar, tuple(sorted(pieces, key=lambda one: -one.length)), max(left, Decimal(0)))
