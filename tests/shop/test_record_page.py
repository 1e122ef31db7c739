"""The page Record: what the nightly walks found and what was given up, where the manager and quality see it."""

from __future__ import annotations

import logging
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.models import Item, Role
from shop.record import nightly, replay, verify
from shop.record.jobs import Work
from shop.record.models import Inspection, Job
from tests import factories

pytestmark = pytest.mark.django_db
BROKEN = "axle:1: event 3 was changed"


@pytest.fixture
def manager() -> Client:
    return factories.signed_in_client(factories.person("dovie", Role.MANAGER))


def page(client: Client) -> str:
    answer = client.get(reverse("record"))
    assert answer.status_code == 200
    return str(answer.content.decode())


def walked(kind: str, *, hours_ago: int = 1, findings: tuple[str, ...] = ()) -> None:
    Inspection.objects.create(
        kind=kind, at=timezone.now() - timedelta(hours=hours_ago), events=4711, seconds=Decimal("1.5"),
        sound=not findings, findings=list(findings),
    )  # fmt: skip


def test_what_was_never_walked_is_absent(manager: Client) -> None:
    assert page(manager).count(">absent<") == 2


def test_what_holds_says_so(manager: Client) -> None:
    walked("ledger")
    walked("replay")
    shown = page(manager)
    assert shown.count(">valid<") == 2
    assert "4711" in shown
    assert "does not hold" not in shown


def test_what_does_not_hold_is_named_until_a_later_walk_is_sound(manager: Client) -> None:
    walked("ledger", hours_ago=3, findings=(BROKEN,))
    shown = page(manager)
    assert ">failed<" in shown
    assert BROKEN in shown
    walked("ledger")
    assert BROKEN not in page(manager)


@pytest.mark.parametrize(("hours", "late"), [(35, False), (37, True)])
def test_a_walk_that_did_not_come_is_overdue(manager: Client, hours: int, late: bool) -> None:
    walked("ledger", hours_ago=hours)
    assert (">overdue<" in page(manager)) == late


def test_work_given_up_is_listed_with_its_sentence(manager: Client) -> None:
    now = timezone.now()
    given = {"kind": "certificate.render", "argument": {}, "not_before": now, "created": now}
    Job.objects.create(key="c:1", state=Job.State.GIVEN_UP, finished=now, error="no ink\nTraceback x", **given)
    Job.objects.create(key="c:2", state=Job.State.WAITING, error="paper jam", **given)
    shown = page(manager)
    assert "no ink" in shown
    assert "Traceback" not in shown
    assert "paper jam" not in shown


def test_the_nights_walks_end_up_here_and_in_the_log(manager: Client, caplog: pytest.LogCaptureFixture) -> None:
    work = Work(1, "test", {}, 1, "")
    with caplog.at_level(logging.ERROR):
        nightly.walk(work)
        verify.inspect()
        replay.inspect()
    assert caplog.messages == []
    assert page(manager).count(">valid<") == 2
    row = Item.objects.create(kind="part", mark="smuggled")
    with caplog.at_level(logging.ERROR):
        replay.inspect()
    (said,) = caplog.messages
    assert f"shop.Item {row.pk}" in said
    assert "smuggled" not in page(manager)
    assert f"shop.Item {row.pk} is in the table" in page(manager)
