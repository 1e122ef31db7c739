"""The floor view beside hand-written SQL for what it shows, and how it grows with the years before.

Prints; asserts that the page and the hand agree on every axle, every station and every operation. Run it on its own,
with nothing else on the machine:
    python3 manage.py test -m benchmark tests/benchmarks/floor_view.py -s -n0
"""

from __future__ import annotations

import statistics
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.reports.flow import WEEKS
from shop.clock import shop_day, shop_zone
from tests.benchmarks.floor_by_hand import ByHand
from tests.benchmarks.rounds import ROUNDS, Taken, commit_ms
from tests.benchmarks.served import served
from tests.factories import signed_in_client
from tests.history import History
from tests.shopfloor import Floor, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark, pytest.mark.timeout(900)]
#: Axles in the house; finished in the last weeks; finished in the years before, at first and in the end.
HOUSE, RECENT, OLD, OLDER = 8, 24, 12, 120
TIMES, BUDGET, GROWTH, STATEMENTS = 5, 2.0, 1.5, 10


@pytest.fixture
def floor(transactional_db: None) -> Floor:
    """Axles begun at every station, and one with everything done."""
    made = open_shop()
    for number in range(HOUSE):
        builder = made.builder(made.axle())
        builder.kit()
        builder.run(until=30 + 40 * number if number < HOUSE - 1 else None)
    return made


def first_monday(now: datetime) -> datetime:
    day = shop_day(now)
    monday = day - timedelta(days=day.weekday(), weeks=WEEKS - 1)
    return datetime(monday.year, monday.month, monday.day, tzinfo=shop_zone())


def agree(context: Any, hand: ByHand) -> None:
    """On every axle and how far it is, on every station's count and times, on every week and every first pass."""
    assert {row.axle.serial for row in context["rows"]} == hand.serials
    assert len(hand.serials) >= HOUSE
    done = hand.finished()
    assert {row.axle.serial: row.done for row in context["rows"]} == {mark: done[mark] for mark in hand.serials}
    times = hand.times()
    assert {row.code: row.count for row in context["times"]} == {code: row[0] for code, row in times.items()}
    for row in context["times"]:
        found = [60 * value for value in (*row.touch, *row.elapsed)]
        assert found == pytest.approx(times[row.code][1:], abs=0.01)
    assert sum(row.count for row in context["times"]) > RECENT
    assert {day: count for day, count in context["weeks"] if count} == hand.weeks()
    assert [(row.number, row.name, row.count, row.right) for row in context["right"]] == hand.right()


def analyse() -> None:
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def test_the_floor_view(floor: Floor) -> None:
    now = timezone.now()
    history = History(floor, floor.orders[0].lines.get().axles.get(), readings=4)
    history.add(RECENT, now - timedelta(weeks=WEEKS - 2), now - timedelta(days=10))
    history.add(OLD, now - timedelta(days=3 * 365), now - timedelta(weeks=WEEKS + 4))
    analyse()
    client, path = signed_in_client(floor.people["dovie"]), reverse("floor")
    ask, hand = served(client), ByHand(first_monday(now))
    hand.ask()
    agree(client.get(path).context, hand)
    with CaptureQueriesContext(connection) as caught:
        assert ask(path).status_code == 200
    taken = Taken()
    for _ in range(ROUNDS):
        taken.round({"page": lambda: several(lambda: ask(path)), "hand": lambda: several(hand.ask)})
    shape = f"{HOUSE} axles, {RECENT * len(history.slots)} passes in {WEEKS} weeks, {len(caught)} statements beside 7"
    print(taken.report(f"floor view, {shape}", "page", "hand", times=TIMES, budget=BUDGET))
    print(f"floor view: {statistics.median(taken.cpu['page']) / TIMES * 1000:.1f} ms of CPU")
    assert len(caught) <= STATEMENTS
    history.add(OLDER - OLD, now - timedelta(days=3 * 365), now - timedelta(weeks=WEEKS + 4))
    analyse()
    grown = Taken()
    for _ in range(ROUNDS):
        grown.round({"page": lambda: several(lambda: ask(path))})
    wall, cpu = (statistics.median(late["page"]) / statistics.median(early["page"])
                 for late, early in ((grown.wall, taken.wall), (grown.cpu, taken.cpu)))  # fmt: skip
    print(
        f"floor view with {OLDER / OLD:.0f} times the years before: {wall:.2f} times as long ({cpu:.2f} of CPU);"
        f" one commit {commit_ms():.2f} ms; budget {GROWTH}: {'met' if wall <= GROWTH else 'MISSED'}"
    )


def several(do: Callable[[], object]) -> None:
    for _ in range(TIMES):
        do()
