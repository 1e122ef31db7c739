"""Where each operation stands, beside the plain definition walked out for random work done."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import pytest

from builds.definitions.plan import BuildPlan, for_options
from builds.progress import AxleFacts, SlotState, TagFact, VisitFact, progress
from tests.builds.definitions.cards import SORREL, TEASEL, THIRD

NOW = datetime(2026, 3, 4, 18, tzinfo=UTC)
PLANS = {"sorrel": for_options(SORREL, {}), "teasel": for_options(TEASEL, {}), "third": for_options(THIRD, {})}


def done(number: int) -> tuple[VisitFact, ...]:
    return (VisitFact(number, 1, "done", "Tam", NOW - timedelta(days=2), NOW - timedelta(days=1)),)


def everything_before(plan: BuildPlan, key: str) -> set[str]:
    near = set(plan.by_key[key].starts_after)
    return near.union(*(everything_before(plan, other) for other in near))


@pytest.mark.parametrize("name", PLANS)
def test_what_waits_for_others_names_three_of_them_at_most(name: str) -> None:
    """Forty random sets of work done (seed 5): not yet while anything before is open, told by what stands just before
    in the order of the card, else by what is further back."""
    plan, chance = PLANS[name], random.Random(5)
    order = list(plan.by_key)
    for _ in range(40):
        passed = {key for key in order if chance.random() < chance.choice((0.2, 0.6, 0.95))}
        facts = AxleFacts(visits={key: done(place) for place, key in enumerate(order) if key in passed})
        views = progress(plan, facts, NOW)
        assert list(views) == order
        assert len(views) == len(order)
        for key in order:
            slot, view = plan.by_key[key], views[key]
            missing = [other for other in order if other in everything_before(plan, key) - passed]
            if not slot.operation.closing:
                assert view.state is SlotState.NOT_YET
            elif key in passed:
                assert view.state is SlotState.DONE
            elif missing:
                near = [other for other in missing if other in slot.starts_after] or missing
                said = ", ".join(" ".join(other.split("/")).strip() for other in near[:3])
                assert (view.state, view.why) == (SlotState.NOT_YET, f"after {said}")
            else:
                assert view.state is SlotState.READY


def test_a_tag_stops_its_slot_and_what_follows_and_nothing_else() -> None:
    plan = PLANS["sorrel"]
    key = list(plan.by_key)[3]
    tag = TagFact(1, 7, "cracked", NOW, frozenset({key}))
    views = progress(plan, AxleFacts(tags=(tag,)), NOW)
    for other, view in views.items():
        if view.slot.operation.closing:
            assert (view.state is SlotState.STOPPED) == (other == key or key in everything_before(plan, other))


def test_a_slot_is_told_once() -> None:
    views = progress(PLANS["third"], AxleFacts(), NOW)
    key = next(iter(views))
    assert views[key] is views[key]
    with pytest.raises(KeyError):
        views["999/"]
