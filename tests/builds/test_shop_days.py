"""A day that is told, kept or counted from is the shop's own: late in its evening UTC has the next one already."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from builds.actions.labelling import print_badge
from builds.actions.releasing import load_definition, release
from builds.errors import Frozen
from builds.models import Disposition, RedTag
from builds.reports.notices.customer import _of_tags
from builds.scenario import opening
from builds.scenario.opening import WRITTEN_FOR, open_house, shift_of
from shop.actions.people import issue_badge
from shop.models import Person, Role
from shop.record.models import Event
from tests.builds.cards import SMALL_CARD
from tests.builds.floor import person

#: Eight in the evening of the 9th in Denver (UTC - 7 h in winter), where the test's shop stands.
EVENING = datetime(2040, 1, 10, 3, 0, tzinfo=UTC)


@pytest.mark.django_db
def test_a_card_was_released_on_the_shops_day() -> None:
    engineer = person(Role.ENGINEER)
    draft = load_definition(text=SMALL_CARD, name="small.toml", by=engineer, now=EVENING)
    revision = release(revision=draft, by=engineer, now=EVENING)
    with pytest.raises(Frozen, match="already released, since 09 Jan 2040"):
        release(revision=revision, by=engineer, now=EVENING)
    with pytest.raises(Frozen, match="was released on 09 Jan 2040"):
        load_definition(text=SMALL_CARD, name="small.toml", by=engineer, now=EVENING)


@pytest.mark.django_db
def test_a_badges_print_notes_the_shops_day() -> None:
    manager = person(Role.MANAGER)
    holder = manager.person
    assert isinstance(holder, Person)
    _, code = issue_badge(person=holder, by=manager, now=EVENING)
    print_badge(person=holder, code=code, by=manager, now=EVENING)
    assert Event.objects.get(kind="badge.printed").notes["issued"] == "2040-01-09"


def test_a_customer_reads_the_shops_day() -> None:
    tag = RedTag()
    tag.disposition = Disposition(at=EVENING)
    assert _of_tags([tag]) == ["Our engineer or inspector decided on 09 Jan 2040."]


@pytest.mark.parametrize(("days", "weeks"), [(0, 0), (6, 0), (7, 1), (371, 53), (-1, -1)])
def test_the_demo_is_shifted_by_whole_weeks_that_are_over(days: int, weeks: int) -> None:
    assert shift_of(WRITTEN_FOR + timedelta(days=days)) == timedelta(weeks=weeks)


@pytest.mark.parametrize(
    ("zone", "shift"), [("America/Denver", timedelta(0)), ("UTC", timedelta(weeks=1))], ids=["evening", "control"]
)
def test_the_demos_today_is_the_shops(
    monkeypatch: pytest.MonkeyPatch, settings: Any, zone: str, shift: timedelta
) -> None:
    """A week after the day it is written for by UTC, and the evening before in the shop."""
    settings.SHOP_TIME_ZONE = zone

    class Begun(Exception):
        pass

    def engage(begin: datetime, day: date) -> None:
        raise Begun(begin, day)

    monkeypatch.setattr(opening.people, "engage_all", engage)
    with pytest.raises(Begun) as begun:
        open_house(datetime(2025, 11, 27, 3, 0, tzinfo=UTC))
    assert begun.value.args == (datetime(2025, 4, 7, 14, 0, tzinfo=UTC) + shift, date(2025, 4, 7) + shift)
