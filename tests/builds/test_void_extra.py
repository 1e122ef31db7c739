"""A reading beyond the least of an open-ended row, declared void, asks for no other in its place."""

from __future__ import annotations

import pytest

from builds.actions.adding import void_reading
from builds.models import Visit
from builds.reports.pending import not_signable
from builds.reports.work import Place, work_of
from tests.shopfloor import open_shop

pytestmark = pytest.mark.django_db


def blank(visit: Visit) -> list[str]:
    return [said for said in not_signable(work_of(Visit.objects.get(pk=visit.pk))) if said.startswith("80.2 ")]


def test_a_void_second_pass_is_not_asked_for_and_a_void_first_is() -> None:
    floor = open_shop()
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=80)
    visit = builder.begin("80/left")
    builder.fill(visit)
    assert blank(visit) == []
    first = next(place for place in work_of(visit).places if place.asked.code == "80.2")
    second = first.asked.positions.nth(len(first.planned.labels_on_item) + 1)
    builder.enter(visit, Place(first.planned, second, (), first.item))
    extra = next(place for place in work_of(visit).places if place.named.startswith("80.2 ") and place != first)
    assert extra.position == second
    assert extra.last is not None
    assert first.last is not None
    by = floor.who(str(visit.claimed_by.code), "WB")
    void_reading(reading=extra.last, reason="of another axle", by=by, now=builder.now)
    assert blank(visit) == []
    void_reading(reading=first.last, reason="of another axle", by=by, now=builder.now)
    assert len(blank(visit)) == 1
