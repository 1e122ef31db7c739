"""Background work by a real Celery worker over a real Redis, on PostgreSQL."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
import redis
from django.db import transaction
from django.utils import timezone

from shop.record import jobs
from shop.record.models import Job
from tests.conftest import CeleryWorker
from tests.job_handlers import APPEND, DIE_ONCE

pytestmark = [pytest.mark.celery, pytest.mark.xdist_group("celery")]


def ask(kind: str, path: Path) -> Job:
    with transaction.atomic():
        jobs.ask(kind, key=f"{kind}:1", argument={"path": str(path)}, now=timezone.now())
    return Job.objects.get(key=f"{kind}:1")


def eventually(holds: Callable[[], bool], seconds: float = 20) -> bool:
    end = time.monotonic() + seconds
    while not holds():
        if time.monotonic() > end:
            return False
        time.sleep(0.05)
    return True


def is_done(job: Job) -> bool:
    job.refresh_from_db()
    return job.state == Job.State.DONE


def test_a_job_is_done_by_the_worker_once(celery_worker: CeleryWorker, tmp_path: Path) -> None:
    path = tmp_path / "done"
    job = ask(APPEND, path)
    assert eventually(lambda: is_done(job)), celery_worker.log.read_text()
    jobs.send(job.pk)
    jobs.send(job.pk)
    other = ask(DIE_ONCE + "x", path)  # a kind nobody knows: when it is given up, the two above were seen
    assert eventually(lambda: Job.objects.get(pk=other.pk).state == Job.State.GIVEN_UP)
    assert path.read_text() == "1\n"


def test_without_a_worker_the_job_waits(transactional_db: None, broker: redis.Redis, tmp_path: Path) -> None:
    """The control: it is the worker, not this process, that does the job."""
    job = ask(APPEND, tmp_path / "done")
    time.sleep(1)
    assert not is_done(job)
    assert broker.llen("celery") == 1


def test_a_broker_that_was_wiped_loses_nothing(
    transactional_db: None, broker: redis.Redis, broker_url: str, tmp_path: Path
) -> None:
    job = ask(APPEND, tmp_path / "done")
    broker.flushdb()
    worker = CeleryWorker(broker_url, tmp_path / "log")
    worker.start()
    try:
        time.sleep(1)
        assert not is_done(job)
        jobs.tick()
        assert eventually(lambda: is_done(job)), worker.log.read_text()
    finally:
        worker.stop()


def test_a_job_whose_worker_died_is_done_by_the_next(celery_worker: CeleryWorker, tmp_path: Path) -> None:
    path = tmp_path / "done"
    job = ask(DIE_ONCE, path)
    assert eventually(lambda: Job.objects.get(pk=job.pk).state == Job.State.RUNNING)
    time.sleep(2)
    assert not is_done(job), "the lease of the dead must hold off everybody else"
    assert not path.exists()
    Job.objects.filter(pk=job.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    jobs.tick()
    assert eventually(lambda: is_done(job)), celery_worker.log.read_text()
    assert path.read_text() == "2\n"
