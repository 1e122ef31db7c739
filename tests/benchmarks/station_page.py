"""The CPU time of the server for a station page, for its unchanged answer and for a waiting list.

Prints; asserts that the pages are the pages. Run it on its own, with nothing else on the machine:
    python -m pytest tests/benchmarks/station_page.py -m benchmark -s
The requests go through every middleware by Django's test client, without a network.
"""

from __future__ import annotations

import statistics

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from tests.benchmarks.reading import BOLTS, bolts_in_hand
from tests.benchmarks.rounds import COMMIT_MS, ROUNDS, SEED, SPREAD, Taken, commit_ms
from tests.factories import signed_in_client
from tests.shopfloor import open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark]
TIMES, AXLES, BUDGET_MS = 10, 8, 15


def ask(client: Client, path: str, status: int) -> None:
    for _ in range(TIMES):
        assert client.get(path).status_code == status


def test_pages_of_a_station(db: None) -> None:
    floor = open_shop()
    client = signed_in_client(floor.people["rusk"])
    visit = bolts_in_hand(floor, 0)
    assert visit.axle is not None
    floor.axles(AXLES - 1)
    at = [visit.axle.serial, 220, "-"]
    page, waiting = reverse("station", args=at), reverse("waiting", args=[visit.operation.station.code])
    shown = client.get(page).content.decode()
    assert f"of {BOLTS}" in client.get(f"{page}?characteristic=220.1").content.decode()
    assert visit.axle.serial in client.get(waiting).content.decode()
    unchanged = f"{reverse('station_changes', args=at)}?stamp={shown.partition('?stamp=')[2][:16]}"
    taken = Taken()
    for _ in range(ROUNDS):
        taken.round(
            {
                "station page": lambda: ask(client, page, 200),
                "unchanged": lambda: ask(client, unchanged, 204),
                f"waiting list of {AXLES} axles": lambda: ask(client, waiting, 200),
            }
        )
    probe = commit_ms()
    for name, seconds in taken.cpu.items():
        low, middle, high = (value / TIMES * 1000 for value in statistics.quantiles(seconds, n=4))
        calm = probe <= COMMIT_MS and high / low <= SPREAD
        verdict = ("met" if middle <= BUDGET_MS else "MISSED") if calm else "contended"
        print(
            f"\n{name} ({connection.vendor}, {ROUNDS} rounds of {TIMES}, seed {SEED}): {middle:.1f} ms of CPU"
            f" (quartiles {low:.1f} to {high:.1f}); one commit {probe:.2f} ms; budget {BUDGET_MS} ms: {verdict}"
        )
