"""The CPU time of the server for a station page, for its unchanged answer and for waiting lists that grow.

Prints; asserts that the pages are the pages and how many statements they take. Run it on its own, with nothing else on
the machine:
    python3 manage.py test -m benchmark tests/benchmarks/station_page.py -s -n0
The requests go through every middleware, without a network.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable

import pytest
from django.db import connection
from django.http import HttpResponseBase
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.benchmarks.reading import BOLTS, bolts_in_hand
from tests.benchmarks.rounds import COMMIT_MS, ROUNDS, SEED, SPREAD, Taken, commit_ms
from tests.benchmarks.served import served
from tests.factories import signed_in_client
from tests.shopfloor import open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark]
TIMES, AXLES, BUDGET_MS, STATEMENTS = 10, (8, 16, 32), 15, 10
Ask = Callable[[str], HttpResponseBase]


def repeat(ask: Ask, path: str, status: int) -> Callable[[], None]:
    def run() -> None:
        for _ in range(TIMES):
            assert ask(path).status_code == status

    return run


def statements(ask: Ask, path: str) -> int:
    ask(path)
    with CaptureQueriesContext(connection) as caught:
        ask(path)
    return len(caught)


def told(taken: Taken, probe: float, counts: dict[str, int]) -> None:
    for name, seconds in taken.cpu.items():
        low, middle, high = (value / TIMES * 1000 for value in statistics.quantiles(seconds, n=4))
        calm = probe <= COMMIT_MS and high / low <= SPREAD
        verdict = ("met" if middle <= BUDGET_MS else "MISSED") if calm else "contended"
        print(
            f"\n{name} ({connection.vendor}, {ROUNDS} rounds of {TIMES}, seed {SEED}): {middle:.1f} ms of CPU"
            f" (quartiles {low:.1f} to {high:.1f}), least {min(seconds) / TIMES * 1000:.1f}; {counts[name]} statements;"
            f" one commit {probe:.2f} ms; budget {BUDGET_MS} ms: {verdict}"
        )


def test_pages_of_a_station(db: None) -> None:
    floor = open_shop()
    client = signed_in_client(floor.people["rusk"])
    ask, visit = served(client), bolts_in_hand(floor, 0)
    assert visit.axle is not None
    at = [visit.axle.serial, 220, "-"]
    page = reverse("station", args=at)
    shown = client.get(page).content.decode()
    assert f"of {BOLTS}" in client.get(f"{page}?characteristic=220.1").content.decode()
    unchanged = f"{reverse('station_changes', args=at)}?stamp={shown.partition('?stamp=')[2][:16]}"
    ways = {"station page": repeat(ask, page, 200), "unchanged": repeat(ask, unchanged, 204)}
    counts = {"station page": statements(ask, page), "unchanged": statements(ask, unchanged)}
    taken = Taken()
    for _ in range(ROUNDS):
        taken.round(ways)
    told(taken, commit_ms(), counts)
    assert counts["station page"] <= STATEMENTS


def test_waiting_lists_that_grow(db: None) -> None:
    """One list after the other, because each has the axles of the one before."""
    floor = open_shop()
    client = signed_in_client(floor.people["rusk"])
    ask, station = served(client), floor.revision.card.operations[0].station
    path, house, taken, counts = reverse("waiting", args=[station]), 0, Taken(), {}
    for axles in AXLES:
        serials = [axle.serial for axle in floor.axles(axles - house)]
        house, name = axles, f"waiting list of {axles} axles"
        content = client.get(path).content.decode()
        assert all(serial in content for serial in serials)
        counts[name] = statements(ask, path)
        for _ in range(ROUNDS):
            taken.round({name: repeat(ask, path, 200)})
    told(taken, commit_ms(), counts)
    assert len(set(counts.values())) == 1 <= STATEMENTS
