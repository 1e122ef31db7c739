"""From edges to what is touched, how surely, and along which ways. Pure: ids and edges, no database."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import IntEnum
from itertools import islice

from builds.reports.reach.cause import Cause, CauseKind, Together

#: So many ways to one thing are written out; the others are counted.
MOST_WAYS = 4


#: From when until when something is so.
Window = tuple[datetime, datetime]
_EVER, _NEVER = datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC)
ALWAYS: Window = (_EVER, _NEVER)


class Held(IntEnum):
    """How surely a thing is touched; along a way the weakest link decides, among ways the strongest."""

    DOUBT = 0  # its steel may be of it: not determinable
    FORMER = 1  # was in, is out
    NOW = 2


@dataclass(frozen=True)
class Edge:
    """`source` became or went into `target`: from `at` until `until` (None: it is still so).

    `row_key`: the fitting, or below nought the stay of a unit that is over.
    """

    how: str
    source: int
    target: int
    visit: int | None = None
    row_key: int | None = None
    role: str = ""
    at: datetime | None = None
    until: datetime | None = None

    @property
    def held(self) -> Held:
        return Held.NOW if self.until is None else Held.FORMER

    @property
    def window(self) -> Window:
        return self.at or _EVER, self.until or _NEVER


@dataclass(frozen=True)
class Seed:
    """A thing that a cause worked on, how often and from when to when; `axle` is the axle it was worked on for."""

    how: str
    item: int
    axle: int | None
    visit: int | None
    count: int
    first: datetime | None
    last: datetime | None


@dataclass(frozen=True)
class Walk:
    """What one cause touches. `best`: each thing with its surest way; `into` and `out`: the edges by end; `windows`:
    from when until when each thing was touched, along any of its ways."""

    cause: Cause
    seeds: Mapping[int, Sequence[Seed]]
    best: Mapping[int, Held]
    into: Mapping[int, Sequence[Edge]]
    out: Mapping[int, Sequence[Edge]]
    roots: Collection[int]
    windows: Mapping[int, Sequence[Window]] = field(default_factory=dict)

    def begins(self, item: int) -> Window:
        """From when on a root is what the list is about: a thing always, work from the day it was done."""
        return _begun(self.seeds.get(item, ()))

    @property
    def visits(self) -> dict[int, Held]:
        """The passes of operations in which the cause had a hand, with the surest of its ways."""
        found: dict[int, Held] = {}
        for edges in self.out.values() if self.cause.is_thing else ():
            for edge in edges:
                if edge.visit is not None:
                    _keep(found, edge.visit, min(self.best[edge.source], edge.held))
        for seeds in self.seeds.values():
            for seed in seeds:
                if seed.visit is not None:
                    _keep(found, seed.visit, Held.NOW)
        return found

    @property
    def is_whole_axles(self) -> bool:
        """A revision is no work of its own: it narrows other causes by axle."""
        return self.cause.kind is CauseKind.REVISION

    def removed(self) -> Iterator[Edge]:
        """Every fitting, and every stay of a unit in an axle, that is over, of things that were surely touched then."""
        for edges in self.out.values():
            for edge in edges:
                over = edge.how in ("fitted", "unit") and edge.until is not None
                if over and self.best[edge.source] > Held.DOUBT and self.leads(edge):
                    yield edge

    def leads(self, edge: Edge) -> bool:
        """Whether what is touched was touched while this edge lasted."""
        return any(overlap(window, edge.window) for window in self.windows.get(edge.source, ()))


def overlap(one: Window, other: Window) -> Window | None:
    """The time in which both are so; None when there is none."""
    begin, end = max(one[0], other[0]), min(one[1], other[1])
    return (begin, end) if begin <= end else None


def walk(
    cause: Cause,
    roots: Mapping[int, Held],
    seeds: Iterable[Seed],
    edges: Iterable[Edge],
    melts: Collection[int] = (),
) -> Walk:
    """Follow the edges from the roots, in time: what went into a unit after the unit had left an axle was never in it.

    `melts`: the heats among the roots. A heat is named for an axle before its tubes are cut; where pieces of it went
    in since, these decide, and not the name.
    """
    by_item: dict[int, list[Seed]] = defaultdict(list)
    for seed in seeds:
        by_item[seed.item].append(seed)
    out = _without_names(_by_source(edges), melts)
    sure = {root: _begun(by_item.get(root, ())) for root, held in roots.items() if held is not Held.DOUBT}
    windows = _flow(sure, out)
    best = {item: Held.NOW if any(end == _NEVER for _, end in ways) else Held.FORMER for item, ways in windows.items()}
    for item, some in _flow(dict.fromkeys(roots.keys() - sure.keys(), ALWAYS), out).items():
        best.setdefault(item, Held.DOUBT)
        windows.setdefault(item, some)
    reached = {item: edges for item, edges in out.items() if item in best}
    into: dict[int, list[Edge]] = defaultdict(list)
    for edges_of in reached.values():
        for edge in edges_of:
            into[edge.target].append(edge)
    drawn = {target: _plain(edges_of) for target, edges_of in into.items()}
    return Walk(cause, by_item, best, drawn, reached, roots.keys(), windows)


def _begun(seeds: Iterable[Seed]) -> Window:
    return min((seed.first for seed in seeds if seed.first is not None), default=_EVER), _NEVER


def _by_source(edges: Iterable[Edge]) -> dict[int, list[Edge]]:
    out: dict[int, list[Edge]] = defaultdict(list)
    for edge in dict.fromkeys(edges):
        out[edge.source].append(edge)
    return out


def _flow(starts: Mapping[int, Window], out: Mapping[int, Sequence[Edge]]) -> dict[int, list[Window]]:
    """When each thing was touched: along a way the time that all of it lasted, of several ways each that says more."""
    found: dict[int, list[Window]] = {}
    waiting = list(starts.items())
    while waiting:
        item, window = waiting.pop()
        known = found.setdefault(item, [])
        if any(begin <= window[0] and window[1] <= end for begin, end in known):
            continue
        known[:] = [one for one in known if not (window[0] <= one[0] and one[1] <= window[1])]
        known.append(window)
        for edge in out.get(item, ()):
            onward = overlap(window, edge.window)
            if onward is not None:
                waiting.append((edge.target, onward))
    return found


def _without_names(out: dict[int, list[Edge]], melts: Collection[int]) -> dict[int, list[Edge]]:
    for melt in melts:
        steel = [edge for edge in out.get(melt, ()) if edge.how == "melt"]
        went = _flow({edge.target: ALWAYS for edge in steel}, out)
        out[melt] = [edge for edge in out.get(melt, ()) if edge.how == "melt" or edge.target not in went]
    return out


def _plain(edges: Sequence[Edge]) -> list[Edge]:
    """Without the short cut that another way already tells: melt to piece past its bar."""
    cut = any(edge.how == "cut" for edge in edges)
    return [edge for edge in edges if not (edge.how == "melt" and cut)]


@dataclass
class TakenTogether:
    """The answer of several walks taken together: items and, for one piece of work, its visits."""

    best: dict[int, Held]
    visits: dict[int, Held] = field(default_factory=dict)


def take_together(
    walks: Sequence[Walk], together: Together, worked_for: Mapping[int, Mapping[int, Held]]
) -> TakenTogether:
    """`worked_for`: of each visit in which every cause had a hand, what has it now and what had it; needed for one
    piece of work only."""
    if together is Together.EITHER or len(walks) == 1:
        found: dict[int, Held] = {}
        for one in walks:
            for item, held in one.best.items():
                _keep(found, item, held)
        return TakenTogether(found)
    if together is Together.BOTH:
        return TakenTogether(_in_all([one.best for one in walks]))
    visits = shared_visits(walks)
    best: dict[int, Held] = {}
    for visit, targets in worked_for.items():
        for target, held in targets.items():
            whole = [one.best.get(target) for one in walks if one.is_whole_axles]
            if None not in whole:
                _keep(best, target, min(held, visits[visit]))
    return TakenTogether(best, visits)


def shared_visits(walks: Sequence[Walk]) -> dict[int, Held]:
    """Visits in which every cause had a hand; a cause without visits of its own (a revision) narrows by axle."""
    return _in_all([one.visits for one in walks if not one.is_whole_axles])


def _in_all(every: Sequence[Mapping[int, Held]]) -> dict[int, Held]:
    if not every:
        return {}
    shared = set(every[0]).intersection(*every[1:])
    return {key: min(one[key] for one in every) for key in shared}


def ways(one: Walk, item: int) -> list[list[Edge]]:
    """The ways from a root or a seed to the item, at most MOST_WAYS, the shortest of each branch first."""
    return list(islice(_back(one, item, frozenset(), ALWAYS), MOST_WAYS))


def _back(one: Walk, item: int, seen: frozenset[int], window: Window) -> Iterator[list[Edge]]:
    if (item in one.roots or item in one.seeds) and overlap(window, one.begins(item)):
        yield []
    for edge in one.into.get(item, ()):
        both = overlap(window, edge.window)
        if both is not None and edge.source not in seen and edge.source in one.best:
            for before in _back(one, edge.source, seen | {item}, both):
                yield [*before, edge]


def _keep(found: dict[int, Held], key: int, held: Held) -> None:
    found[key] = max(found.get(key, held), held)
