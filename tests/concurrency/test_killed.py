"""kill -9 in a storm of writes: what was acknowledged is there, and nothing is there by halves."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections import Counter

import pytest

from shop.models import Item
from shop.record.models import Event, Job
from shop.record.verify import verify
from tests.conftest import BASE_DIR, child_environment

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = 4


def storm(how: str, enough: int) -> int:
    """Let the writer acknowledge so many acts, kill it in mid-flight; gives the number of acts
    acknowledged."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.concurrency.storm", how],
        cwd=BASE_DIR,
        env=child_environment(),
        stdout=subprocess.PIPE,
        start_new_session=True,
    )
    assert process.stdout is not None
    seen = 0
    for _ in process.stdout:
        seen += 1
        if seen == enough:
            break
    time.sleep(0.0007 * (enough % 7))
    os.killpg(process.pid, signal.SIGKILL)
    rest = process.stdout.read()
    process.wait()
    return seen + rest.count(b"\n")


def halves() -> list[int]:
    """How many rows each act left that did not leave all three."""
    rows = Counter(mark.partition("-")[0] for mark in Item.objects.values_list("mark", flat=True))
    return [count for count in rows.values() if count != 3]


def test_nothing_acknowledged_is_lost_and_nothing_stays_by_halves() -> None:
    for enough in range(5, 5 + ROUNDS):
        before = Event.objects.count()
        Item.objects.all().delete()
        Job.objects.all().delete()
        acknowledged = storm("whole", enough)
        made = Event.objects.count() - before
        assert acknowledged >= enough
        # The last one may have been committed with no time left to say so.
        assert made in (acknowledged, acknowledged + 1)
        assert Item.objects.count() == 3 * made
        assert Job.objects.count() == made
        assert halves() == []
    assert verify().findings == []


def test_control_rows_written_one_by_one_do_stay_by_halves() -> None:
    for enough in range(5, 40):
        storm("one by one", enough)
        if halves():
            return
        Item.objects.all().delete()
    pytest.fail("no kill ever left a half: the storm would not notice one")
