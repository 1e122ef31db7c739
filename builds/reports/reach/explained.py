"""How the things of an answer are connected: the ways in words and the trees, worked out when somebody asks.

Here every edge is fetched and followed, two or three statements for each cause and a few for the words; the lists of
the answer need none of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Any

from builds.reports.reach.answer import Branch, Row
from builds.reports.reach.cause import Cause, Question, Together
from builds.reports.reach.facts import WorkedFor, load, of_visits
from builds.reports.reach.statements import as_moment, edges, rows
from builds.reports.reach.telling import Teller
from builds.reports.reach.tree import Trees, tree_of
from builds.reports.reach.walking import Edge, Held, Seed, TakenTogether, Walk, shared_visits, take_together, walk
from builds.reports.reach.work import seeds
from shop.models import Heat, Part, Piece


class Explained:
    """The ways and the trees of one question, asked again the first time that one of them is wanted."""

    def __init__(self, question: Question) -> None:
        self.question = question

    def ways(self, row: Row) -> tuple[str, ...]:
        """A line for each way. Of what came out: the way there, in one line with from when to when."""
        teller = self._teller
        if row.item not in teller.known.things:
            return ()  # it was entered since the list was drawn
        if not row.over:
            return teller.ways(row.item)
        edge = self._over.get(row.over)
        words = (*teller.ways(row.item), teller.was_in(edge) if edge is not None else "")
        return (" → ".join(word for word in words if word),)

    def trees(self) -> tuple[tuple[Branch, ...], int]:
        trees = self._trees
        return trees.branches, trees.left_out

    @cached_property
    def _walks(self) -> list[Walk]:
        return [walk_of(cause) for cause in self.question.causes]

    @cached_property
    def _visits(self) -> dict[int, WorkedFor]:
        same = self.question.together is Together.SAME_WORK
        return of_visits(list(shared_visits(self._walks))) if same else {}

    @cached_property
    def _taken(self) -> TakenTogether:
        worked_for = {pk: work.targets for pk, work in self._visits.items()}
        return take_together(self._walks, self.question.together, worked_for)

    @cached_property
    def _teller(self) -> Teller:
        known = load(_mentioned(self._walks, self._taken))
        return Teller(self._walks, known, self._visits, self.question.together)

    @cached_property
    def _over(self) -> dict[int, Edge]:
        return {edge.row_key: edge for one in self._walks for edge in one.removed() if edge.row_key is not None}

    @cached_property
    def _trees(self) -> Trees:
        return tree_of(self._walks, self._taken, self._teller.known)


def walk_of(cause: Cause) -> Walk:
    """Everything that one cause touches. What may be of its melt but cannot be proven is walked from as well."""
    worked = [] if cause.is_thing else [_seed(found) for found in rows(seeds(cause))]
    roots = dict.fromkeys(cause.ids if cause.is_thing else [seed.item for seed in worked], Held.NOW)
    roots |= {pk: Held.DOUBT for pk in _of_unknown_melt(cause) if pk not in roots}
    melts = Heat.objects.filter(pk__in=roots).values_list("pk", flat=True)
    return walk(cause, roots, worked, map(_edge, rows(edges(list(roots), cause.between))), melts)


def _seed(row: tuple[Any, ...]) -> Seed:
    how, item, axle, visit, count, first, last = row
    return Seed(how, item, axle, visit, count, as_moment(first), as_moment(last))


def _edge(row: tuple[Any, ...]) -> Edge:
    how, source, target, visit, row_key, role, begun, ended = row
    return Edge(how, source, target, visit, row_key, role, as_moment(begun), as_moment(ended))


def _of_unknown_melt(cause: Cause) -> Iterable[int]:
    """A piece without readable mark may come from any melt that was there, and so may a forging without one."""
    found: list[int] = []
    if cause.steel:
        found += Piece.objects.filter(heat=None).values_list("pk", flat=True)
    if cause.parts_of:
        found += Part.objects.filter(heat=None, kind__code__in=cause.parts_of).values_list("pk", flat=True)
    return found


def _mentioned(walks: Sequence[Walk], taken: TakenTogether) -> set[int]:
    """Everything in the answer and every knot on a way to it."""
    found = set(taken.best)
    for one in walks:
        found |= {end for edge in one.removed() for end in (edge.source, edge.target)}
    waiting = list(found)
    while waiting:
        item = waiting.pop()
        for one in walks:
            before = {edge.source for edge in one.into.get(item, ())} - found
            found |= before
            waiting += before
    return found
