"""Work on paper counts for the time at which it was done, not for the time at which it is typed: the looks' waits, who
looked, and which piece of which shift it was."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from decimal import Decimal

import pytest

from builds.actions.claiming import OnPaper, take_up
from builds.actions.finishing import finish
from builds.actions.reopening import reopen
from builds.errors import NotReady, NotYours
from builds.models import Visit
from builds.scenario.driver import Builder
from measurements.models import Reading
from shop.actions.people import give_role
from shop.actions.skills import Qualification, give_skill
from shop.clock import shop_day, shop_zone
from shop.models import Role
from shop.record.act import act
from shop.record.who import SYSTEM
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def welded(floor: Floor) -> Builder:
    """Everything up to the second look is done; its 48 h are long over."""
    builder = floor.built_until(165)
    builder.now += timedelta(days=4)
    return builder


def last_arc(builder: Builder) -> datetime:
    return max(weld.entered_at for visit in Visit.objects.filter(axle=builder.axle) for weld in visit.welds.all())


def looked(floor: Floor, builder: Builder, after: timedelta) -> Visit:
    paper = OnPaper(floor.people["wenzel"], last_arc(builder) + after)
    return take_up(bench=builder.axle, key="165/", by=floor.who("wenzel", "WB"), paper=paper, now=builder.now)


@pytest.mark.parametrize("after", [timedelta(hours=2), timedelta(hours=48) - timedelta(seconds=1)])
def test_a_look_that_came_too_early_is_none_however_late_it_is_entered(
    floor: Floor, welded: Builder, after: timedelta
) -> None:
    with pytest.raises(NotReady, match="had to wait until") as refused:
        looked(floor, welded, after)
    assert (refused.value.field, "take it up now, without paper" in refused.value.text) == ("worked_at", True)
    assert not Visit.objects.filter(axle=welded.axle, operation__number=165).exists()


def test_control_a_look_in_time_is_taken_and_its_hours_end_when_it_was_done(floor: Floor, welded: Builder) -> None:
    """Calculated: 50 h after the last arc, entered some 90 h after it."""
    looked(floor, welded, timedelta(hours=50))
    row = Reading.objects.get(item=welded.axle.item, characteristic__code="165.1")
    assert (row.value, row.verdict) == (Decimal(50), "in")


# Who looked.


@pytest.fixture(scope="module")
def cold(floor: Floor) -> Builder:
    """One tube is welded; its first look is next. The welder is an inspector too."""
    floor.now += timedelta(days=9)
    builder = floor.built_until(80)
    builder.hands["80/left"] = floor.people["isolde"]
    builder.do("80/left")
    day = shop_day(floor.now) - timedelta(days=1)
    give_role(person=floor.people["isolde"], role=Role.INSPECTOR, valid_from=day, by=SYSTEM, now=builder.now)
    look = Qualification("visual_weld_look", day, None, None, "course")
    give_skill(person=floor.people["isolde"], skill=look, by=SYSTEM, now=builder.now)
    return builder


def signed_look(floor: Floor, builder: Builder, code: str) -> Visit:
    """Looked at by this person on paper; entered and signed by Calla, who did nothing on the axle."""
    builder.now += timedelta(hours=1)
    builder.hands["90/left"] = floor.people["calla"]
    visit = builder.begin("90/left", paper=OnPaper(floor.people[code], builder.now - timedelta(minutes=10)))
    builder.fill(visit)
    by = floor.who("calla", "WB")
    return finish(visit=visit, grant=builder.grant(by, "did"), by=by, now=builder.now)


def test_the_welders_own_look_on_paper_is_no_look(floor: Floor, cold: Builder) -> None:
    with pytest.raises(NotYours, match="Isolde Krantzke did some of the work that this signature looks at"):
        signed_look(floor, cold, "isolde")


def test_who_may_not_look_does_not_look_on_paper_either(floor: Floor, cold: Builder) -> None:
    with pytest.raises(NotYours, match="is signed by inspector"):
        signed_look(floor, cold, "bram")


def test_control_another_inspectors_look_on_paper_is_signed(floor: Floor, cold: Builder) -> None:
    assert signed_look(floor, cold, "wenzel").state == "done"


# In which order it was done.


def on_paper(floor: Floor, builder: Builder, key: str, at: datetime) -> Visit:
    paper = OnPaper(floor.people["tam"], at)
    return take_up(bench=builder.axle, key=key, by=floor.who("tam", "TP"), paper=paper, now=builder.now)


@pytest.fixture(scope="module")
def sawn(floor: Floor) -> tuple[Builder, datetime]:
    """Sawn, then turned in a pass that was opened again an hour later; and when its sawing began."""
    floor.now += timedelta(days=9)
    builder = floor.built_until(30)
    begun = builder.begin("30/left").claimed_at
    builder.fill(Visit.objects.get(axle=builder.axle, operation__number=30, item__unit__side="left"))
    builder.sign(Visit.objects.get(axle=builder.axle, operation__number=30, item__unit__side="left"))
    builder.now += timedelta(hours=3)
    return builder, begun


def test_what_was_done_before_the_work_that_it_follows_does_not_count(
    floor: Floor, sawn: tuple[Builder, datetime]
) -> None:
    builder, begun = sawn
    with pytest.raises(NotReady, match="follows operation 30, which began on"):
        on_paper(floor, builder, "40/left", begun - timedelta(seconds=1))
    assert on_paper(floor, builder, "40/left", begun).late, "the control"


def test_what_was_done_before_it_was_opened_again_does_not_count(floor: Floor, sawn: tuple[Builder, datetime]) -> None:
    builder, _ = sawn
    before = builder.now
    builder.do("40/left")
    builder.now += timedelta(hours=1)
    opened, engineer = builder.now, floor.who("wenzel")
    with act("work.reopened", subject=builder.axle.subject, by=engineer, now=opened) as a:
        reopen(a, builder.axle, {"40/left": []}, cause="rework", reason="turned too small")
    builder.now += timedelta(hours=1)
    for at in (before, opened - timedelta(seconds=1)):
        with pytest.raises(NotReady, match="was opened again on"):
            on_paper(floor, builder, "40/left", at)
    assert on_paper(floor, builder, "40/left", opened + timedelta(minutes=30)).number == 2, "the control"


# Which piece it was.


def piece(floor: Floor, at: datetime, worked: datetime | None = None) -> int:
    """The number of a new piece at operation 200, begun at that moment, or entered then from paper."""
    builder = floor.builder(floor.axle())
    builder.now = (worked or at) - timedelta(hours=1)
    builder.kit()
    builder.do("10/")
    paper = None if worked is None else OnPaper(floor.people["rusk"], worked)
    return take_up(bench=builder.axle, key="200/", by=floor.who("rusk", "GB"), paper=paper, now=at).piece


def test_a_piece_on_paper_counts_in_the_shift_in_which_it_was_made(floor: Floor) -> None:
    """The demo's shifts: 6, 14 and 22 o'clock. What was made in yesterday's late shift takes no number of today's."""
    today = (floor.now + timedelta(days=20)).astimezone(shop_zone()).date()
    at = [datetime.combine(today, time(hour), shop_zone()) for hour in (8, 9, 10, 11, 12)]
    late = datetime.combine(today - timedelta(days=1), time(21, 59), shop_zone())
    assert piece(floor, at[0], late) == 1
    assert piece(floor, at[1]) == 1, "the first of this shift, and held as such"
    assert piece(floor, at[2], late + timedelta(minutes=1)) == 1, "the first of the night"
    assert piece(floor, at[3], late) == 2
    assert piece(floor, at[4]) == 2
