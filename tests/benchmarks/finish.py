"""Finishing an operation with eight readings over HTTP, beside the rows that such work leaves written by hand (F1).

F1 is one transaction of five statements that the server has prepared: the chain's head locked, the pass updated, its
eight readings, the event, the head; with the same foreign keys and guards. One client, then eight at once.

Prints ratios of one run; asserts that every operation is done and that F1 wrote as many readings. Run it on its own,
with nothing else on the machine:
    python3 manage.py test -m benchmark tests/benchmarks/finish.py -s -n0
The requests go through every middleware, the check of the form's token too, without a network. The hash of a PIN is
slow on purpose; the tests' own is quick, and what the shop's costs is told apart.
"""

from __future__ import annotations

import hashlib
import statistics
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import timedelta
from threading import Barrier
from typing import Any

import psycopg
import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher, make_password
from django.db import connection, connections
from django.urls import reverse
from django.utils import timezone

from builds.models import Visit, VisitState
from measurements.models import Reading, Sheet
from shop.models import Person
from shop.record.models import Event, Head
from tests.benchmarks.reading import EVENT, HEAD, READING, ROW, _time, _uuid, sent
from tests.benchmarks.rounds import ROUNDS, Taken, commit_ms
from tests.benchmarks.served import Post, posting
from tests.factories import PIN, signed_in_client, with_key
from tests.shopfloor import Floor, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark, pytest.mark.timeout(1800)]
KEY, READINGS, WORKER = "340/left", 8, "noor"
BUDGET, PART, TAIL = 3, 0.25, 5
TIMES, CLIENTS, EACH = 3, 8, 2
LOCK = "SELECT sequence, hash FROM record_head WHERE subject = %s"
PASS = "UPDATE builds_visit SET state = %s, done_at = %s WHERE id = %s"


@dataclass(frozen=True)
class Given:
    """What F1 writes the like of: the readings of one sheet, and the event of a signature."""

    readings: list[Reading]
    event: Event


def in_hand(floor: Floor, count: int) -> list[Visit]:
    """So many passes with all eight readings entered and the parts in, each on its own axle."""
    found = []
    for number, axle in enumerate(floor.axles(count)):
        builder = floor.builder(axle)
        builder.now += timedelta(minutes=number)
        builder.kit()
        builder.do("10/")
        builder.doer = floor.people[WORKER]
        visit = builder.begin(KEY)
        builder.fill(visit)
        found.append(visit)
    floor.now += timedelta(hours=2)
    return found


def finish(post: Post, visit: Visit) -> None:
    assert visit.axle is not None
    path = reverse("station_finish", args=[visit.axle.serial, *KEY.split("/")])
    assert post(path, with_key(pin=PIN)).status_code == 303


def at_a_terminal(worker: Person) -> Post:
    """Signed in, and with the token that any page brings."""
    client = signed_in_client(worker)
    assert client.get(reverse("home"), follow=True).status_code == 200
    return posting(client)


def values_for(given: Given, sheets: Sequence[int]) -> list[list[Any]]:
    """What is sent for each sheet: the values of its readings, one after the other."""
    return [[value for row in given.readings for value in sent(row, sheet)] for sheet in sheets]


def by_hand(given: Given, subject: str, visits: Sequence[Visit], readings: Sequence[list[Any]]) -> None:
    """F1 once for each pass, on this thread's connection and, on PostgreSQL, by psycopg alone."""
    connection.ensure_connection()
    is_sqlite = connection.vendor == "sqlite"
    cursor: Any = connection.cursor() if is_sqlite else psycopg.Cursor(connection.connection)
    kept: dict[str, Any] = {} if is_sqlite else {"prepare": True}
    content, person, terminal = bytes(given.event.content), given.event.person_id, given.event.terminal_id
    insert = READING.format(rows=", ".join([ROW] * READINGS))
    for visit, row in zip(visits, readings, strict=True):
        cursor.execute("BEGIN IMMEDIATE" if is_sqlite else "BEGIN")
        cursor.execute(LOCK if is_sqlite else f"{LOCK} FOR UPDATE", [subject], **kept)
        sequence, previous = cursor.fetchone()
        now, digest = _time(timezone.now()), hashlib.sha256(bytes(previous) + content).digest()
        cursor.execute(PASS, [visit.state, now, visit.pk], **kept)
        cursor.execute(insert, row, **kept)
        values = [subject, sequence + 1, _uuid(), given.event.kind, now, person, terminal, content, bytes(previous)]
        cursor.execute(EVENT, [*values, digest], **kept)
        cursor.execute(HEAD, [sequence + 1, digest, now, subject], **kept)
        cursor.execute("COMMIT")


def sheets_for(visits: Sequence[Visit]) -> list[int]:
    now = timezone.now()
    return [sheet.pk for sheet in Sheet.objects.bulk_create(Sheet(item_id=v.item_id, opened_at=now) for v in visits)]


def warmed_up(floor: Floor) -> tuple[Given, Post]:
    """A first signature, whose rows F1 copies."""
    worker = floor.people[WORKER]
    Person.objects.filter(pk=worker.pk).update(pin_hash=make_password(PIN))
    post = at_a_terminal(worker)
    first = in_hand(floor, 1)[0]
    finish(post, first)
    readings = list(Reading.objects.filter(sheet=first.sheet_links.get().sheet_id).order_by("pk"))
    assert len(readings) == READINGS
    return Given(readings, Event.objects.filter(kind="operation.signed").order_by("-pk")[0]), post


def passes_before(visits: Sequence[Visit]) -> list[Visit]:
    """The finished first pass of each axle: what F1 updates, so that nobody else does."""
    return [Visit.objects.get(axle=visit.axle, operation__number=10) for visit in visits]


def all_done(visits: Sequence[Visit], sheets: Sequence[int]) -> None:
    states = Visit.objects.filter(pk__in=[visit.pk for visit in visits]).values_list("state", flat=True)
    assert set(states) == {VisitState.DONE}
    assert Reading.objects.filter(sheet__in=sheets).count() == READINGS * len(sheets)


def pin_ms() -> float:
    """What the shop's own hash of a PIN takes."""
    hasher = Argon2PasswordHasher()
    kept, began = hasher.encode(PIN, hasher.salt()), time.perf_counter()
    assert hasher.verify(PIN, kept)
    return (time.perf_counter() - began) * 1000


def test_one_client(db: None) -> None:
    floor = open_shop()
    given, post = warmed_up(floor)
    Head.objects.create(subject="bench:0", sequence=0, hash=bytes(32))
    taken = Taken()
    for number in range(ROUNDS + 1):
        mine = in_hand(floor, TIMES)
        other, sheets = passes_before(mine), sheets_for(mine)
        rows = values_for(given, sheets)
        ways: dict[str, Callable[[], None]] = {
            "finish": lambda mine=mine: [finish(post, visit) for visit in mine],  # type: ignore[misc, dict-item]
            "F1": lambda other=other, rows=rows: by_hand(given, "bench:0", other, rows),  # type: ignore[misc]
        }
        (Taken() if number == 0 else taken).round(ways)  # the first round warms up
        all_done(mine, sheets)
    title = f"an operation with {READINGS} readings finished"
    print(taken.report(title, "finish", "F1", times=TIMES, budget=BUDGET))
    print(f"the hash of a PIN, which is not in it: {pin_ms():.0f} ms")


class Hands:
    """So many threads, each with a connection of its own that it keeps."""

    def __init__(self, count: int) -> None:
        self.count, self.start = count, Barrier(count)
        self.pool = ThreadPoolExecutor(count)

    def all_at_once(self, do: Callable[[int], Any]) -> list[Any]:
        def begin(place: int) -> Any:
            self.start.wait(60)
            return do(place)

        return list(self.pool.map(begin, range(self.count)))

    def rest(self) -> None:
        self.all_at_once(lambda _: connections.close_all())
        self.pool.shutdown()


def test_eight_clients(db: None) -> None:
    """Throughput beside F1's at as many connections, and on each engine how long the slowest waited."""
    floor = open_shop()
    given, _ = warmed_up(floor)
    clients = [at_a_terminal(floor.people[WORKER]) for _ in range(CLIENTS)]
    Head.objects.bulk_create(Head(subject=f"bench:{n}", sequence=0, hash=bytes(32)) for n in range(CLIENTS))
    hands, taken, waits = Hands(CLIENTS), Taken(), []
    for number in range(ROUNDS + 1):
        mine = [in_hand(floor, EACH) for _ in range(CLIENTS)]
        sheets, other = [sheets_for(visits) for visits in mine], [passes_before(visits) for visits in mine]
        rows = [values_for(given, several) for several in sheets]
        waited: list[float] = []

        def press(place: int, mine: list[list[Visit]] = mine, waited: list[float] = waited) -> None:
            for visit in mine[place]:
                began = time.perf_counter()
                finish(clients[place], visit)
                waited.append((time.perf_counter() - began) * 1000)

        def write(place: int, other: list[list[Visit]] = other, rows: list[list[list[Any]]] = rows) -> None:
            by_hand(given, f"bench:{place}", other[place], rows[place])

        ways: dict[str, Callable[[], None]] = {
            "finish": lambda press=press: hands.all_at_once(press),  # type: ignore[misc, dict-item]
            "F1": lambda write=write: hands.all_at_once(write),  # type: ignore[misc, dict-item]
        }
        (Taken() if number == 0 else taken).round(ways)
        all_done([visit for visits in mine for visit in visits], [sheet for several in sheets for sheet in several])
        waits += waited if number else []
    hands.rest()
    print(throughput(taken, waits))


def throughput(taken: Taken, waits: Sequence[float]) -> str:
    part = statistics.median(hand / page for page, hand in zip(taken.wall["finish"], taken.wall["F1"], strict=True))
    cuts = statistics.quantiles(waits, n=100)
    tail, calm = cuts[98] / cuts[49], commit_ms()
    good = part >= PART if connection.vendor == "postgresql" else tail <= TAIL
    met = ("met" if good else "MISSED") if taken.is_calm("F1", calm) else "contended"
    each = CLIENTS * EACH / statistics.median(taken.wall["finish"])
    return (
        f"\n{CLIENTS} clients at once ({connection.vendor}, {len(taken.wall['F1'])} rounds of {CLIENTS * EACH}):"
        f" {each:.0f} a second, {part:.2f} of F1's throughput (budget {PART} on PostgreSQL); p50 {cuts[49]:.0f} ms,"
        f" p99 {cuts[98]:.0f} ms, {tail:.1f} times (budget {TAIL} on SQLite); no error; one commit {calm:.2f} ms: {met}"
    )
