"""A bought part's own readings belong to it until it is reworked; then they are asked again."""

from __future__ import annotations

from copy import deepcopy
from datetime import timedelta

import pytest

from builds.actions.deciding import Decided, decide
from builds.actions.reopening import reopen
from builds.actions.tagging import Wrong, open_tag
from builds.models import Fitted, Visit
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from shop.models import Item
from shop.record.act import act
from shop.record.who import Who
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
CODE = "40.2"  # the bore of the centre housing, a bought part


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def turned(floor: Floor) -> Builder:
    """Operation 40 of the left tube is done: the housing's own bore is read."""
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=50)
    return builder


@pytest.fixture
def builder(turned: Builder) -> Builder:
    return deepcopy(turned)


def begun_again(builder: Builder) -> Visit:
    assert builder.doer is not None
    by = Who(builder.doer)
    builder.now += timedelta(minutes=1)
    with act("work.reopened", subject=builder.axle.subject, by=by, now=builder.now) as a:
        reopen(a, builder.axle, {"40/left": []}, cause="rework", reason="turned again")
    return builder.begin("40/left")


def blanks(visit: Visit) -> int:
    return sum(1 for place in work_of(visit).places if place.asked.code == CODE and place.last is None)


def housing(builder: Builder) -> Item:
    visit = Visit.objects.get(axle=builder.axle, operation__number=40, item__unit__side="left", number=1)
    place = next(place for place in work_of(visit).places if place.asked.code == CODE)
    assert place.last is not None
    return place.last.item


def decided(builder: Builder, item: Item, decision: str, floor: Floor) -> None:
    builder.now += timedelta(minutes=1)
    engineer = floor.who("wenzel")
    tag = open_tag(wrong=Wrong(item, "bore scored", builder.axle), by=engineer, now=builder.now)
    grant = builder.grant(engineer, "released")
    decide(tag=tag, decided=Decided(decision, "bored again"), grant=grant, by=engineer, now=builder.now)


def test_control_a_further_pass_cites_what_the_part_has(builder: Builder) -> None:
    assert blanks(begun_again(builder)) == 0


def test_after_rework_it_is_asked_again(builder: Builder, floor: Floor) -> None:
    decided(builder, housing(builder), "rework", floor)
    visit = begun_again(builder)
    assert blanks(visit) > 0
    builder.fill(visit)
    assert blanks(visit) == 0


def test_control_a_part_used_as_it_is_keeps_its_readings(builder: Builder, floor: Floor) -> None:
    decided(builder, housing(builder), "use_as_is", floor)
    assert blanks(begun_again(builder)) == 0


def test_another_part_s_rework_changes_nothing(builder: Builder, floor: Floor) -> None:
    other = Fitted.objects.filter(axle=builder.axle, role__startswith="tube").select_related("part").first()
    assert other is not None
    decided(builder, other.part, "rework", floor)
    assert blanks(begun_again(builder)) == 0
