"""How many events a second ``verify`` walks. Prints; asserts that the walk finds what it must.

Run it on its own, with nothing else on the machine:
    AXLEBOOK_EVENTS=100000 python3 manage.py test -m benchmark tests/benchmarks/verify_ledger.py -s -n0
"""

from __future__ import annotations

import os
import statistics
import time
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

import pytest

from shop.models import Person, Station, Terminal
from shop.record import checkpoint, keys
from shop.record.act import act
from shop.record.chain import GENESIS, canonical, link
from shop.record.models import Event, Head
from shop.record.values import instant
from shop.record.verify import verify
from shop.record.who import SYSTEM

pytestmark = [pytest.mark.django_db, pytest.mark.benchmark]
EVENTS = int(os.environ.get("AXLEBOOK_EVENTS", "50000"))
CHAIN = 120
ROUNDS = 7
TARGET = 50_000
START = datetime(2026, 1, 5, 7, 0, tzinfo=UTC)


def events(person: Person, terminal: Terminal) -> Iterator[Event]:
    """Chains of the length of a small axle; each event with the write-set of one reading (about 1 kB)."""
    columns = [f"column_{number}" for number in range(14)]
    digest = GENESIS
    for number in range(EVENTS):
        axle, place = divmod(number, CHAIN)
        previous = digest if place else GENESIS
        at, act_id = START + timedelta(seconds=number), uuid.UUID(int=number)
        content = canonical(
            {
                "act": str(act_id), "at": instant(at), "kind": "reading.entered",
                "notes": {"characteristic": "backlash", "value": "0.0072 in", "verdict": "inside"},
                "person": person.code, "previous": previous.hex(), "sequence": place + 1,
                "subject": f"axle:A-{axle:06}", "terminal": terminal.code,
                "writes": [{"insert": "a.reading", "columns": columns, "rows": [["0.007200"] * 14]}],
            }
        )  # fmt: skip
        digest = link(previous, content)
        yield Event(
            subject=f"axle:A-{axle:06}", sequence=place + 1, act=act_id, kind="reading.entered", at=at,
            person=person, terminal=terminal, content=content, previous=previous, hash=digest,
        )  # fmt: skip


@pytest.fixture
def ledger(db: None, settings: Any, tmp_path: Path) -> None:
    settings.KEYS_DIR = tmp_path
    with act("person.added", subject="person:cal", by=SYSTEM, now=START) as a:
        person = a.create(Person, code="cal", name="Cal Tester")
        station = a.create(Station, code="40", name="Bench")
        terminal = a.create(Terminal, code="T-40", station=station, key_hash="0" * 64, registered_at=START)
    keys.make_key("ledger", by=SYSTEM)
    made = events(person, terminal)
    while batch := list(islice(made, 2000)):
        Event.objects.bulk_create(batch)
        ended = [event for event in batch if event.sequence == CHAIN]
        Head.objects.bulk_create(
            Head(subject=event.subject, sequence=event.sequence, hash=event.hash, at=event.at) for event in ended
        )
    tail = Event.objects.latest("id")
    if tail.sequence != CHAIN:
        Head.objects.create(subject=tail.subject, sequence=tail.sequence, hash=tail.hash, at=tail.at)
    checkpoint.sign_checkpoint()


def test_verify_speed(ledger: None) -> None:
    speeds, cpu = [], []
    for _ in range(ROUNDS):
        started = time.process_time()
        report = verify()
        cpu.append(report.events / (time.process_time() - started))
        assert report.findings == []
        assert report.events == EVENTS + 3
        speeds.append(report.events / report.seconds)
    low, middle, high = statistics.quantiles(speeds, n=4)
    print(
        f"\nverify: {EVENTS} events in chains of {CHAIN}: median {middle:,.0f} a second "
        f"(quartiles {low:,.0f} and {high:,.0f}), {statistics.median(cpu):,.0f} a second of CPU; "
        f"target {TARGET:,}: {'met' if middle >= TARGET else 'MISSED'}"
    )
