"""What fifty terminals cost a core by asking, every few seconds, whether anything has changed, when nothing has.

Prints; asserts that every answer is empty. Run it on its own, with nothing else on the machine:
    python3 manage.py test -m benchmark tests/benchmarks/polling.py -s -n0
The requests go through every middleware, without a network. CPU of this process only: what the database's own process
takes is not in it.
"""

from __future__ import annotations

import re
import statistics

import pytest
from django.db import connection
from django.urls import reverse

from tests.benchmarks.reading import bolts_in_hand
from tests.benchmarks.rounds import COMMIT_MS, ROUNDS, SEED, SPREAD, Taken, commit_ms
from tests.benchmarks.served import served
from tests.benchmarks.station_page import TIMES, repeat
from tests.factories import signed_in_client
from tests.shopfloor import open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark]
#: How many of the fifty look at which page, and how many seconds lie between two askings of it.
WATCHED = {"station page": (30, 5), "waiting list": (16, 5), "floor": (4, 10)}
AXLES, BUDGET = 16, 0.05


def test_fifty_terminals(db: None) -> None:
    floor = open_shop()
    client = signed_in_client(floor.people["ingrith"])
    ask, visit = served(client), bolts_in_hand(floor, 0)
    floor.axles(AXLES - 1)
    assert visit.axle is not None
    pages = {
        "station page": reverse("station", args=[visit.axle.serial, 220, "-"]),
        "waiting list": reverse("waiting", args=[floor.revision.card.operations[0].station]),
        "floor": reverse("floor"),
    }
    asked = {}
    for name, page in pages.items():
        found = re.search(r'hx-get="([^"]+\?stamp=[^"]+)"', client.get(page).content.decode())
        assert found is not None
        asked[name] = repeat(ask, found[1], 204)
    taken = Taken()
    for number in range(ROUNDS + 1):
        (Taken() if number == 0 else taken).round(asked)  # the first round warms up
    each = {name: statistics.median(seconds) / TIMES for name, seconds in taken.cpu.items()}
    share = sum(count / pause * each[name] for name, (count, pause) in WATCHED.items())
    quartiles = [statistics.quantiles(seconds, n=4) for seconds in taken.cpu.values()]
    calm = commit_ms() <= COMMIT_MS and all(high / low <= SPREAD for low, _, high in quartiles)
    verdict = ("met" if share <= BUDGET else "MISSED") if calm else "contended"
    told = "; ".join(f"{name} {seconds * 1000:.2f} ms" for name, seconds in each.items())
    print(
        f"\nfifty terminals asking ({connection.vendor}, {AXLES} axles, {ROUNDS} rounds of {TIMES}, seed {SEED}):"
        f" {share:.1%} of a core ({told}); budget {BUDGET:.0%}: {verdict}"
    )
