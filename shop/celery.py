"""The Celery app: the engine for background work where there is a broker.

Only the id of a job row travels. `shop.tasks` has the two tasks: run one row, and tick. A module that must
send an id imports `app` from here and calls `app.send_task(RUN_JOB, args=[job_id])`.
"""

from __future__ import annotations

import os

from celery import Celery

RUN_JOB = "job.run"
TICK = "job.tick"

# Each limit is laid upon the one before. A job that hangs is interrupted, then its process is ended, and only then
# does its lease run out: nobody takes a job over while the first one is still at it. The broker hands a message to
# somebody else last of all.
SOFT_LIMIT_S = 270
HARD_LIMIT_S = SOFT_LIMIT_S + 30
LEASE_S = HARD_LIMIT_S + 60
VISIBILITY_S = LEASE_S + 540

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

app = Celery("axlebook", include=["shop.tasks"])
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.update(
    # Celery's own defaults acknowledge before the work is done and lose it with a killed child.
    task_acks_late=True,
    task_reject_on_worker_lost=True,
    worker_prefetch_multiplier=1,
    task_ignore_result=True,
    task_time_limit=HARD_LIMIT_S,
    task_soft_time_limit=SOFT_LIMIT_S,
    task_serializer="json",
    accept_content=["json"],
    broker_connection_retry_on_startup=True,
    broker_transport_options={"visibility_timeout": VISIBILITY_S, "unacked_restore_throttle": 1},
    worker_hijack_root_logger=False,
    worker_send_task_events=False,
    timezone="UTC",
    beat_schedule={"tick": {"task": TICK, "schedule": 15.0}},
)
