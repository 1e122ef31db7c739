"""A signed shorter wait counts for the event it was signed for; a later one of its kind has a wait of its own."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from builds.actions.adding import shorten_wait
from builds.actions.reopening import reopen_for_cause
from builds.definitions.plan import for_options
from builds.definitions.reading import read_file
from builds.definitions.words import LAST_ARC
from builds.progress import AxleFacts, SlotState, wait_over
from builds.reports.facts import standing
from tests.shopfloor import SORREL, open_shop

ARC = datetime(2026, 1, 5, 9, tzinfo=UTC)


@pytest.mark.parametrize(
    ("signed", "over"),
    [
        (None, ARC + timedelta(hours=48)),
        (ARC, None),
        (ARC + timedelta(hours=1), None),
        (ARC - timedelta(seconds=1), ARC + timedelta(hours=48)),
    ],
)
def test_a_signature_covers_only_the_arc_before_it(signed: datetime | None, over: datetime | None) -> None:
    plan = for_options(read_file(SORREL), {})
    facts = AxleFacts(events={LAST_ARC: ARC}, shortened={165: signed} if signed else {})
    assert wait_over(plan, plan.slot("165/"), facts) == over


@pytest.mark.django_db
def test_an_arc_after_the_signature_has_its_48_hours() -> None:
    floor = open_shop()
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=165)
    engineer = floor.who("wenzel")
    assert standing(builder.axle, builder.now).slots["165/"].state is SlotState.WAIT_TIME
    look, grant = builder.axle.plan.slot("165/"), builder.grant(engineer, "released")
    shorten_wait(axle=builder.axle, slot=look, reason="flown soon", grant=grant, by=engineer, now=builder.now)
    assert standing(builder.axle, builder.now).slots["165/"].state is SlotState.READY
    builder.now += timedelta(minutes=1)
    reopen_for_cause(bench=builder.axle, cause="tube", reason="pore", by=engineer, side="left", now=builder.now)
    builder.run(until=165)
    view = standing(builder.axle, builder.now).slots["165/"]
    assert view.state is SlotState.WAIT_TIME
    assert view.ready_at is not None
    assert view.ready_at > builder.now + timedelta(hours=40)
