"""Background work: the row is the truth, the engine only runs it.

A job is written in the transaction of the act that asks for it. With a broker its id is sent after commit;
without one the ``worker`` command drains the table; either way ``run_job`` claims the row by a conditional
update, under a lease. Every handler must be idempotent: a worker killed between its work and its report
leaves a job that is done again.

    @handler("certificate.render")
    def render(work: Work) -> None:
        ... work.argument["axle"] ... work.renew() ...

    schedule("ledger.checkpoint", every=timedelta(hours=1))
    schedule_nightly("ledger.verify", hour=3)
"""

from __future__ import annotations

import logging
import traceback
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from importlib import import_module
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from shop.celery import LEASE_S, RUN_JOB, app
from shop.clock import shop_day
from shop.errors import Conflict, Refusal
from shop.record.models import Job

LEASE = timedelta(seconds=LEASE_S)
MOST_ATTEMPTS = 6
FIRST_WAIT = timedelta(seconds=10)
LONGEST_WAIT = timedelta(hours=1)
#: So many waiting jobs are sent to the broker again at one tick; the rest at the next.
SENT_AT_A_TICK = 200
LONGEST_ERROR = 6000
STAMP = "%Y-%m-%dT%H:%M:%SZ"

log = logging.getLogger(__name__)


class LeaseLost(Exception):
    """Somebody else has the job by now; whatever this worker still does there does not count."""


@dataclass(frozen=True)
class Work:
    """What a handler gets: the argument, and the way to keep the lease when the work is long."""

    job_id: int
    kind: str
    argument: Any
    attempt: int
    lease_by: str

    def renew(self, now: datetime | None = None) -> None:
        """Take the lease for another span; raises LeaseLost when it is no longer ours."""
        until = (now or timezone.now()) + LEASE
        if not _ours(self).update(lease_until=until):
            raise LeaseLost(f"job {self.job_id} was taken over")


Handler = Callable[[Work], None]
_handlers: dict[str, Handler] = {}
#: From the kind to the name of the slot in which a moment lies.
_schedules: dict[str, Callable[[datetime], str]] = {}


def handler(kind: str) -> Callable[[Handler], Handler]:
    """Register the function that does jobs of this kind."""

    def register(do: Handler) -> Handler:
        if _handlers.setdefault(kind, do) is not do:
            raise ValueError(f"two handlers for {kind}")
        return do

    return register


def schedule(kind: str, *, every: timedelta) -> None:
    """Ask for a job of this kind once in each slot of this length (counted from 1970 in UTC)."""
    length = every.total_seconds()
    _schedules[kind] = lambda at: f"{datetime.fromtimestamp(at.timestamp() // length * length, UTC):{STAMP}}"


def schedule_nightly(kind: str, *, hour: int) -> None:
    """Ask for a job once a day from this hour on, by the shop's own clock; a night missed is made up for at
    the next start, once."""
    _schedules[kind] = lambda at: f"{shop_day(at - timedelta(hours=hour)):%Y-%m-%d}"


def load_handlers() -> None:
    """Import the modules that register handlers; only processes that run jobs call this."""
    for name in ("shop.record.nightly", *settings.JOB_MODULES):
        import_module(name)


def ask(kind: str, *, key: str, argument: Mapping[str, Any], now: datetime, not_before: datetime | None = None) -> None:
    """Write the job row, inside the transaction of the act. A key already used asks for nothing more."""
    Job.objects.bulk_create(
        [Job(kind=kind, key=key, argument=dict(argument), not_before=not_before or now, created=now)],
        ignore_conflicts=True,
    )
    if settings.CELERY_BROKER_URL:
        transaction.on_commit(partial(_send_key, key), robust=True)


def _send_key(key: str) -> None:
    for job_id in Job.objects.filter(key=key, state=Job.State.WAITING).values_list("pk", flat=True):
        send(job_id)


def send(job_id: int) -> None:
    """Tell the broker. A broker that cannot be reached is no reason to fail: the tick sends the id again."""
    try:
        app.send_task(RUN_JOB, args=[job_id], retry=False)
    except Exception as error:  # noqa: BLE001 - whatever the transport raises, the row is safe
        log.warning("job %s was not sent: %s", job_id, error)


def run_job(job_id: int, *, now: datetime | None = None) -> str:
    """Claim one job and do it. Says what came of it: "done", "again", "given up", or "not ours".

    Race: two workers with the same id both try the update; the database lets one of them change the row.
    """
    work = _claim(job_id, now or timezone.now())
    if work is None:
        return "not ours"
    do = _handlers.get(work.kind)
    try:
        if do is None:
            raise Refusal(f"Nothing here knows how to do {work.kind!r}.")
        do(work)
    except LeaseLost:
        return "not ours"
    except Exception as error:  # noqa: BLE001 - every failure has to end up in the row
        return _failed(work, error, now or timezone.now())
    return _finish(work, Job.State.DONE, now or timezone.now(), error="")


def _claim(job_id: int, now: datetime) -> Work | None:
    mine = uuid.uuid4().hex
    free = Q(state=Job.State.WAITING, not_before__lte=now) | Q(state=Job.State.RUNNING, lease_until__lt=now)
    changed = Job.objects.filter(free, pk=job_id, attempts__lt=MOST_ATTEMPTS).update(
        state=Job.State.RUNNING, attempts=F("attempts") + 1, lease_until=now + LEASE, lease_by=mine
    )
    if not changed:
        return None
    job = Job.objects.get(pk=job_id)
    return Work(job.pk, job.kind, job.argument, job.attempts, mine) if job.lease_by == mine else None


def _ours(work: Work) -> Any:
    return Job.objects.filter(pk=work.job_id, state=Job.State.RUNNING, lease_by=work.lease_by)


def _finish(work: Work, state: Job.State, now: datetime, error: str) -> str:
    changed = _ours(work).update(state=state, finished=now, lease_until=None, lease_by="", error=error)
    return str(state.value) if changed else "not ours"


def _failed(work: Work, error: Exception, now: datetime) -> str:
    """Back to the queue with a growing wait, or given up: at the cap, or when a rule says no for good."""
    text = _told(error)
    log.warning("job %s (%s), attempt %s: %s", work.job_id, work.kind, work.attempt, text.partition("\n")[0])
    final = isinstance(error, Refusal) and not isinstance(error, Conflict)
    if final or work.attempt >= MOST_ATTEMPTS:
        return _finish(work, Job.State.GIVEN_UP, now, text)
    changed = _ours(work).update(
        state=Job.State.WAITING,
        lease_until=None,
        lease_by="",
        error=text,
        not_before=now + wait(work.attempt),
    )
    return "again" if changed else "not ours"


def wait(attempt: int) -> timedelta:
    """How long to leave a job alone after its n-th try: 10 s, 20 s, 40 s ... at most an hour."""
    doubled: timedelta = FIRST_WAIT * 2 ** (attempt - 1)
    return min(doubled, LONGEST_WAIT)


def _told(error: Exception) -> str:
    """The plain sentence first, then where it happened, for the manager's page."""
    said = str(error) or type(error).__name__
    where = "" if isinstance(error, Refusal) else "\n" + "".join(traceback.format_exception(error))
    return (said + where).replace("\x00", "")[:LONGEST_ERROR]


def tick(now: datetime | None = None) -> list[int]:
    """What has to happen every few seconds: ask for the scheduled jobs of this slot, sweep up after dead
    workers, and (with a broker) send what is due. Gives the ids that are due. A double tick is harmless."""
    at = now or timezone.now()
    for kind, slot in _schedules.items():
        key = f"{kind}:{slot(at)}"
        if not Job.objects.filter(key=key).exists():
            ask(kind, key=key, argument={"slot": slot(at)}, now=at)
    _sweep(at)
    ids = due(at)
    if settings.CELERY_BROKER_URL:
        for job_id in ids:
            send(job_id)
    return ids


def _sweep(now: datetime) -> None:
    """Jobs whose worker died: back to the queue, or given up when they have taken too many workers with
    them."""
    lapsed = Job.objects.filter(state=Job.State.RUNNING, lease_until__lt=now)
    lapsed.filter(attempts__gte=MOST_ATTEMPTS).update(
        state=Job.State.GIVEN_UP,
        finished=now,
        lease_until=None,
        lease_by="",
        error=f"The worker stopped {MOST_ATTEMPTS} times in the middle of this job.",
    )
    lapsed.update(state=Job.State.WAITING, lease_until=None, lease_by="", not_before=now)


def due(now: datetime | None = None, limit: int = SENT_AT_A_TICK) -> list[int]:
    """Ids of the jobs that may run now, the longest waiting first."""
    waiting = Job.objects.filter(state=Job.State.WAITING, not_before__lte=now or timezone.now()).order_by(
        "not_before", "pk"
    )
    return list(waiting.values_list("pk", flat=True)[:limit])


def try_again(job_id: int, *, now: datetime | None = None) -> bool:
    """Put a job that was given up back into the queue with all its attempts; False when it was not given
    up."""
    at = now or timezone.now()
    changed = Job.objects.filter(pk=job_id, state=Job.State.GIVEN_UP).update(
        state=Job.State.WAITING, attempts=0, finished=None, not_before=at
    )
    if changed and settings.CELERY_BROKER_URL:
        transaction.on_commit(partial(send, job_id), robust=True)
    return bool(changed)
