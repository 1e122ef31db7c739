"""kill -9 of a database process in a storm of writes: PostgreSQL throws all its processes away and recovers
from its log; what was acknowledged must be there. The control runs with commits that do not wait for the
log."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import psycopg
import pytest

from tests import services
from tests.conftest import BASE_DIR, needed

pytestmark = [pytest.mark.postgresql]
ENOUGH = 60
LIMIT_S = 60


def environment(address: str) -> dict[str, str]:
    return {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings", "AXLEBOOK_DATABASE_URL": address}


def django(address: str, *command: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "django", *command],
        cwd=BASE_DIR,
        env=environment(address),
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


def asked(address: str, query: str) -> int:
    """The answer to one question, asked again while the server recovers."""
    end = time.monotonic() + LIMIT_S
    while True:
        try:
            with psycopg.connect(address) as connection:
                row = connection.execute(query).fetchone()
                assert row is not None
                return int(row[0])
        except psycopg.OperationalError:
            assert time.monotonic() < end
            time.sleep(0.1)


def storm(address: str, start: int) -> int:
    """Write until one of the server's processes is killed; gives the number of acts acknowledged."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.concurrency.storm", "whole", str(start)],
        cwd=BASE_DIR,
        env=environment(address),
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    assert process.stdout is not None
    seen = 0
    for _ in process.stdout:
        seen += 1
        if seen == ENOUGH:
            break
    backend = asked(
        address,
        "SELECT pid FROM pg_stat_activity WHERE backend_type = 'client backend' AND pid <> pg_backend_pid()",
    )
    os.kill(backend, signal.SIGKILL)
    rest = process.stdout.read().count(b"\n")
    process.wait(LIMIT_S)
    return seen + rest


def lost(address: str, rounds: int) -> int:
    """How many acknowledged acts are missing after so many kills; stops at the first kill that loses any."""
    for number in range(rounds):
        before = asked(address, "SELECT count(*) FROM record_event")
        acknowledged = storm(address, number * 100_000)
        there = asked(address, "SELECT count(*) FROM record_event") - before
        assert asked(address, "SELECT count(*) FROM shop_item") == 3 * (before + there)
        if there < acknowledged:
            return acknowledged - there
        assert there <= acknowledged + 1
    return 0


@pytest.mark.parametrize("durable", [True, False])
def test_nothing_acknowledged_is_lost_unless_commits_do_not_wait(durable: bool) -> None:
    needed(services.postgresql_programs(), "PostgreSQL")
    with services.postgresql(durable=durable) as address:
        # The control's database is unsafe on purpose, which the checks would say.
        django(address, "migrate", "--verbosity", "0", "--skip-checks")
        if durable:
            assert lost(address, rounds=3) == 0
            assert "The record holds." in django(address, "verify")
        else:
            assert lost(address, rounds=8) > 0
