"""The axle file beside the raw fetch of what it is drawn from.

The floor is its own statements, run again by a bare cursor that keeps their plans: what the database alone needs.
Prints; asserts that the page is the page. Run it on its own, with nothing else on the machine:
    python3 manage.py test -m benchmark tests/benchmarks/axle_file.py -s -n0
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

from shop.models.hot_cursor import hot_cursor
from tests.benchmarks.rounds import ROUNDS, Taken
from tests.benchmarks.served import served
from tests.factories import signed_in_client
from tests.shopfloor import open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark]
TIMES, READINGS, STATEMENTS, BUDGET = 5, 300, 10, 5


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
        with hot_cursor(connection) as cursor:
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


def test_the_axle_file(transactional_db: None) -> None:
    floor = open_shop()
    whole = floor.builder(floor.axle())
    whole.kit()
    whole.run()
    client, path = signed_in_client(floor.people["dovie"]), reverse("axle", args=[whole.axle.serial])
    asked, taken, ask = watched(client, path), Taken(), served(client)
    rows = asked.fetch()
    assert rows > READINGS
    assert client.get(path).content.count(b'<th scope="row" data-label="Characteristic">') > READINGS
    assert len(asked.statements) <= STATEMENTS
    for _ in range(ROUNDS):
        taken.round({"page": times(lambda: ask(path)), "fetch": times(asked.fetch)})
    title = f"axle file, {rows} rows, {len(asked.statements)} statements"
    print(taken.report(title, "page", "fetch", times=TIMES, budget=BUDGET))
    print(f"axle file: {statistics.median(taken.cpu['page']) / TIMES * 1000:.1f} ms of CPU")
