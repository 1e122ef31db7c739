"""A certificate whose job was given up: the closing page says so, and quality or the manager has it tried again."""

from __future__ import annotations

import pytest
from django.urls import reverse

from builds.actions.closing import make_again
from builds.errors import Stopped
from builds.models import Closing
from builds.reports.closing import being_made
from shop.errors import Refusal
from shop.record.jobs import MOST_ATTEMPTS
from shop.record.models import Event, Job
from tests.builds.pages import Browser, text_of
from tests.shopfloor import THIRD, Floor, open_shop

pytestmark = pytest.mark.django_db
KEY = "Try to make issue 1 again"


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop(THIRD)


@pytest.fixture
def given_up(closed: Closing) -> Job:
    job = Job.objects.get(key=f"certificate:{closed.axle_id}:1")
    job.state, job.attempts, job.error = Job.State.GIVEN_UP, MOST_ATTEMPTS, "the disk is full\nTraceback ..."
    job.finished = job.created
    job.save()
    return job


def page_of(floor: Floor, who: str, closed: Closing) -> str:
    return text_of(Browser(floor.who(who)).get(reverse("closing", args=[closed.axle.serial])))


def again(floor: Floor, who: str, closed: Closing) -> int:
    return Browser(floor.who(who)).send(reverse("closing_again", args=[closed.axle.serial])).status_code


@pytest.mark.parametrize("who", ["ingrith", "dovie"])
def test_the_key_puts_the_job_back_with_all_its_tries(floor: Floor, closed: Closing, given_up: Job, who: str) -> None:
    assert KEY in page_of(floor, who, closed)
    assert again(floor, who, closed) == 303
    job = Job.objects.get(pk=given_up.pk)
    assert (job.state, job.attempts) == (Job.State.WAITING, 0)
    assert KEY not in page_of(floor, who, closed)
    last = Event.objects.filter(subject=closed.axle.subject).latest("sequence")
    assert (last.kind, last.facts["notes"]) == (
        "certificate.asked_again", {"issue": 1, "failed": "the disk is full"},
    )  # fmt: skip


def test_nobody_else_has_the_key(floor: Floor, closed: Closing, given_up: Job) -> None:
    said = page_of(floor, "calla", closed)
    assert KEY not in said
    assert "Issue 1 could not be made: the disk is full" in said
    assert "Quality or the manager lets it be tried again." in said
    assert again(floor, "calla", closed) == 422
    assert Job.objects.get(pk=given_up.pk).state == Job.State.GIVEN_UP


def test_what_was_not_given_up_is_not_asked_again(floor: Floor, closed: Closing) -> None:
    """Control: the same job, waiting for its first try."""
    making = being_made(closed.axle)
    assert making is not None
    assert not making.given_up
    assert KEY not in page_of(floor, "ingrith", closed)
    with pytest.raises(Stopped, match="was given up"):
        make_again(axle=closed.axle, by=floor.who("ingrith"))


def test_the_rule_is_the_actions(floor: Floor, closed: Closing, given_up: Job) -> None:
    with pytest.raises(Refusal, match="quality or manager"):
        make_again(axle=closed.axle, by=floor.who("calla"))
