"""Rounds of a floor and a subject in random order, and what may be said about their ratio."""

from __future__ import annotations

import contextlib
import random
import statistics
import time
import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from django.db import connection

from shop.record.models import Head

ROUNDS = 7
SEED = 20251120
#: The middle of a durable one-row commit, and the spread of the floor, beyond which nothing is said to be met.
COMMIT_MS, SPREAD = 0.5, 1.5
SQLITE_FULL = 2


@dataclass
class Taken:
    """Wall and CPU seconds of every round, by name."""

    wall: dict[str, list[float]] = field(default_factory=dict)
    cpu: dict[str, list[float]] = field(default_factory=dict)
    chance: random.Random = field(default_factory=lambda: random.Random(SEED))
    clock: Callable[[], float] = time.process_time

    def round(self, ways: Mapping[str, Callable[[], None]]) -> None:
        """Each of them once, in random order."""
        names = list(ways)
        self.chance.shuffle(names)
        for name in names:
            wall, cpu = time.perf_counter(), self.clock()
            ways[name]()
            self.cpu.setdefault(name, []).append(self.clock() - cpu)
            self.wall.setdefault(name, []).append(time.perf_counter() - wall)

    def ratios(self, kind: dict[str, list[float]], subject: str, floor: str) -> list[float]:
        return [one / other for one, other in zip(kind[subject], kind[floor], strict=True)]

    def report(self, title: str, subject: str, floor: str, *, times: int, budget: float) -> str:
        """The ratio with its quartiles, of the wall and of CPU time, and whether the budget is met or nothing valid
        can be said."""
        walls, cpus = self.ratios(self.wall, subject, floor), self.ratios(self.cpu, subject, floor)
        middle, probe = statistics.median(walls), commit_ms()
        verdict = "met" if middle <= budget else "MISSED"
        if not self.is_calm(floor, probe):
            verdict = "contended"
        if not is_durable():
            verdict = "not durable, so nothing is said"
        each, under = (statistics.median(self.wall[name]) / times * 1000 for name in (subject, floor))
        return (
            f"\n{title} ({connection.vendor}, {len(walls)} rounds of {times}, seed {SEED}): {told('ratio', walls)},"
            f" {told('of CPU', cpus)}; {each:.2f} ms beside {under:.2f} ms; one commit {probe:.2f} ms;"
            f" budget {budget:g}: {verdict}"
        )

    def is_calm(self, floor: str, probe: float) -> bool:
        """Whether wall time may be spoken of: a quick commit, and a floor that hardly spreads."""
        low, _, high = statistics.quantiles(self.wall[floor], n=4)
        return probe <= COMMIT_MS and high / low <= SPREAD


def of_both_ends() -> float:
    """CPU seconds of this process and of the server process that answers its connection, where it can be looked at."""
    spent = time.process_time()
    if connection.vendor == "postgresql":
        pid = connection.connection.info.backend_pid
        with contextlib.suppress(OSError):
            spent += int(Path(f"/proc/{pid}/schedstat").read_text("ascii").split()[0]) / 1e9
    return spent


def told(name: str, values: Sequence[float]) -> str:
    low, middle, high = statistics.quantiles(values, n=4)
    return f"{name} {middle:.2f} (quartiles {low:.2f} to {high:.2f})"


def is_durable() -> bool:
    """Whether a commit waits for the disk here. The suite's servers do not wait, and its SQLite lies in memory."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA synchronous")
            (level,) = cursor.fetchone()
            return int(level) >= SQLITE_FULL and not str(connection.settings_dict["NAME"]).startswith("/dev/shm/")
        cursor.execute("SELECT current_setting('fsync'), current_setting('synchronous_commit')")
        return tuple(cursor.fetchone()) == ("on", "on")


def commit_ms() -> float:
    """The middle of some commits of one row."""
    found = []
    for number in range(40):
        began = time.perf_counter()
        Head.objects.create(subject=f"probe:{uuid.uuid4().hex}{number}", sequence=0, hash=bytes(32))
        found.append((time.perf_counter() - began) * 1000)
    return statistics.median(found)
