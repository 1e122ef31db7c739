"""The hot end of the ledger in hand-written SQL: lock the heads of chains, add events, move the heads on.

Every act passes here, so there is one statement for each step and no query building. The head's row is the
lock of its subject.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper

from shop.models.hot_cursor import hot_cursor
from shop.record.chain import GENESIS
from shop.record.models import Head


@dataclass
class Held:
    """A head as it stands under the lock, moved on with each event added."""

    subject: str
    sequence: int
    hash: bytes
    at: datetime | None


@dataclass(frozen=True)
class Added:
    """One new event, for the table."""

    subject: str
    sequence: int
    act: uuid.UUID
    kind: str
    at: datetime
    person: int | None
    terminal: int | None
    content: bytes
    previous: bytes
    hash: bytes


def lock_heads(subjects: Iterable[str]) -> dict[str, Held]:
    """Lock the heads of these subjects in sorted order; a subject met for the first time gets its head here.

    Race: two first writers both insert, one of them nothing (ON CONFLICT DO NOTHING waits for the other's
    commit), and both then lock the same row. On SQLite the transaction already holds the only write lock.
    """
    wanted = sorted(subjects)
    found = _select(wanted)
    missing = [subject for subject in wanted if subject not in found]
    if missing:
        Head.objects.bulk_create(
            [Head(subject=subject, sequence=0, hash=GENESIS) for subject in missing], ignore_conflicts=True
        )
        found = _select(wanted)
    return found


def _select(subjects: Sequence[str]) -> dict[str, Held]:
    connection = connections[DEFAULT_DB_ALIAS]
    lock = " FOR UPDATE" if connection.features.has_select_for_update else ""
    sql = f"SELECT subject, sequence, hash, at FROM record_head WHERE subject IN ({_marks(subjects)})"
    with hot_cursor(connection) as cursor:
        cursor.execute(f"{sql} ORDER BY subject{lock}", subjects)
        return {row[0]: Held(row[0], row[1], bytes(row[2]), _aware(row[3])) for row in cursor.fetchall()}


_EVENT = "INSERT INTO record_event (subject, sequence, act, kind, at, person_id, terminal_id, content, previous, hash)"
#: Events of one statement, and chains that are moved on one by one.
AT_ONCE, FEW = 1000, 8
_MOVE_MANY = (
    "UPDATE record_head h SET sequence = m.sequence, hash = m.hash, at = m.at FROM"
    " (SELECT unnest(%s::text[]) AS subject, unnest(%s::bigint[]) AS sequence, unnest(%s::bytea[]) AS hash,"
    " unnest(%s::timestamptz[]) AS at) m"
    " WHERE h.subject = m.subject"
)
_MOVE = "UPDATE record_head SET sequence = %s, hash = %s, at = %s WHERE subject = %s"


def append(events: Sequence[Added]) -> None:
    """Insert the events and move each one's head to it, in the transaction that holds the heads."""
    connection = connections[DEFAULT_DB_ALIAS]
    if len(events) > AT_ONCE:  # a statement takes so many values and no more
        append(events[:AT_ONCE])
        append(events[AT_ONCE:])
        return
    row = "(" + _marks(range(10)) + ")"
    values = [value for event in events for value in _row(connection, event)]
    last = {event.subject: event for event in events}
    added = f"{_EVENT} VALUES {', '.join([row] * len(events))}"
    moved = [(event.sequence, event.hash, _time(connection, event.at), event.subject) for event in last.values()]
    with hot_cursor(connection) as cursor:
        if len(moved) == 1 and connection.vendor == "postgresql":  # one way to the server instead of two
            cursor.execute(f"WITH added AS ({added}) {_MOVE}", [*values, *moved[0]])
            return
        cursor.execute(added, values)
    if len(moved) > FEW and connection.vendor == "postgresql":
        _move_many(connection, moved)
        return
    with hot_cursor(connection) as cursor:
        for one in moved:
            cursor.execute(_MOVE, one)


def _move_many(connection: BaseDatabaseWrapper, moved: Sequence[tuple[Any, ...]]) -> None:
    """The same for many chains, in one statement."""
    sequences, hashes, times, subjects = (list(column) for column in zip(*moved, strict=True))
    with connection.cursor() as cursor:
        cursor.execute(_MOVE_MANY, [subjects, sequences, hashes, times])


def _row(connection: BaseDatabaseWrapper, event: Added) -> tuple[Any, ...]:
    return (
        event.subject,
        event.sequence,
        event.act if connection.features.has_native_uuid_field else event.act.hex,
        event.kind,
        _time(connection, event.at),
        event.person,
        event.terminal,
        event.content,
        event.previous,
        event.hash,
    )


def _time(connection: BaseDatabaseWrapper, at: datetime) -> Any:
    return connection.ops.adapt_datetimefield_value(at)


def _aware(at: datetime | None) -> datetime | None:
    """SQLite keeps UTC without saying so."""
    return at if at is None or at.tzinfo is not None else at.replace(tzinfo=UTC)


def _marks(values: Iterable[Any]) -> str:
    return ", ".join("%s" for _ in values)
