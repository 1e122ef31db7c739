"""The two Celery tasks: run one job row, and tick. Imported by Celery's own processes only."""

from __future__ import annotations

from shop.celery import RUN_JOB, TICK, app
from shop.record import jobs

# Before the children are forked, so that each finds the slow imports done.
jobs.load_handlers()


@app.task(name=RUN_JOB)
def run_job(job_id: int) -> str:
    return jobs.run_job(job_id)


@app.task(name=TICK)
def tick() -> int:
    """How many jobs were due."""
    return len(jobs.tick())
