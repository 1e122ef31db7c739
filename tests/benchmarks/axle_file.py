"""The axle file and the floor view beside the raw fetch of what they are drawn from.

The floor of each is its own statements, run again by a plain cursor: what the database alone needs. Prints; asserts
that the pages are the pages. Run it on its own, with nothing else on the machine:
    python -m pytest tests/benchmarks/big_pages.py -m benchmark -s
"""

from __future__ import annotations

import statistics
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from tests.benchmarks.rounds import ROUNDS, Taken
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark]
TIMES, AXLES = 5, 12


@dataclass
class Asked:
    """The statements of one page with their values, and how many rows they gave."""

    statements: list[tuple[str, Any]] = field(default_factory=list)

    def __call__(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        if sql.lstrip().startswith(("SELECT", "WITH", "(SELECT")):
            self.statements.append((sql, params))
        return execute(sql, params, many, context)

    def fetch(self) -> int:
        rows = 0
        with connection.cursor() as cursor:
            for sql, params in self.statements:
                cursor.execute(sql, params)
                rows += len(cursor.fetchall())
        return rows


def watched(client: Client, path: str) -> Asked:
    asked = Asked()
    client.get(path)  # the cards are parsed once in a process
    with connection.execute_wrapper(asked):
        assert client.get(path).status_code == 200
    return asked


def times(do: Callable[[], Any]) -> Callable[[], None]:
    def run() -> None:
        for _ in range(TIMES):
            do()

    return run


@pytest.fixture
def floor(transactional_db: None) -> Floor:
    """One axle with everything done, and others begun at every station."""
    made = open_shop()
    whole = made.builder(made.axle())
    whole.kit()
    whole.run()
    for number in range(AXLES - 1):
        builder = made.builder(made.axle())
        builder.kit()
        builder.run(until=30 + 30 * (number % 6))
    return made


def test_the_big_pages(floor: Floor) -> None:
    client = signed_in_client(floor.people["dovie"])
    serial = floor.orders[0].lines.get().axles.get().serial
    pages = {"axle file": (reverse("axle", args=[serial]), 5.0), "floor view": (reverse("floor"), 2.0)}
    for name, (path, budget) in pages.items():
        asked, taken = watched(client, path), Taken()
        rows = asked.fetch()
        assert rows > (200 if name == "axle file" else AXLES)
        assert serial.encode() in client.get(path).content
        for _ in range(ROUNDS):
            taken.round({"page": times(lambda path=path: client.get(path)), "fetch": times(asked.fetch)})  # type: ignore[misc]
        print(taken.report(f"{name}, {rows} rows, {len(asked.statements)} statements", "page", "fetch",
                           times=TIMES, budget=budget))  # fmt: skip
        print(f"{name}: {statistics.median(taken.cpu['page']) / TIMES * 1000:.1f} ms of CPU")
