"""Rows in bulk into the real tables. Indexes, keys and guards are taken off for the time of the load and laid back as
they were; what stands afterwards is compared with what stood before, and every reference is looked at.

PostgreSQL takes the rows by COPY, SQLite by one prepared statement for many rows.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from django.apps import apps
from django.db import connection, transaction
from django.db.models import Model

from shop.record import triggers

#: An absent value, as COPY reads it.
NONE = "\\N"
#: Before bytes in hexadecimal, as COPY reads them.
HEX = "\\\\x"
AT_ONCE = 20_000


@dataclass
class Table:
    """Lines of tab-separated values for one table, in the order of `columns`, sent when there are many.

    A column that this generator does not know is left as in a row that nobody filled in there; one that must be filled
    in is an error.
    """

    model: type[Model]
    columns: list[str]
    lines: list[str] = field(default_factory=list)
    rest: str = ""

    def __post_init__(self) -> None:
        have = {column.column: column for column in self.model._meta.concrete_fields}
        unknown = [have[name] for name in have if name not in self.columns]
        must = [column.column for column in unknown if not column.null and not column.has_default()]
        if must or set(self.columns) - have.keys():
            raise ValueError(f"{self.name}: {must} must be filled in; {set(self.columns) - have.keys()} are no more")
        for column in unknown:
            self.rest += f"\t{_left(column.get_default())}"
            self.columns.append(column.column)

    @property
    def name(self) -> str:
        return str(self.model._meta.db_table)

    def send(self) -> None:
        if not self.lines:
            return
        names = ", ".join(f'"{column}"' for column in self.columns)
        if self.rest:
            self.lines = [line + self.rest for line in self.lines]
        if connection.vendor == "postgresql":
            self._copy(names)
        else:
            marks = ", ".join("?" * len(self.columns))
            values = _with_bytes if HEX in self.lines[0] else _values
            connection.ensure_connection()
            connection.connection.executemany(
                f'INSERT INTO "{self.name}" ({names}) VALUES ({marks})', map(values, self.lines)
            )
        self.lines.clear()

    def _copy(self, names: str) -> None:
        with connection.cursor() as cursor, cursor.copy(f'COPY "{self.name}" ({names}) FROM STDIN') as copy:
            left = iter(self.lines)
            while some := list(islice(left, 5000)):
                copy.write("\n".join(some) + "\n")


def _left(value: Any) -> str:
    """The default of a column as COPY reads it."""
    if value is None:
        return NONE
    if isinstance(value, dict | list):
        return json.dumps(value)
    return str(int(value) if isinstance(value, bool) else value)


def _values(line: str) -> list[Any]:
    values: list[Any] = line.split("\t")
    return [None if value == NONE else value for value in values] if NONE in line else values


def _with_bytes(line: str) -> list[Any]:
    return [bytes.fromhex(v[3:]) if isinstance(v, str) and v.startswith(HEX) else v for v in _values(line)]


def as_bytes(value: bytes) -> str:
    """Bytes as COPY reads them."""
    return f"{HEX}{value.hex()}"


class Tables:
    """The tables of one load, by their models' labels."""

    def __init__(self, columns: dict[str, str]) -> None:
        self.by_label = {label: Table(apps.get_model(label), names.split()) for label, names in columns.items()}

    def __getitem__(self, label: str) -> Table:
        return self.by_label[label]

    def lines(self, label: str) -> list[str]:
        return self.by_label[label].lines

    def send(self, *, least: int = 0) -> None:
        """In the order of their keys. `least`: only where so many lines wait."""
        for table in self.by_label.values():
            if len(table.lines) > least:
                table.send()

    @property
    def names(self) -> list[str]:
        return [table.name for table in self.by_label.values()]


@contextmanager
def bare(names: Sequence[str]) -> Iterator[None]:
    """These tables without indexes, keys and guards while the block runs; then all as before, and looked at."""
    postgresql = connection.vendor == "postgresql"
    before = _standing(names)
    with _guards_off(), _bare_on_postgresql(names) if postgresql else _bare_on_sqlite(names):
        yield
    after, found = _standing(names), triggers.findings("default")
    if before != after or found:
        raise AssertionError(f"Not as it was: {sorted(before ^ after)} {found}")


@contextmanager
def _guards_off() -> Iterator[None]:
    triggers.install("default")
    triggers.lift("default")
    try:
        yield
    finally:
        triggers.install("default")


def _ask(sql: str, values: Iterable[Any] = ()) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, list(values))
        return list(cursor.fetchall())


#: Those of other tables that refer to these stand here too: a key cannot be taken off under them.
_CONSTRAINTS = """SELECT c.conrelid::regclass::text, c.conname, pg_get_constraintdef(c.oid), c.contype::text
FROM pg_constraint c WHERE (c.conrelid = ANY (%s::regclass[]) OR c.confrelid = ANY (%s::regclass[]))
AND c.convalidated ORDER BY c.contype DESC, c.conname"""
_INDEXES = """SELECT x.indrelid::regclass::text, i.relname, pg_get_indexdef(i.oid), ''
FROM pg_index x JOIN pg_class i ON i.oid = x.indexrelid
WHERE x.indrelid = ANY (%s::regclass[]) AND x.indisvalid ORDER BY i.relname"""
_BACKED = "SELECT conindid::regclass::text FROM pg_constraint WHERE conrelid = ANY (%s::regclass[]) AND conindid <> 0"
_SQLITE = "SELECT tbl_name, name, sql, type FROM sqlite_master WHERE type IN ('index', 'table') AND sql IS NOT NULL"

#: The server writes the casts of a condition in another place when it has read its own text.
_CASTS = re.compile(r"::(character varying|text)(\[\])?|[()]")


def _standing(names: Sequence[str]) -> set[tuple[Any, ...]]:
    """Every constraint and index of these tables, as the database itself tells them."""
    if connection.vendor == "postgresql":
        rows = [*_ask(_CONSTRAINTS, [list(names)] * 2), *_ask(_INDEXES, [list(names)])]
        return {(*row[:2], _CASTS.sub("", row[2])) for row in rows}
    return {row for row in _ask(_SQLITE) if row[0] in names}


@contextmanager
def _bare_on_postgresql(names: Sequence[str]) -> Iterator[None]:
    # Keys filled in beside the rows stay half empty and cost as much as all the rest: they are built at the end too.
    keys = [row for row in _ask(_CONSTRAINTS, [list(names)] * 2) if row[3] in ("f", "u", "p")]
    kept = {row[0] for row in _ask(_BACKED, [list(names)])}
    indexes = [row for row in _ask(_INDEXES, [list(names)]) if row[1] not in kept]
    with connection.cursor() as cursor:
        for table, name, _, _ in sorted(keys, key=lambda row: row[3]):  # references before what they refer to
            cursor.execute(f'ALTER TABLE {table} DROP CONSTRAINT "{name}"')
        for _, name, _, _ in indexes:
            cursor.execute(f'DROP INDEX "{name}"')
        try:
            yield
        except BaseException:  # half a shop is no shop, and its references may lead nowhere
            cursor.execute(f"TRUNCATE {', '.join(names)} CASCADE")
            raise
        finally:
            cursor.execute("SET maintenance_work_mem = '1GB'")
            # A table's unique keys, then its indexes, while its rows are at hand; the references last of all, when
            # every key stands: each row is looked at.
            made = [(table, f'ALTER TABLE {table} ADD CONSTRAINT "{name}" {text}') for table, name, text, kind in keys
                    if kind != "f"]  # fmt: skip
            made += [(table, text) for table, _, text, _ in indexes]
            for _, text in sorted(made, key=lambda one: one[0]):
                cursor.execute(text)
            for table, name, text, kind in keys:
                if kind == "f":
                    cursor.execute(f'ALTER TABLE {table} ADD CONSTRAINT "{name}" {text}')
            cursor.execute("RESET maintenance_work_mem")


@contextmanager
def _bare_on_sqlite(names: Sequence[str]) -> Iterator[None]:
    indexes = [row for row in _ask(_SQLITE) if row[0] in names and row[3] == "index"]
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA foreign_keys = OFF")
        for _, name, _, _ in indexes:
            cursor.execute(f'DROP INDEX "{name}"')
        try:
            with transaction.atomic():
                yield
        finally:
            for _, _, made, _ in indexes:
                cursor.execute(made)
        wrong = [row for name in names for row in _ask(f'PRAGMA foreign_key_check("{name}")')]
        cursor.execute("PRAGMA foreign_keys = ON")
        if wrong or _ask("PRAGMA foreign_keys") != [(1,)]:
            raise AssertionError(f"References that lead nowhere: {wrong[:5]}")


def counted_on(names: Sequence[str]) -> None:
    """The keys that the database gives next come after those that were loaded; and PostgreSQL counts the rows, as its
    own housekeeping would over a night. SQLite is not asked to: nothing in use does."""
    if connection.vendor != "postgresql":
        return
    with connection.cursor() as cursor:
        for name in names:
            cursor.execute("SELECT pg_get_serial_sequence(%s, 'id') WHERE EXISTS (SELECT 1 FROM pg_attribute"
                           " WHERE attrelid = %s::regclass AND attname = 'id')", [name, name])  # fmt: skip
            row = cursor.fetchone()
            if row is not None and row[0] is not None:
                cursor.execute(f'SELECT setval(%s, (SELECT MAX(id) FROM "{name}"))', [row[0]])
            cursor.execute(f'VACUUM ANALYZE "{name}"')


def emptied() -> None:
    """Everything that stands in any table is taken out, by the quick way of each database."""
    keep = {"django_migrations", "django_content_type", "auth_permission"}
    names = sorted(set(connection.introspection.table_names()) - keep)
    with _guards_off(), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("TRUNCATE " + ", ".join(f'"{name}"' for name in names))
            return
        cursor.execute("PRAGMA foreign_keys = OFF")
        for name in names:
            cursor.execute(f'DELETE FROM "{name}"')
        cursor.execute("PRAGMA foreign_keys = ON")
