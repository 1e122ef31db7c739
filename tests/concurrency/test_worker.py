"""The worker without a broker, as a process of its own: it drains the table, and SIGTERM lets it finish."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.utils import timezone

from shop.record import jobs
from shop.record.models import Job
from tests.conftest import BASE_DIR, child_environment
from tests.job_handlers import APPEND, DIE_ONCE

pytestmark = pytest.mark.django_db(transaction=True)
LIMIT_S = 60


@pytest.fixture
def worker(transactional_db: None) -> Iterator[subprocess.Popen[bytes]]:
    process = start()
    yield process
    process.kill()
    process.wait()


def start() -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "django", "worker"],
        cwd=BASE_DIR,
        env=child_environment(),
        stdout=subprocess.DEVNULL,
        start_new_session=True,
    )


def asked(kind: str, path: Path) -> Job:
    jobs.ask(kind, key=f"{kind}:{path}", argument={"path": str(path)}, now=timezone.now())
    return Job.objects.get(kind=kind)


def until(job: Job, state: str) -> None:
    end = time.monotonic() + LIMIT_S
    while Job.objects.get(pk=job.pk).state != state:
        assert time.monotonic() < end, Job.objects.get(pk=job.pk)
        time.sleep(0.05)


def test_it_runs_what_is_asked_for_and_stops_when_told(worker: subprocess.Popen[bytes], tmp_path: Path) -> None:
    job = asked(APPEND, tmp_path / "out")
    until(job, "done")
    assert (tmp_path / "out").read_text() == "1\n"
    worker.send_signal(signal.SIGTERM)
    assert worker.wait(LIMIT_S) == 0


def test_a_job_whose_worker_was_killed_is_done_by_the_next(worker: subprocess.Popen[bytes], tmp_path: Path) -> None:
    job = asked(DIE_ONCE, tmp_path / "out")
    assert worker.wait(LIMIT_S) == -signal.SIGKILL
    assert Job.objects.get(pk=job.pk).state == "running"
    # Nobody waits six minutes in a test: the lease is made to run out.
    Job.objects.filter(pk=job.pk).update(lease_until=timezone.now())
    other = start()
    try:
        until(job, "done")
    finally:
        other.kill()
        other.wait()
    assert (tmp_path / "out").read_text() == "2\n"
