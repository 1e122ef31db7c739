"""The job table: claimed once, finished only under the lease, tried again, and given up in the open."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from shop.errors import Conflict, Refusal
from shop.record import jobs, nightly
from shop.record.models import Checkpoint, Inspection, Job
from shop.record.who import Who

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
SECOND = timedelta(seconds=1)


@pytest.fixture(autouse=True)
def registered(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, jobs.Handler]]:
    """A register of its own for each test."""
    monkeypatch.setattr(jobs, "_handlers", handlers := {})
    monkeypatch.setattr(jobs, "_schedules", {})
    return handlers


def asked(key: str = "k", kind: str = "test", now: datetime = NOW) -> Job:
    jobs.ask(kind, key=key, argument={"n": 1}, now=now)
    return Job.objects.get(key=key)


def fresh(job: Job) -> Job:
    return Job.objects.get(pk=job.pk)


def fails_with(error: Exception) -> Callable[[jobs.Work], None]:
    def do(work: jobs.Work) -> None:
        raise error

    return do


def test_a_job_runs_once_and_is_done(registered: dict[str, Any]) -> None:
    seen: list[Any] = []
    registered["test"] = lambda work: seen.append(work.argument)
    job = asked()
    assert jobs.run_job(job.pk, now=NOW) == "done"
    assert jobs.run_job(job.pk, now=NOW) == "not ours"
    assert seen == [{"n": 1}]
    assert (fresh(job).state, fresh(job).finished, fresh(job).lease_by) == ("done", NOW, "")


def test_the_same_key_asks_for_one_job() -> None:
    asked()
    asked()
    assert Job.objects.count() == 1


def test_a_job_does_not_run_before_its_time(registered: dict[str, Any]) -> None:
    registered["test"] = lambda work: None
    job = asked(now=NOW + SECOND)
    assert jobs.due(NOW) == []
    assert jobs.run_job(job.pk, now=NOW) == "not ours"
    assert jobs.due(NOW + SECOND) == [job.pk]
    assert jobs.run_job(job.pk, now=NOW + SECOND) == "done"


def test_a_failure_waits_longer_each_time_and_is_given_up_with_its_error_kept(
    registered: dict[str, Any],
) -> None:
    registered["test"] = fails_with(ZeroDivisionError("the ink ran out"))
    job, now, waits = asked(), NOW, []
    while jobs.run_job(job.pk, now=now) == "again":
        waits.append((fresh(job).not_before - now).total_seconds())
        now = fresh(job).not_before
    assert waits == [10, 20, 40, 80, 160]
    assert fresh(job).state == "given up"
    assert fresh(job).attempts == jobs.MOST_ATTEMPTS
    assert fresh(job).error.startswith("the ink ran out\nTraceback")


def test_a_rule_that_says_no_is_not_asked_again(registered: dict[str, Any]) -> None:
    registered["test"] = fails_with(Refusal("The axle is not closed."))
    assert jobs.run_job(asked().pk, now=NOW) == "given up"
    assert Job.objects.get().error == "The axle is not closed."


def test_a_conflict_is_tried_again(registered: dict[str, Any]) -> None:
    registered["test"] = fails_with(Conflict("Somebody is at work there."))
    assert jobs.run_job(asked().pk, now=NOW) == "again"


def test_a_kind_nobody_knows_is_given_up_in_the_open() -> None:
    assert jobs.run_job(asked(kind="mystery").pk, now=NOW) == "given up"
    assert "mystery" in Job.objects.get().error


def test_a_job_given_up_can_be_put_back_by_hand(registered: dict[str, Any]) -> None:
    job = asked()
    jobs.run_job(job.pk, now=NOW)
    assert jobs.try_again(job.pk, now=NOW)
    assert not jobs.try_again(job.pk, now=NOW)
    registered["test"] = lambda work: None
    assert jobs.run_job(job.pk, now=NOW) == "done"


class TestLease:
    def test_a_dead_workers_job_is_taken_over_when_the_lease_runs_out(self, registered: dict[str, Any]) -> None:
        registered["test"] = lambda work: None
        job = asked()
        assert jobs._claim(job.pk, NOW) is not None
        assert jobs.run_job(job.pk, now=NOW + jobs.LEASE) == "not ours"
        assert jobs.run_job(job.pk, now=NOW + jobs.LEASE + SECOND) == "done"
        assert fresh(job).attempts == 2

    def test_who_lost_the_lease_finishes_nothing(self, registered: dict[str, Any]) -> None:
        def slow(work: jobs.Work) -> None:
            registered["test"] = lambda other: None
            assert jobs.run_job(job.pk, now=NOW + jobs.LEASE + SECOND) == "done"

        registered["test"] = slow
        job = asked()
        assert jobs.run_job(job.pk, now=NOW) == "not ours"
        assert fresh(job).finished == NOW + jobs.LEASE + SECOND

    def test_who_lost_the_lease_and_fails_leaves_the_others_result(self, registered: dict[str, Any]) -> None:
        def slow(work: jobs.Work) -> None:
            registered["test"] = lambda other: None
            jobs.run_job(job.pk, now=NOW + jobs.LEASE + SECOND)
            raise ZeroDivisionError

        registered["test"] = slow
        job = asked()
        assert jobs.run_job(job.pk, now=NOW) == "not ours"
        assert (fresh(job).state, fresh(job).error) == ("done", "")

    def test_long_work_renews_it(self, registered: dict[str, Any]) -> None:
        def long(work: jobs.Work) -> None:
            work.renew(NOW + jobs.LEASE)
            outcome.append(jobs.run_job(job.pk, now=NOW + jobs.LEASE + SECOND))

        outcome: list[str] = []
        registered["test"] = long
        job = asked()
        assert jobs.run_job(job.pk, now=NOW) == "done"
        assert outcome == ["not ours"]

    def test_renewing_a_lost_lease_stops_the_work(self, registered: dict[str, Any]) -> None:
        def long(work: jobs.Work) -> None:
            Job.objects.update(lease_by="somebody else")
            work.renew(NOW)
            reached.append(True)

        reached: list[bool] = []
        registered["test"] = long
        assert jobs.run_job(asked().pk, now=NOW) == "not ours"
        assert reached == []


class TestTick:
    def test_a_dead_workers_job_goes_back_to_the_queue(self) -> None:
        job = asked()
        jobs._claim(job.pk, NOW)
        assert jobs.tick(NOW + jobs.LEASE) == []
        assert jobs.tick(NOW + jobs.LEASE + SECOND) == [job.pk]

    def test_a_job_that_kills_its_workers_is_given_up(self) -> None:
        job, now = asked(), NOW
        for _ in range(jobs.MOST_ATTEMPTS):
            assert jobs._claim(job.pk, now) is not None
            now += jobs.LEASE + SECOND
            jobs.tick(now)
        assert (fresh(job).state, jobs.due(now)) == ("given up", [])
        assert "stopped 6 times" in fresh(job).error

    def test_a_schedule_asks_once_for_each_slot(self) -> None:
        jobs.schedule("ledger.checkpoint", every=timedelta(hours=1))
        for minutes in (0, 0, 59, 60, 61):
            jobs.tick(NOW + timedelta(minutes=minutes))
        assert list(Job.objects.order_by("pk").values_list("key", flat=True)) == [
            "ledger.checkpoint:2026-03-01T08:00:00Z",
            "ledger.checkpoint:2026-03-01T09:00:00Z",
        ]

    def test_a_nightly_job_is_asked_for_once_a_night_by_the_shops_clock(self, settings: Any) -> None:
        settings.SHOP_TIME_ZONE = "America/Denver"  # UTC - 7 h in winter
        jobs.schedule_nightly("ledger.verify", hour=3)
        evening = datetime(2026, 3, 2, 3, 0, tzinfo=UTC)  # 1 Mar, 20:00 in the shop
        for hours in (0, 6.99, 7, 7.01, 20, 30.99, 31):
            jobs.tick(evening + timedelta(hours=hours))
        assert list(Job.objects.order_by("pk").values_list("key", "created")) == [
            ("ledger.verify:2026-03-01", evening),
            ("ledger.verify:2026-03-02", evening + timedelta(hours=7)),
            ("ledger.verify:2026-03-03", evening + timedelta(hours=31)),
        ]


def test_two_handlers_for_one_kind_are_a_mistake() -> None:
    jobs.handler("x")(lambda work: None)
    with pytest.raises(ValueError, match="two handlers"):
        jobs.handler("x")(lambda work: None)


def test_a_broker_that_is_away_does_not_stop_the_act(
    settings: Any, django_capture_on_commit_callbacks: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent: list[int] = []

    def refuse(name: str, args: list[int], **_: Any) -> None:
        sent.extend(args)
        raise ConnectionError("no broker")

    settings.CELERY_BROKER_URL = "redis://127.0.0.1:1"
    monkeypatch.setattr(jobs.app, "send_task", refuse)
    with django_capture_on_commit_callbacks(execute=True):
        job = asked()
    assert sent == [job.pk]
    assert fresh(job).state == "waiting"


class TestNightly:
    """The record's own jobs, run as a worker would."""

    @pytest.fixture(autouse=True)
    def _own(self, registered: dict[str, Any], settings: Any, tmp_path: Any) -> None:
        settings.KEYS_DIR = tmp_path
        registered |= {
            nightly.CHECKPOINT: nightly.make_checkpoint,
            nightly.VERIFY: nightly.walk,
            nightly.REPLAY: nightly.compare,
        }

    def test_they_sign_walk_and_compare_and_leave_what_they_found(self, who: Who) -> None:
        for kind in (nightly.CHECKPOINT, nightly.VERIFY, nightly.REPLAY):
            jobs.ask(kind, key=kind, argument={}, now=NOW)
        assert [jobs.run_job(job_id) for job_id in jobs.due()] == ["done"] * 3
        assert Checkpoint.objects.count() == 1
        assert set(Inspection.objects.values_list("kind", "sound")) == {("ledger", True), ("replay", True)}

    def test_a_real_shop_without_a_key_is_told_to_make_one(self, who: Who, settings: Any) -> None:
        settings.DEMO = False
        jobs.ask(nightly.CHECKPOINT, key="k", argument={}, now=NOW)
        assert [jobs.run_job(job_id) for job_id in jobs.due()] == ["given up"]
        assert "make_key ledger" in Job.objects.get(key="k").error
