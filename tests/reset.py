"""Empty the database between tests that commit: only what was filled, and the guards are put to sleep, not taken away.

Django's own flush truncates every table, whatever lies in it, and then makes content types and permissions anew; with
the guards lifted and laid down again that took a second or two on PostgreSQL for a test of a few rows.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction

from shop.record import triggers

# What the migrations fill, and no test.
STANDING = {"django_migrations", "django_content_type", "auth_permission"}


def empty() -> None:
    """Delete every row that a test may have left; every guard lies as declared afterwards."""
    filled = filled_tables()
    if not filled:
        return
    with asleep(filled), connection.cursor() as cursor:
        for table in filled:
            cursor.execute(f'DELETE FROM "{table}"')


def filled_tables() -> list[str]:
    tables = sorted(set(connection.introspection.table_names()) - STANDING)
    asked = " UNION ALL ".join(f"SELECT '{table}' WHERE EXISTS (SELECT 1 FROM \"{table}\")" for table in tables)
    with connection.cursor() as cursor:
        cursor.execute(asked)
        return [row[0] for row in cursor.fetchall()]


@contextmanager
def asleep(tables: list[str]) -> Iterator[None]:
    """No guard of these tables refuses, in one transaction; references are looked at when all is deleted."""
    with transaction.atomic():
        if connection.vendor != "postgresql":
            with triggers.lifted("default"):
                yield
            return
        triggers.install("default")  # where a test has left one changed
        guards = [guard for guard in triggers.wanted(connection).values() if guard.table in tables]
        with connection.cursor() as cursor:
            for table in sorted({guard.table for guard in guards}):
                cursor.execute(f'ALTER TABLE "{table}" DISABLE TRIGGER USER')
            yield
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            for guard in guards:
                cursor.execute(f'ALTER TABLE "{guard.table}" ENABLE ALWAYS TRIGGER "{guard.name}"')
