"""A real Celery worker is killed in the middle of a certificate; another finishes it, and there is exactly one."""

from __future__ import annotations

import time
from datetime import timedelta

import pytest
from django.utils import timezone

from builds.actions.closing import RENDER, certify, close_axle
from builds.models import Certificate
from shop.actions.signing import GRANT_LASTS, Grant
from shop.record import jobs
from shop.record.models import Job
from tests.conftest import CeleryWorker
from tests.shopfloor import THIRD, open_shop

pytestmark = [pytest.mark.celery, pytest.mark.xdist_group("celery")]


def wait_for(holds: object, seconds: float = 60) -> bool:
    end = time.monotonic() + seconds
    while not holds():  # type: ignore[operator]
        if time.monotonic() > end:
            return False
        time.sleep(0.05)
    return True


def test_one_certificate_although_the_worker_is_killed(celery_worker: CeleryWorker) -> None:
    floor = open_shop(THIRD)
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run()
    closing = close_axle(axle=builder.axle, by=floor.who("calla"))
    quality = floor.who("ingrith")
    grant = Grant(floor.people["ingrith"], None, "released", timezone.now() + GRANT_LASTS)
    certify(closing=closing, grant=grant, by=quality)
    assert wait_for(lambda: Job.objects.get(kind=RENDER).state == Job.State.RUNNING or Certificate.objects.exists())
    killed_in_time = not Certificate.objects.exists()
    celery_worker.kill()
    celery_worker.start()
    # The lease of the killed worker runs out; the sweeper then sends the job again.
    Job.objects.filter(kind=RENDER).exclude(state=Job.State.DONE).update(lease_until=timezone.now() - timedelta(1))
    jobs.tick(timezone.now())
    assert wait_for(lambda: Certificate.objects.exists()), celery_worker.log.read_text()[-3000:]
    assert wait_for(lambda: Job.objects.get(kind=RENDER).state == Job.State.DONE)
    assert Certificate.objects.filter(axle=builder.axle).count() == 1
    assert killed_in_time, "the worker was too quick to be killed in the middle: the test shows nothing"
