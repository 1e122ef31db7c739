"""The clock waits of the shipped axle, through the station pages: hand-made posts do not get past them.

House rules restated: 165.1 counts 48 h from the end of the last arc on the axle, straightening heat included; the
cover sealant sets for 60 min; a wait counts from the server's entry, and a typed time never shortens it.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from builds.models import Visit
from builds.reports.pending import not_signable
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from measurements.models import Reading
from shop.clock import shop_zone
from tests.builds.pages import text_of
from tests.factories import signed_in_client, with_key
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def welded(floor: Floor) -> Builder:
    """Everything up to straightening is done; straightening itself is not."""
    return floor.built_until(160)


@pytest.fixture(scope="module")
def sealed(floor: Floor, welded: Builder) -> tuple[Builder, datetime]:
    """Everything up to the leak test is done, and the moment at which the sealant was entered."""
    builder = floor.builder(floor.axle())
    builder.now = welded.now + timedelta(minutes=1)
    builder.kit()
    builder.run(until=410)
    return builder, Reading.objects.get(characteristic__code="330.a", item=builder.axle.item).entered_at


def take_up(
    floor: Floor, builder: Builder, number: int, who: str, at: datetime, patch: pytest.MonkeyPatch, **more: str
) -> HttpResponse:
    """A post made by hand, at this moment of the server's clock."""
    patch.setattr(timezone, "now", lambda: at)
    url = reverse("station_take_up", args=[builder.axle.serial, number, "-"])
    answer: Any = signed_in_client(floor.people[who]).post(url, with_key(**more))
    return answer


def last_arc(builder: Builder) -> datetime:
    return max(weld.entered_at for visit in Visit.objects.filter(axle=builder.axle) for weld in visit.welds.all())


def straightened(builder: Builder, heat_ended: timedelta | None) -> datetime:
    """Operation 160 with a straightening heat entered so long after the last arc, or without any; signed."""
    visit = builder.begin("160/")
    if heat_ended is not None:
        builder.now = last_arc(builder) + heat_ended
        builder.enter_code(visit, "160.c", "now")
    builder.fill(visit)
    builder.sign(visit)
    return last_arc(builder)


@pytest.mark.parametrize(
    ("after", "status"),
    [(timedelta(hours=47, minutes=50), 422), (timedelta(hours=48) - timedelta(seconds=1), 422),
     (timedelta(hours=48), 303)],
)  # fmt: skip
def test_the_second_look_is_not_taken_up_before_its_48_hours(
    floor: Floor, welded: Builder, monkeypatch: pytest.MonkeyPatch, after: timedelta, status: int
) -> None:
    end = straightened(welded, None)
    answer = take_up(floor, welded, 165, "calla", end + after, monkeypatch)
    assert answer.status_code == status
    assert Visit.objects.filter(axle=welded.axle, operation__number=165).exists() == (status == 303)
    if status == 422:
        left = "10 min are left" if after.seconds % 3600 == 3000 else "1 min are left"
        assert left in text_of(answer)


def test_straightening_heat_begins_the_48_hours_anew(
    floor: Floor, welded: Builder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Calculated: the heat's end is entered 5 h and 20 s after the last arc, so 48 h after the arc that is left."""
    end = straightened(welded, timedelta(hours=5))
    heat = Reading.objects.get(characteristic__code="160.c", item=welded.axle.item)
    early = take_up(floor, welded, 165, "calla", end + timedelta(hours=48), monkeypatch)
    assert (early.status_code, Visit.objects.filter(axle=welded.axle, operation__number=165).count()) == (422, 0)
    assert "5 h 01 min are left" in text_of(early)
    assert ".." not in text_of(early)
    assert take_up(floor, welded, 165, "calla", heat.entered_at + timedelta(hours=48), monkeypatch).status_code == 303


def test_work_said_to_be_done_on_paper_long_ago_does_not_shorten_the_wait(
    floor: Floor, welded: Builder, monkeypatch: pytest.MonkeyPatch
) -> None:
    end = straightened(welded, None)
    at = end + timedelta(hours=47)
    paper = {"worked_by": "calla", "worked_at": (end - timedelta(days=3)).strftime("%Y-%m-%dT%H:%M")}
    answer = take_up(floor, welded, 165, "calla", at, monkeypatch, **paper)
    assert (answer.status_code, "1 h 00 min are left" in text_of(answer)) == (422, True)


@pytest.mark.parametrize(("minutes", "status"), [(-1, 422), (1, 303)])
def test_a_look_on_paper_that_came_too_early_is_refused_by_the_page(
    floor: Floor, welded: Builder, monkeypatch: pytest.MonkeyPatch, minutes: int, status: int
) -> None:
    """Entered long after the 48 h; the control was done after them too. A page knows minutes only."""
    end = straightened(welded, None)
    done = (end + timedelta(hours=48, minutes=minutes)).astimezone(shop_zone())
    paper = {"worked_by": "calla", "worked_at": f"{done:%Y-%m-%dT%H:%M}"}
    answer = take_up(floor, welded, 165, "calla", end + timedelta(hours=72), monkeypatch, **paper)
    assert answer.status_code == status
    assert ("had to wait until" in text_of(answer)) == (status == 422)


@pytest.mark.parametrize(("word", "missing"), [("heat", ["160.b", "160.c"]), ("press", []), ("not needed", [])])
def test_heat_is_not_signed_without_its_end(welded: Builder, word: str, missing: list[str]) -> None:
    """House rule: straightening heat begins the 48 h anew. Without its end on record it would not."""
    visit = welded.begin("160/")
    welded.by_slot = {"160/": {"160.a": word}}
    welded.fill(visit)
    said = not_signable(work_of(visit))
    welded.by_slot = {}
    assert [line.partition(" ")[0] for line in said] == missing
    if missing:
        welded.enter_code(visit, "160.b", "900")
        welded.enter_code(visit, "160.c", "now")
    assert welded.sign(visit).state == "done"


@pytest.mark.parametrize(("minutes", "status"), [(59, 422), (60, 303)])
def test_the_leak_test_waits_for_the_sealant(
    floor: Floor, sealed: tuple[Builder, datetime], monkeypatch: pytest.MonkeyPatch, minutes: int, status: int
) -> None:
    """Later work is done already, so the sealant is laid again: a row written straight, entered now and said to be
    three hours old."""
    builder, laid = sealed
    row = Reading.objects.get(characteristic__code="330.a", item=builder.axle.item)
    at = max(builder.now, laid + timedelta(hours=1)) + timedelta(minutes=5)
    again = Reading.objects.create(
        sheet=row.sheet, item=row.item, characteristic=row.characteristic, position=row.position, attempt=2,
        typed="now", verdict="none", entered_at=at, happened_at=at - timedelta(hours=3), reason="laid again",
        person=row.person, replaces=row,
    )  # fmt: skip
    answer = take_up(floor, builder, 410, "rusk", again.entered_at + timedelta(minutes=minutes), monkeypatch)
    assert answer.status_code == status
    assert ("1 min are left" in text_of(answer)) == (status == 422)
