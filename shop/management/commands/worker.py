"""Drain the job table where there is no broker: one process, one job at a time, until told to stop."""

from __future__ import annotations

import argparse
import logging
import os
import signal
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

from django.core.management.base import BaseCommand
from django.db import DatabaseError, close_old_connections

from shop.celery import HARD_LIMIT_S, SOFT_LIMIT_S
from shop.record import jobs

TICK_S = 15.0
PAUSE_S = 0.5

log = logging.getLogger(__name__)


class TooLong(Exception):
    """The job was interrupted: it took longer than any job may."""


@contextmanager
def time_limit(soft: float, hard: float) -> Iterator[None]:
    """Interrupt what runs inside after `soft` seconds; only in the main thread, where signals arrive.

    What catches the interruption and goes on ends with the whole process after `hard` seconds: its lease runs out
    soon after, and then somebody else may begin the same job.
    """
    told = False

    def interrupted(_number: int, _frame: FrameType | None) -> None:
        nonlocal told
        if told:
            log.critical("the job went on after it was interrupted; this worker ends")
            os._exit(1)
        told = True
        raise TooLong(f"The job took longer than {soft:g} s and was interrupted.")

    before = signal.signal(signal.SIGALRM, interrupted)
    signal.setitimer(signal.ITIMER_REAL, soft, hard - soft)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


class Command(BaseCommand):
    help = "Run background jobs from the job table (where no broker is configured)."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("--once", action="store_true", help="run what is due now, then stop")

    def handle(self, *args: Any, once: bool, **options: Any) -> None:
        jobs.load_handlers()
        stop = threading.Event()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: stop.set())
        if once:
            jobs.tick()
            self.run_due(stop)
            return
        next_tick = 0.0
        while not stop.is_set():
            try:
                if time.monotonic() >= next_tick:
                    jobs.tick()
                    next_tick = time.monotonic() + TICK_S
                if not self.run_due(stop):
                    stop.wait(PAUSE_S)
            except DatabaseError as error:
                # A database that is away for a moment is no reason to die: the rows wait.
                log.warning("the job table cannot be read: %s", error)
                stop.wait(TICK_S)
            close_old_connections()

    def run_due(self, stop: threading.Event) -> int:
        """Run what is due, until told to stop; the job at hand is always finished."""
        done = 0
        for job_id in jobs.due():
            if stop.is_set():
                break
            with time_limit(SOFT_LIMIT_S, HARD_LIMIT_S):
                outcome = jobs.run_job(job_id)
            done += 1
            self.stdout.write(f"job {job_id}: {outcome}")
            self.stdout.flush()
        return done
