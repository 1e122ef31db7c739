"""Run things at the same moment, each on a connection of its own."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

from django.db import connection, connections

LIMIT_S = 30


def together(*tasks: Callable[[], Any]) -> list[Any]:
    """Start all at once; gives what each returned, or the exception that it raised."""
    start = threading.Barrier(len(tasks))
    outcomes: list[Any] = [None] * len(tasks)

    def run(place: int, task: Callable[[], Any]) -> None:
        try:
            start.wait(LIMIT_S)
            outcomes[place] = task()
        except Exception as error:  # noqa: BLE001 - the test looks at it
            outcomes[place] = error
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(place, task), daemon=True) for place, task in enumerate(tasks)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(LIMIT_S)
        assert not thread.is_alive(), "a thread hangs"
    return outcomes


def impatient(milliseconds: int = 300) -> None:
    """Make this thread's connection wait only so long for a lock."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(f"PRAGMA busy_timeout = {milliseconds}")
        else:
            cursor.execute(f"SET lock_timeout = {milliseconds}")
