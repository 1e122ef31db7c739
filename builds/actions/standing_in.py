"""What stands in for what by the card's rules: parts that go together, and which kind a part counts as."""

from __future__ import annotations

from collections.abc import Iterable

from builds.actions.choosing import Thing
from builds.definitions.card import Card, Interchange
from builds.errors import OtherSet
from builds.models import Bench, Fitted, KitLine
from builds.reports.kit import NeedState
from builds.reports.marks import describe
from shop.models import Item, ItemKind


def kind_code(part: Item) -> str:
    """The part kind of a thing; empty for what has none."""
    if part.kind == ItemKind.PART:
        return part.part.kind.code
    if part.kind == ItemKind.PIECE:
        return part.piece.kind.code
    if part.kind == ItemKind.LOT:
        return part.lot.kind.code
    return ""


def counts_as(card: Card, part: Item) -> set[str]:
    """Its own kind, and those that the card lets it stand in for: what is true of them is true of it."""
    kind = kind_code(part)
    return {kind} | {needed for rule in card.interchanges for needed, taken in rule.pairs.items() if taken == kind}


def partners(bench: Bench, kind: str) -> set[str]:
    """The kinds asked for that go together with this one by some rule."""
    return {
        needed for rule in bench.plan.interchanges if rule.together and kind in (*rule.needs, *rule.takes)
        for needed in rule.needs
    }  # fmt: skip


def require_together(thing: Thing, need: NeedState, needs: Iterable[NeedState], bench: Bench) -> None:
    """Where a rule says together, all its parts stand in or none does."""
    asked = need.planned.need.part_kind
    rules = [rule for rule in bench.plan.interchanges if rule.together and asked in rule.pairs]
    if not rules or thing.kind is None:
        return
    others = [other for other in needs if other is not need]
    for rule in rules:
        stands_in = thing.kind.code == rule.pairs[asked]
        for item in _there(rule, others):
            if (kind_code(item) in rule.takes) != stands_in:
                raise OtherSet(
                    f"{describe(thing.item)} does not go with {describe(item)}: by the rule “{rule.name}” all of its"
                    " parts stand in, or none does.",
                    field="scan",
                )


def _there(rule: Interchange, needs: Iterable[NeedState]) -> list[Item]:
    rows: list[KitLine | Fitted] = []
    for need in needs:
        if need.planned.need.part_kind in rule.pairs:
            rows += [*need.aside, *need.fitted]
    return [row.part for row in rows]
