"""The answer as a tree: each cause, what came of it, down to the axles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from builds.reports.reach.answer import Branch
from builds.reports.reach.facts import Facts
from builds.reports.reach.telling import named, span, worked
from builds.reports.reach.walking import Edge, Held, TakenTogether, Walk, Window, overlap

#: Beyond so many knots a drawing is no help; the table goes on.
MOST = 300


@dataclass
class Trees:
    branches: tuple[Branch, ...] = ()
    left_out: int = 0


def tree_of(walks: Sequence[Walk], taken: TakenTogether, known: Facts) -> Trees:
    """One tree for each cause, of the knots that lead to something in the answer."""
    found = Trees()
    found.branches = tuple(branch for one in walks for branch in _Grower(one, taken, known, found).grow())
    return found


class _Grower:
    def __init__(self, one: Walk, taken: TakenTogether, known: Facts, trees: Trees) -> None:
        self.one, self.known, self.trees = one, known, trees
        self.left = MOST
        self.kept = self._leading(taken)
        self.down: dict[int, list[Edge]] = {}
        for edges in one.into.values():
            for edge in edges:
                self.down.setdefault(edge.source, []).append(edge)

    def grow(self) -> list[Branch]:
        """The cause's own tree; what only may be of it stands in another."""
        roots = self._sorted([root for root in self.one.roots if root in self.kept])
        sure = self._all([root for root in roots if self.one.best[root] is not Held.DOUBT])
        doubt = self._all([root for root in roots if self.one.best[root] is Held.DOUBT])
        own = sure[:1] if self.one.cause.is_thing and len(sure) == 1 else [Branch(self.one.cause.words, under=sure)]
        return [*own, *([Branch("Steel without a readable mark", under=doubt)] if doubt else [])]

    def _all(self, roots: Sequence[int]) -> tuple[Branch, ...]:
        made = (self._at(root, "", frozenset(), self.one.begins(root)) for root in roots)
        return tuple(branch for branch in made if branch is not None)

    def _at(self, item: int, note: str, seen: frozenset[int], window: Window) -> Branch | None:
        if self.left <= 0:
            self.trees.left_out += 1
            return None
        self.left -= 1
        thing = self.known.things[item]
        doubt = "no readable mark" if self.one.best[item] is Held.DOUBT and item in self.one.roots else ""
        said = worked(self.one.seeds[item]) if item in self.one.seeds else ""
        note = ", ".join(word for word in (note, doubt, said, self._lies(item)) if word)
        under = [
            self._at(edge.target, span(edge).strip(" ()"), seen | {item}, both)
            for edge in self._onward(item)
            if edge.target not in seen and (both := overlap(window, edge.window)) is not None
        ]
        held = self.one.best[item].name.lower()
        made = tuple(branch for branch in under if branch is not None)
        serial = thing.mark if thing.kind == "axle" else ""
        return Branch(named(thing), note, thing.mark, held, serial, made)

    def _onward(self, item: int) -> list[Edge]:
        led = [edge for edge in self.down.get(item, ()) if edge.target in self.kept]
        return sorted(led, key=lambda edge: self.known.things[edge.target].mark)

    def _lies(self, item: int) -> str:
        thing, axle = self.known.things[item], self.known.axles.get(item)
        if axle is not None:
            gone = f"shipped to {axle.consignee}" if axle.consignee else ""
            return gone or axle.at or axle.phase.replace("_", " ")
        told_by_host = thing.where in ("", "fitted") or thing.of_axle is not None or thing.kind == "heat"
        return "" if told_by_host else thing.lies

    def _leading(self, taken: TakenTogether) -> set[int]:
        """What is in the answer and every knot on a way to it."""
        found, waiting = set(), [item for item in taken.best if item in self.one.best]
        while waiting:
            item = waiting.pop()
            if item not in found:
                found.add(item)
                waiting += [edge.source for edge in self.one.into.get(item, ())]
        return found

    def _sorted(self, roots: Sequence[int]) -> list[int]:
        return sorted(roots, key=lambda item: self.known.things[item].mark)
