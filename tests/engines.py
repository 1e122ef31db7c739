"""Which tests need to run on both engines: all but those that cannot reach a database.

The rule is read from the test itself, never from a list: a test that asks for no database fixture or marker, in a
module that neither starts processes nor speaks to the database's connection by itself, gives the same result on
every engine. `shut_off` keeps it honest: while such a test runs the database is shut, so that one which reaches for
it after all fails, on the engine where it does run.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType

import pytest
from pytest_django.plugin import blocking_manager_key

from tests.run import LEFT_TO_THE_FIRST

DATABASE_FIXTURES = {"django_db_setup", "live_server"}
DATABASE_MARKERS = ("django_db", "postgresql", "sqlite", "celery", "benchmark")
# What a module holds when its tests may reach a database around the fixtures: in another process, or by hand.
REACHING = {"subprocess", "multiprocessing", "connection", "connections", "child_environment", "call_command"}


def reaches_around(module: ModuleType) -> bool:
    return bool(REACHING & set(vars(module)))


def touches_database(item: pytest.Item) -> bool:
    """Whether the engine may matter to it; in doubt it does."""
    names = getattr(item, "fixturenames", None)
    module = getattr(item, "module", None)
    if names is None or module is None or any(map(item.get_closest_marker, DATABASE_MARKERS)):
        return True
    return bool(DATABASE_FIXTURES & set(names)) or reaches_around(module)


@contextmanager
def shut_off(item: pytest.Item) -> Iterator[None]:
    """Shut the database for a test that is said not to touch it, even where its module had opened it."""
    if touches_database(item):
        yield
        return
    with item.config.stash[blocking_manager_key].block():
        yield


def leave_to_the_first(items: list[pytest.Item]) -> list[pytest.Item]:
    """The tests that the first engine of this run has run for both; none where this run is the only one."""
    told = os.environ.get(LEFT_TO_THE_FIRST)
    if not told:
        return []
    out = [item for item in items if not touches_database(item)]
    # Every parallel process collects the same tests and writes the same number.
    Path(told).write_text(str(len(out)))
    return out
