"""Which tests run on which engine, and the servers, browser and workers that some of them need."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit

import pytest
import redis
from django.core.management import call_command
from django.db import connection, transaction
from django.test import TransactionTestCase

from shop.celery import app as celery_app
from shop.record import triggers
from tests import engines, reset, spread
from tests.run import KEEP
from tests.services import chromium_program
from tests.settings import SCRATCH

BASE_DIR = Path(__file__).resolve().parent.parent
WORKER_START_S = 40


def _empty_past_the_guards(self: TransactionTestCase) -> None:
    """Tests that commit are cleaned up by deleting every row, which the append-only tables refuse."""
    if not os.environ.get(KEEP):
        reset.empty()


TransactionTestCase._fixture_teardown = _empty_past_the_guards  # type: ignore[method-assign]


def pytest_configure(config: pytest.Config) -> None:
    # The browser's driver keeps an event loop in the test's thread; the ORM would refuse to work beside it.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


def left_out(item: pytest.Item, *, benchmarks: bool) -> bool:
    """A test that this run is not for. Browser tests drive SQLite; the broker's tests want PostgreSQL."""
    has = item.get_closest_marker
    if has("benchmark") and not benchmarks:
        return True
    if connection.vendor == "sqlite":
        return bool(has("postgresql") or has("celery"))
    return bool(has("sqlite") or has("browser"))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> spread.WholeModules | None:
    """Asked for by name, another way to share them out stays possible."""
    return spread.WholeModules(config, log) if config.getvalue("dist") in {"load", "loadgroup"} else None


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        if (BASE_DIR / "tests" / "browser") in item.path.parents:
            item.add_marker(pytest.mark.browser)
        if (BASE_DIR / "tests" / "benchmarks") in item.path.parents:
            item.add_marker(pytest.mark.benchmark)
    asked = "benchmark" in str(config.getoption("-m"))
    out = [item for item in items if left_out(item, benchmarks=asked)]
    mine = [item for item in items if not left_out(item, benchmarks=asked)]
    out += engines.leave_to_the_first(mine)
    if out:
        config.hook.pytest_deselected(items=out)
        gone = set(out)
        items[:] = [item for item in items if item not in gone]
    spread.longest_first(items)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_setup(item: pytest.Item) -> Iterator[None]:
    with engines.shut_off(item):
        return (yield)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Iterator[None]:
    with engines.shut_off(item):
        return (yield)


def needed(present: object, what: str) -> None:
    """Skip where something is not installed; in CI nothing may be missing."""
    if present:
        return
    if os.environ.get("CI", "").lower() in {"1", "true"}:
        pytest.fail(f"{what} is missing")
    pytest.skip(f"{what} is missing")


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    """Debian's Chromium, quiet: no look-ups of its own, no update, no sync."""
    program = chromium_program()
    needed(program, "Chromium")
    quiet = [
        "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update",
        "--disable-sync", "--disable-gpu",
    ]  # fmt: skip
    root = ["--no-sandbox"] if os.geteuid() == 0 else []
    return {"executable_path": program, "args": quiet + root}


@pytest.fixture(scope="session")
def broker_url() -> str:
    """The throw-away Redis; each parallel test process has a numbered database of its own."""
    address = os.environ.get("AXLEBOOK_TEST_REDIS", "")
    needed(address, "Redis")
    return f"{address}/{os.environ.get('PYTEST_XDIST_WORKER', 'gw0').removeprefix('gw')}"


def child_environment(**more: str) -> dict[str, str]:
    """For a process beside the test: the same test database, the same keys."""
    values = connection.settings_dict
    if connection.vendor == "sqlite":
        address = f"sqlite://{values['NAME']}"
    else:
        parts = urlsplit(os.environ["AXLEBOOK_DATABASE_URL"])
        address = urlunsplit(parts._replace(path=f"/{values['NAME']}"))
    mine = {"DJANGO_SETTINGS_MODULE": "tests.settings", "AXLEBOOK_DATABASE_URL": address}
    return {**os.environ, **mine, "AXLEBOOK_KEYS": str(SCRATCH / "keys"), **more}


@dataclass
class CeleryWorker:
    """A real worker process with one child, on the test's database."""

    broker_url: str
    log: Path
    process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        command = [
            sys.executable, "-m", "celery", "-A", "shop.celery", "worker", "--concurrency", "1",
            "--loglevel", "INFO", "--without-gossip", "--without-mingle", "--without-heartbeat",
        ]  # fmt: skip
        with self.log.open("ab") as output:
            started = output.tell()
            self.process = subprocess.Popen(
                command, cwd=BASE_DIR, env=child_environment(CELERY_BROKER_URL=self.broker_url),
                stdout=output, stderr=output, start_new_session=True,
            )  # fmt: skip
        end = time.monotonic() + WORKER_START_S
        while b" ready." not in self.log.read_bytes()[started:]:
            if self.process.poll() is not None or time.monotonic() > end:
                raise RuntimeError(f"The Celery worker did not start:\n{self.log.read_text()[-3000:]}")
            time.sleep(0.05)

    def kill(self) -> None:
        """As a power cut would: the worker and its child, with no time to tidy up."""
        if self.process is not None and self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()

    def stop(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(timeout=10)
            except subprocess.TimeoutExpired:
                self.kill()


@pytest.fixture
def broker(broker_url: str, settings: Any) -> Iterator[redis.Redis]:
    """An empty broker that this process sends to; without the fixture nothing is sent."""
    settings.CELERY_BROKER_URL = broker_url
    celery_app.conf.broker_url = broker_url
    with redis.Redis.from_url(broker_url) as client:
        client.flushdb()
        yield client
        client.flushdb()


@pytest.fixture
def celery_worker(
    transactional_db: None, broker: redis.Redis, broker_url: str, tmp_path: Path
) -> Iterator[CeleryWorker]:
    worker = CeleryWorker(broker_url, tmp_path / "celery.log")
    worker.start()
    try:
        yield worker
    finally:
        worker.stop()


@pytest.fixture(scope="module")
def once_per_module(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """An outer transaction around a whole module, so that a shop is set up once and each test rolls back to it.

    Django's own rollback after each test then goes back to a savepoint inside this transaction.
    """
    with django_db_blocker.unblock():
        outer = transaction.atomic()
        outer.__enter__()
        try:
            yield
        finally:
            transaction.set_rollback(True)
            outer.__exit__(None, None, None)


@pytest.fixture(scope="module")
def committed_per_module(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """What a module loads is committed act by act, as in use, and swept out after its last test.

    For what is too much for one transaction: inside one, PostgreSQL keeps every old version of each updated row.
    """
    with django_db_blocker.unblock():
        try:
            yield
        finally:
            with triggers.lifted("default"):
                call_command("flush", interactive=False, verbosity=0)
