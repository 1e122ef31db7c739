"""Which values each axle has, against a walk over objects in random shops; and the statement's number."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds.reports.reach.cause import Between, Cause, CauseKind
from builds.reports.returns.exposure import exposure, shift_of
from builds.reports.returns.inside import inside
from shop.clock import shop_zone
from shop.models import Item, Shift
from tests.builds.reach.brute import NOW, afresh, axles_touched, into
from tests.builds.reach.world import World, small

SEEDS = range(3)


def shop(seed: int) -> World:
    afresh()
    return small(seed)


@pytest.mark.django_db
@pytest.mark.parametrize("seed", SEEDS)
def test_what_went_into_each_axle_is_what_a_walk_finds(seed: int) -> None:
    world = shop(seed)
    found = inside([item.pk for item in world.axles])
    walked = {
        (axle.pk, pk) for axle in world.axles for pk, how, _ in into(axle, Between()) if how == NOW and pk != axle.pk
    }
    assert found == walked
    assert {axle for axle, _ in found} == {item.pk for item in world.axles}


@pytest.mark.django_db
@pytest.mark.parametrize("seed", SEEDS)
def test_who_and_what_worked_on_each_axle_is_what_the_reach_list_finds(seed: int) -> None:
    world = shop(seed)
    found = {(value.kind, value.typed): those for value, those in exposure([one.pk for one in world.axles]).items()}
    asked = [(CauseKind.GAUGE, item.mark, item.pk) for item in world.gauges]
    asked += [(CauseKind.TERMINAL, one.code, one.pk) for one in world.terminals]
    asked += [(CauseKind.PERSON, one.code, one.pk) for one in world.people]
    asked += [(CauseKind.PROCEDURE, f"{one.code} REV {one.revision}", one.pk) for one in world.procedures]
    asked += [(CauseKind.REVISION, f"{one.model.code}/{one.letter}", one.pk) for one in world.revisions]
    assert len(asked) == 12
    for kind, typed, pk in asked:
        touched = axles_touched(Cause(kind, (pk,), ""))
        serials = dict(Item.objects.in_bulk(found.get((kind, typed), frozenset())))
        now = {serial for serial, how in touched.items() if how == NOW}  # what left with it, not what left it before
        assert {item.mark for item in serials.values()} == now, f"{kind} {typed}"


@pytest.mark.django_db
def test_the_statements_are_as_many_for_two_axles_as_for_six() -> None:
    world = shop(1)
    counts = []
    for number in (2, 6):
        with CaptureQueriesContext(connection) as asked:
            assert exposure([item.pk for item in world.axles[:number]])
        counts.append(len(asked))
    assert counts == [5, 5]


@pytest.mark.parametrize(
    ("clock", "told"),
    [("05:59", ("2025-03-02", "night")), ("06:00", ("2025-03-03", "early")), ("13:59", ("2025-03-03", "early")),
     ("14:00", ("2025-03-03", "late")), ("22:00", ("2025-03-03", "night")), ("00:10", ("2025-03-02", "night"))],
)  # fmt: skip
def test_a_moment_lies_in_its_shift_and_after_midnight_on_the_day_before(clock: str, told: tuple[str, str]) -> None:
    shifts = [Shift(name="early", starts=time(6), ends=time(14)), Shift(name="late", starts=time(14), ends=time(22)),
              Shift(name="night", starts=time(22), ends=time(6))]  # fmt: skip
    at = datetime.combine(date(2025, 3, 3), time.fromisoformat(clock), shop_zone()).astimezone(UTC)
    assert shift_of(at, shifts) == told
    assert shift_of(at, []) == ("2025-03-03", "")
