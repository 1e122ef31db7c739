"""The ways between a cause and what it touches, as words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime

from builds.reports.reach.cause import Together
from builds.reports.reach.facts import Facts, Thing, WorkedFor
from builds.reports.reach.walking import MOST_WAYS, Edge, Held, Seed, Walk, ways
from shop.clock import shop_day


class Teller:
    """Tells how each thing is connected. `visits`: shared pieces of work in words, where these are asked about."""

    def __init__(
        self, walks: Sequence[Walk], known: Facts, visits: Mapping[int, WorkedFor], together: Together
    ) -> None:
        self.walks, self.known, self.visits = walks, known, visits
        self.together = together
        self._work: dict[int, list[str]] = defaultdict(list)
        for work in visits.values():
            for target in work.targets:
                self._work[target].append(work.words)

    def ways(self, item: int) -> tuple[str, ...]:
        """A line for each way; several causes are told one after another."""
        if self.together is Together.SAME_WORK and item in self._work:
            return tuple(self._work[item])
        found = [line for one in self.walks if item in one.best for line in self._lines(one, item)]
        return tuple(dict.fromkeys(found))

    def was_in(self, edge: Edge) -> str:
        """Once in, now out: from and to."""
        return f"in {named(self.known.things[edge.target])}{span(edge)}"

    def _lines(self, one: Walk, item: int) -> list[str]:
        found = ways(one, item)
        lines = [self._line(one, way, item) for way in found]
        return [*lines, "and by other ways"] if len(lines) == MOST_WAYS else lines

    def _line(self, one: Walk, way: Sequence[Edge], item: int) -> str:
        root = way[0].source if way else item
        words = [] if one.cause.is_thing else [f"{one.cause.words}: {worked(one.seeds.get(root, ()))}"]
        if one.best[root] is Held.DOUBT:
            words.append("no readable mark")
        words.append(named(self.known.things[root]))
        words += [named(self.known.things[edge.target]) + span(edge) for edge in way]
        return " → ".join(words)


def named(thing: Thing) -> str:
    return thing.mark if thing.kind == "axle" else f"{thing.what} {thing.mark}"


def worked(seeds: Sequence[Seed]) -> str:
    """What was done there, how often, from when to when."""
    counts: dict[str, int] = defaultdict(int)
    for seed in seeds:
        counts[seed.how] += seed.count
    days = [at for seed in seeds for at in (seed.first, seed.last) if at is not None]
    words = ", ".join(f"{how} {count} times" if count > 1 else how for how, count in counts.items())
    return f"{words} {_days(min(days), max(days))}" if days else words


def _days(first: datetime, last: datetime) -> str:
    begin, end = shop_day(first), shop_day(last)
    return f"on {begin}" if begin == end else f"from {begin} to {end}"


def span(edge: Edge) -> str:
    return lasted(edge.at, edge.until, edge.row_key is not None)


def lasted(at: datetime | None, until: datetime | None, is_fitting: bool) -> str:
    """From when to when, of a fitting or of what is over."""
    if at is None or not (is_fitting or until is not None):
        return ""
    begun = shop_day(at)
    return f" (from {begun} to {shop_day(until)})" if until else f" (since {begun})"
