"""Who writes next where there is one writer at a time.

SQLite tells nobody whose turn it is: who finds the write lock taken sleeps for a while and looks again, longer each
time, so that of eight who press at once the last waits many times as long as the others, and may be told that the shop
is busy when it is not. The threads of one process stand in line here before they ask SQLite; another process is met by
SQLite's own waiting. PostgreSQL has a line of its own at every row.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

from django.db import DEFAULT_DB_ALIAS, OperationalError, connections

#: As SQLite itself says it, so that it is told to a person in the same words.
BUSY = "database is locked"


class Line:
    """One place, given to those who wait for it in the order in which they came."""

    def __init__(self) -> None:
        self._mutex = Lock()
        self._taken = False
        self._waiting: deque[Lock] = deque()

    def __len__(self) -> int:
        """How many wait."""
        return len(self._waiting)

    def take(self, timeout: float) -> bool:
        """Wait for the place, so many seconds at most; whether it was had."""
        with self._mutex:
            if not self._taken:
                self._taken = True
                return True
            mine = Lock()
            mine.acquire()
            self._waiting.append(mine)
        if mine.acquire(timeout=timeout):
            return True
        with self._mutex:
            if mine in self._waiting:
                self._waiting.remove(mine)
                return False
        return True  # it was handed over just as the time ran out

    def give(self) -> None:
        """Hand the place to the first who waits, or leave it empty."""
        with self._mutex:
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._taken = False


_line = Line()


@contextmanager
def turn() -> Iterator[None]:
    """Around a transaction that writes. Inside one, and on PostgreSQL, it does nothing. Raises OperationalError, as
    SQLite would, when the turn does not come within the connection's time-out."""
    here = connections[DEFAULT_DB_ALIAS]
    if here.vendor != "sqlite" or here.in_atomic_block:
        yield
        return
    if not _line.take(float(here.settings_dict["OPTIONS"].get("timeout", 5))):
        raise OperationalError(BUSY)
    try:
        yield
    finally:
        _line.give()
