"""Where each operation stands, beside the plain definition walked out for random work done."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import cast

import pytest

from builds.definitions.plan import BuildPlan, for_options
from builds.progress import AxleFacts, SlotState, SlotView, TagFact, VisitFact, progress
from builds.reports.facts import AxleStanding
from builds.reports.floor import _foremost
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


WORDS = ("done", "excused", "in_hand", "set_down", "wait_sign", "redo")
UNDER_WAY = (SlotState.IN_HAND, SlotState.SET_DOWN, SlotState.WAIT_SIGN, SlotState.REDO, SlotState.READY)


def foremost_plainly(views: list[SlotView]) -> SlotView | None:
    """What is in hand, else set down, else waiting for a signature, else to redo: of several the last in the card's
    order; else the first that is ready; else the first that is left."""
    for state in UNDER_WAY:
        found = [view for view in views if view.state is state]
        if found:
            return found[0] if state is SlotState.READY else found[-1]
    return next((view for view in views if not view.finished), None)


@pytest.mark.parametrize("name", PLANS)
def test_where_an_axle_is_needs_few_slots_and_is_what_every_slot_would_tell(name: str) -> None:
    """A hundred random axles (seed 11), some with a red tag: what is finished, what is before its turn, and the
    foremost, beside every slot told."""
    plan, chance = PLANS[name], random.Random(11)
    order, sooner = list(plan.by_key), 0
    for _ in range(100):
        reached, part = chance.randrange(len(order) + 1), chance.random()
        visits = {
            key: (VisitFact(place, 1, "done" if chance.random() < part else chance.choice(WORDS), "Tam", NOW),)
            for place, key in enumerate(order[:reached])
        }
        tags = (TagFact(1, 7, "cracked", NOW, frozenset({chance.choice(order)})),) if chance.random() < 0.2 else ()
        facts = AxleFacts(visits=visits, tags=tags)
        views = progress(plan, facts, NOW)
        told = [view for view in progress(plan, facts, NOW).values() if view.slot.operation.closing]
        assert [view.slot for view in told] == list(plan.to_close)
        assert {view.slot.key for view in told if view.finished} == {
            slot.key for slot in plan.to_close
        } & views.finished
        for view in told:
            if not view.finished and views.is_before_its_turn(view.slot.key):
                assert view.state in (SlotState.NOT_YET, SlotState.STOPPED)
                sooner += 1
        assert _foremost(cast(AxleStanding, SimpleNamespace(plan=plan, slots=views))) == foremost_plainly(told)
    assert sooner > 100


def test_a_slot_is_told_once() -> None:
    views = progress(PLANS["third"], AxleFacts(), NOW)
    key = next(iter(views))
    assert views[key] is views[key]
    with pytest.raises(KeyError):
        views["999/"]
