"""One reading, from Enter to the answer, beside hand-written statements that write the same rows.

Prints ratios of one run; asserts only that both wrote the same. Run it on its own, with nothing else on the machine:
    python3 manage.py test -m benchmark tests/benchmarks/reading.py -s -n0
The requests go through every middleware, the check of the form's token too, without a network.
"""

from __future__ import annotations

import hashlib
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import psycopg
import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from psycopg.types.numeric import Int8

from builds.models import Visit
from measurements.models import Reading, Sheet
from shop.record.models import Event, Head
from tests.benchmarks.rounds import ROUNDS, Taken
from tests.benchmarks.served import Post, posting
from tests.factories import signed_in_client, with_key
from tests.shopfloor import Floor, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark, pytest.mark.timeout(1800)]
BOLTS, BUDGET, SUBJECT = 12, 3, "bench:floor"
COLUMNS = [column for column in Reading._meta.local_concrete_fields if not column.primary_key]
READING = f"INSERT INTO measurements_reading ({', '.join(str(one.column) for one in COLUMNS)}) VALUES {{rows}}"
ROW = f"({', '.join(['%s'] * len(COLUMNS))})"
EVENT = """INSERT INTO record_event (subject, sequence, act, kind, at, person_id, terminal_id, content, previous, hash)
VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s)"""
HEAD = "UPDATE record_head SET sequence = %s, hash = %s, at = %s WHERE subject = %s"
KEPT = "INSERT INTO record_submission (key, fingerprint, person_id, at, result) VALUES (%s, %s, %s, %s, %s)"


def sent(row: Reading, sheet: int) -> list[Any]:
    """The values of a reading as its table takes them, on another sheet."""
    values = {column.attname: getattr(row, column.attname) for column in COLUMNS} | {"sheet_id": sheet}
    prepared = [column.get_db_prep_save(values[column.attname], connection) for column in COLUMNS]
    # One type for every whole number, or the server would plan the statement anew for each mix of sizes.
    is_sqlite = connection.vendor == "sqlite"
    return [Int8(value) if type(value) is int and not is_sqlite else value for value in prepared]


@dataclass(frozen=True)
class ByHand:
    """The same rows as some readings by statements known beforehand, with the same foreign keys and chain.

    `rows`: the values that are sent, as whoever writes a reading has to send them. `kept`: by psycopg alone, each
    statement prepared once by the server; else through Django's cursor. SQLite has only the one way."""

    rows: list[list[Any]]
    event: Event
    kept: bool = False

    def run(self) -> None:
        """Lock, reading, event, head, submission; one commit each."""
        cursor, way = self._cursor()
        lock = " FOR UPDATE" if connection.features.has_select_for_update else ""
        insert = READING.format(rows=ROW)
        content, kind, person = bytes(self.event.content), self.event.kind, self.event.person_id
        for row in self.rows:
            cursor.execute("BEGIN IMMEDIATE" if connection.vendor == "sqlite" else "BEGIN")
            cursor.execute(f"SELECT sequence, hash FROM record_head WHERE subject = %s{lock}", [SUBJECT], **way)
            sequence, previous = cursor.fetchone()
            now, digest = _time(timezone.now()), hashlib.sha256(bytes(previous) + content).digest()
            cursor.execute(insert, row, **way)
            values = [SUBJECT, sequence + 1, _uuid(), kind, now, person, None, content, bytes(previous), digest]
            cursor.execute(EVENT, values, **way)
            cursor.execute(HEAD, [sequence + 1, digest, now, SUBJECT], **way)
            cursor.execute(KEPT, [_uuid(), digest, person, now, '{"url": "/somewhere/", "said": ""}'], **way)
            cursor.execute("COMMIT")

    def _cursor(self) -> tuple[Any, dict[str, Any]]:
        connection.ensure_connection()
        if not self.kept or connection.vendor == "sqlite":
            return connection.cursor(), {}
        return psycopg.Cursor(connection.connection), {"prepare": True}


def _time(at: datetime) -> Any:
    return connection.ops.adapt_datetimefield_value(at)


def _uuid() -> Any:
    value = uuid.uuid4()
    return value if connection.features.has_native_uuid_field else value.hex


def by_hand(like: list[Reading], event: Event, sheet: int, *, kept: bool = False) -> ByHand:
    return ByHand([sent(row, sheet) for row in like], event, kept)


def bolts_in_hand(floor: Floor, number: int) -> Visit:
    builder = floor.builder(floor.axle())
    builder.now += timedelta(days=number)
    builder.kit()
    for key in ("10/", "200/", "210/"):
        builder.do(key)
    return builder.begin("220/")


def shown_on(page: str) -> str:
    """The mark of what a page shows, which its form posts again."""
    return page.partition('name="shown" value="')[2][:16]


def opened(client: Client, visit: Visit) -> str:
    assert visit.axle is not None
    return shown_on(client.get(reverse("station", args=[visit.axle.serial, 220, "-"])).content.decode())


def by_page(post: Post, visit: Visit, headers: dict[str, str], shown: str) -> None:
    """One entry after the other, as the page posts it: each with the mark of what the answer before it showed."""
    assert visit.axle is not None
    path = reverse("station_reading", args=[visit.axle.serial, 220, "-"])
    for position in range(1, BOLTS + 1):
        form = with_key(characteristic="220.1", position=str(position), value="105", gauge="G-042", **{"try": "1"})
        answer = post(path, form | {"shown": shown}, headers)
        assert answer.status_code == (200 if headers else 303)
        shown = shown_on(answer.content.decode()) if headers else shown


def torques(visit: Visit) -> list[Reading]:
    rows = Reading.objects.filter(sheet__visit_links__visit=visit, characteristic__code="220.1")
    return list(rows.order_by("pk"))


def told(rows: list[Reading]) -> list[tuple[Any, ...]]:
    return [(row.position, row.typed, row.value, row.verdict, row.gauge_id, row.person_id) for row in rows]


@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}], ids=["redirect", "page drawn in place"])
def test_one_reading(headers: dict[str, str], db: None) -> None:
    floor = open_shop()
    client = signed_in_client(floor.people["rusk"])
    post = posting(client)
    Head.objects.create(subject=SUBJECT, sequence=0, hash=bytes(32))
    taken = Taken()
    like: list[Reading] = []
    for number in range(ROUNDS + 1):
        visit = bolts_in_hand(floor, number)
        sheets = [Sheet.objects.create(item_id=visit.item_id, opened_at=timezone.now()).pk for _ in range(3)]
        if not like:  # the first round warms everything up and gives the rows to copy
            by_page(post, visit, headers, opened(client, visit))
            like = torques(visit)
            event = Event.objects.filter(kind="reading.entered").order_by("-pk")[0]
            by_hand(like, event, sheets[0]).run()
            by_hand(like, event, sheets[2], kept=True).run()
            continue
        hand, prepared = by_hand(like, event, sheets[0]), by_hand(like, event, sheets[1], kept=True)
        shown = opened(client, visit)
        page = lambda v=visit, s=shown: by_page(post, v, headers, s)  # type: ignore[misc]  # noqa: E731
        taken.round({"page": page, "hand": hand.run, "prepared": prepared.run})
        assert told(torques(visit)) == told(like)
        for sheet in sheets[:2]:
            assert told(list(Reading.objects.filter(sheet_id=sheet).order_by("pk"))) == told(like)
    title = "one reading, the page drawn in place" if headers else "one reading"
    print(taken.report(f"{title}, beside Django's cursor", "page", "hand", times=BOLTS, budget=BUDGET))
    print(taken.report(f"{title}, beside prepared statements", "page", "prepared", times=BOLTS, budget=BUDGET))
