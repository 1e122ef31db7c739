"""What ``manage.py check --database default`` says about the record."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Error, Warning
from django.db import connections

from shop.record import triggers


def guards_lie_there(databases: Sequence[str] | None = None, **_: Any) -> list[CheckMessage]:
    """Every guard is in the database as declared. A warning and no error, because ``migrate`` runs the checks
    first and is what lays a missing guard down; ``verify`` fails on the same findings."""
    return [
        Warning(f"{using}: {finding}", hint="Find out who did it, then run: manage.py migrate", id="record.W001")
        for using in databases or ()
        if "record_event" in connections[using].introspection.table_names()
        for finding in triggers.findings(using)
    ]


def connection_is_safe(databases: Sequence[str] | None = None, **_: Any) -> list[CheckMessage]:
    """What every connection has to promise: nothing acknowledged is lost, and nobody waits for ever."""
    return [
        Error(f"{using}: {finding}", id="record.E002")
        for using in databases or ()
        for finding in unsafe_settings(using)
    ]


def unsafe_settings(using: str) -> list[str]:
    """Plain sentences on each setting of the connection that is not as it must be."""
    connection = connections[using]
    asked = SQLITE if connection.vendor == "sqlite" else POSTGRESQL
    found = []
    with connection.cursor() as cursor:
        for query, good, said in asked:
            cursor.execute(query)
            row = cursor.fetchone()
            if row is None or str(row[0]) not in good:
                found.append(f"{said} (it is {row[0] if row else 'unset'})")
    if connection.vendor == "sqlite" and getattr(connection, "transaction_mode", None) != "IMMEDIATE":
        found.append("transaction_mode must be IMMEDIATE, or writers die instead of waiting")
    return found


SQLITE = (
    ("PRAGMA synchronous", ("2", "3"), "synchronous must be FULL, or a power cut loses acknowledged entries"),
    (
        "PRAGMA recursive_triggers",
        ("1",),
        "recursive_triggers must be on, or a replacing insert deletes unseen",
    ),
    ("PRAGMA foreign_keys", ("1",), "foreign_keys must be on"),
    ("PRAGMA journal_mode", ("wal",), "journal_mode must be WAL"),
)
POSTGRESQL = (
    (
        "SELECT current_setting('synchronous_commit')",
        ("on", "remote_write", "remote_apply"),
        "synchronous_commit must be on, or a crash loses acknowledged entries",
    ),
    ("SELECT current_setting('lock_timeout') <> '0'", ("True",), "lock_timeout must be set, such as 5s"),
    (
        "SELECT current_setting('transaction_isolation')",
        ("read committed",),
        "the isolation level must be read committed: the guards read what the last to hold a lock committed",
    ),
)
