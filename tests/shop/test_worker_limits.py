"""A job that hangs: interrupted, then ended with its process, and only then free for somebody else."""

from __future__ import annotations

import itertools
import os
import signal
import threading
import time
from contextlib import AbstractContextManager, nullcontext
from datetime import timedelta
from typing import Any

import pytest

from shop import celery
from shop.management.commands import worker
from shop.record import jobs

#: Far more than the limits below; a loop that nobody ends fails here.
LONG_S = 20


class Ended(BaseException):
    """What stands in for the end of the process."""


def test_each_limit_lies_beyond_the_one_before() -> None:
    lease = jobs.LEASE / timedelta(seconds=1)
    limits = (celery.app.conf.task_soft_time_limit, celery.app.conf.task_time_limit, lease, celery.VISIBILITY_S)
    assert all(before < after for before, after in itertools.pairwise(limits)), limits


def test_the_worker_without_a_broker_keeps_the_same_limits(monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[tuple[float, float]] = []

    def noted(soft: float, hard: float) -> AbstractContextManager[None]:
        given.append((soft, hard))
        return nullcontext()

    monkeypatch.setattr(worker, "time_limit", noted)
    monkeypatch.setattr(jobs, "due", lambda: [1])
    monkeypatch.setattr(jobs, "run_job", lambda _job: "done")
    worker.Command().run_due(threading.Event())
    assert given == [(celery.app.conf.task_soft_time_limit, celery.app.conf.task_time_limit)]


def hang(*, stubborn: bool) -> None:
    end = time.monotonic() + LONG_S
    while time.monotonic() < end:
        try:
            time.sleep(0.01)
        except worker.TooLong:
            if not stubborn:
                raise
    pytest.fail("nothing ended the job")


def test_a_job_that_hangs_is_interrupted() -> None:
    with pytest.raises(worker.TooLong, match=r"longer than 0\.05 s"), worker.time_limit(0.05, LONG_S):
        hang(stubborn=False)
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


def test_a_job_that_swallows_the_interruption_ends_with_its_worker(monkeypatch: pytest.MonkeyPatch) -> None:
    def ended(status: int) -> Any:
        assert status
        raise Ended

    monkeypatch.setattr(os, "_exit", ended)
    with pytest.raises(Ended), worker.time_limit(0.05, 0.1):
        hang(stubborn=True)
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)
