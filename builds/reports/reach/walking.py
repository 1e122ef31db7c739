"""From edges to what is touched, how surely, and along which ways. Pure: ids and edges, no database."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import IntEnum
from itertools import islice

from builds.reports.reach.cause import Cause, CauseKind, Together

#: So many ways to one thing are written out; the others are counted.
MOST_WAYS = 4


class Held(IntEnum):
    """How surely a thing is touched; along a way the weakest link decides, among ways the strongest."""

    DOUBT = 0  # its steel may be of it: not determinable
    FORMER = 1  # was in, is out
    NOW = 2


@dataclass(frozen=True)
class Edge:
    """`source` became or went into `target`: from `at` until `until` (None: it is still so)."""

    how: str
    source: int
    target: int
    visit: int | None = None
    fitting: int | None = None
    role: str = ""
    at: datetime | None = None
    until: datetime | None = None

    @property
    def held(self) -> Held:
        return Held.NOW if self.until is None else Held.FORMER


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
    """What one cause touches. `best`: each thing with its surest way; `into` and `out`: the edges by end."""

    cause: Cause
    seeds: Mapping[int, Sequence[Seed]]
    best: Mapping[int, Held]
    into: Mapping[int, Sequence[Edge]]
    out: Mapping[int, Sequence[Edge]]
    roots: Sequence[int]

    @property
    def visits(self) -> dict[int, Held]:
        """The passes of operations in which the cause had a hand, with the surest of its ways."""
        found: dict[int, Held] = {}
        for edges in self.out.values():
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
        """Every fitting that is over, of things that are surely touched."""
        for edges in self.out.values():
            for edge in edges:
                if edge.how == "fitted" and edge.until is not None and self.best[edge.source] > Held.DOUBT:
                    yield edge


def walk(
    cause: Cause,
    roots: Mapping[int, Held],
    seeds: Iterable[Seed],
    edges: Iterable[Edge],
    melts: Collection[int] = (),
) -> Walk:
    """Follow the edges from the roots, the surest first, so that each thing is settled once.

    `melts`: the heats among the roots. A heat is named for an axle before its tubes are cut; where pieces of it went
    in since, these decide, and not the name.
    """
    by_item: dict[int, list[Seed]] = defaultdict(list)
    every = list(edges)
    for seed in seeds:
        by_item[seed.item].append(seed)
        if seed.axle is not None and seed.axle != seed.item:
            every.append(Edge("unit", seed.item, seed.axle))
    out = _without_names(_by_source(every), melts)
    best = _settle(roots, out)
    reached = {item: edges for item, edges in out.items() if item in best}
    into: dict[int, list[Edge]] = defaultdict(list)
    for edges_of in reached.values():
        for edge in edges_of:
            into[edge.target].append(edge)
    drawn = {target: _plain(edges_of, into) for target, edges_of in into.items()}
    return Walk(cause, by_item, best, drawn, reached, list(roots))


def _by_source(edges: Iterable[Edge]) -> dict[int, list[Edge]]:
    out: dict[int, list[Edge]] = defaultdict(list)
    for edge in dict.fromkeys(edges):
        out[edge.source].append(edge)
    return out


def _settle(roots: Mapping[int, Held], out: Mapping[int, Sequence[Edge]]) -> dict[int, Held]:
    best: dict[int, Held] = {}
    waiting: dict[Held, list[int]] = {held: [] for held in Held}
    for root, held in roots.items():
        waiting[held].append(root)
    for held in sorted(Held, reverse=True):
        while waiting[held]:
            item = waiting[held].pop()
            if item in best:
                continue
            best[item] = held
            for edge in out.get(item, ()):
                waiting[min(held, edge.held)].append(edge.target)
    return best


def _without_names(out: dict[int, list[Edge]], melts: Collection[int]) -> dict[int, list[Edge]]:
    for melt in melts:
        steel = [edge for edge in out.get(melt, ()) if edge.how == "melt"]
        went = _settle({edge.target: Held.NOW for edge in steel}, out)
        out[melt] = [edge for edge in out.get(melt, ()) if edge.how == "melt" or edge.target not in went]
    return out


def _plain(edges: Sequence[Edge], into: Mapping[int, Sequence[Edge]]) -> list[Edge]:
    """Without the short cuts that another way already tells: melt to piece past its bar, part to axle past its unit."""
    cut = any(edge.how == "cut" for edge in edges)
    target = edges[0].target
    by_unit = {edge.source for edge in edges if edge.how == "unit"}
    told = {fit.fitting for unit in by_unit for fit in into.get(unit, ())}
    told |= {edge.fitting for edge in edges if edge.how == "fitted" and edge.target == target}
    return [
        edge for edge in edges if not (edge.how == "melt" and cut) and not (edge.how == "axle" and edge.fitting in told)
    ]


@dataclass
class TakenTogether:
    """The answer of several walks taken together: items and, for one piece of work, its visits."""

    best: dict[int, Held]
    visits: dict[int, Held] = field(default_factory=dict)


def take_together(walks: Sequence[Walk], together: Together, axles_of: Mapping[int, int]) -> TakenTogether:
    """`axles_of`: the axle of each visit in which every cause had a hand; needed for one piece of work only."""
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
    for visit, axle in axles_of.items():
        whole = [one.best.get(axle) for one in walks if one.is_whole_axles]
        if None not in whole:
            _keep(best, axle, visits[visit])
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
    return list(islice(_back(one, item, frozenset()), MOST_WAYS))


def _back(one: Walk, item: int, seen: frozenset[int]) -> Iterator[list[Edge]]:
    if item in one.roots or item in one.seeds:
        yield []
    for edge in one.into.get(item, ()):
        if edge.source not in seen and edge.source in one.best:
            for before in _back(one, edge.source, seen | {item}):
                yield [*before, edge]


def _keep(found: dict[int, Held], key: int, held: Held) -> None:
    found[key] = max(found.get(key, held), held)
