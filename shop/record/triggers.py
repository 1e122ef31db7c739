"""Lay the guards down as triggers, and tell whether they still lie there.

Installed after every migration: SQLite drops the triggers of a table without a word whenever an ordinary
migration makes the table anew. Compared with what is declared by exact text on SQLite; by function text,
event, and enabled state on PostgreSQL.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.utils import CursorWrapper

from shop.record.guards import ALWAYS, Guard, declared

PREFIX = "guard_"
#: Bits of pg_trigger.tgtype: for each row, before, and the statement.
TIMING = {"insert": 1 | 2 | 4, "delete": 1 | 2 | 8, "update": 1 | 2 | 16, "truncate": 2 | 32}


@dataclass(frozen=True)
class Trigger:
    """One trigger as it has to stand in the database. ``body`` is what is compared, ``make`` what creates
    it."""

    name: str
    app_label: str
    table: str
    statement: str
    body: str
    make: tuple[str, ...]


def wanted(connection: BaseDatabaseWrapper, guards: Sequence[Guard] | None = None) -> dict[str, Trigger]:
    """The triggers that the declared guards ask for on this database, by name."""
    every = declared() if guards is None else guards
    if connection.vendor == "postgresql":
        path = _search_path(connection)
        found = [trigger for guard in every for trigger in _for_postgresql(guard, path)]
    else:
        found = [trigger for guard in every for trigger in _for_sqlite(guard)]
    return {trigger.name: trigger for trigger in found}


def _search_path(connection: BaseDatabaseWrapper) -> str:
    """Fixed for the functions, so that no session can slip a table of its own under a guard's name."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 'pg_catalog, ' || quote_ident(current_schema()) || ', pg_temp'")
        return str(cursor.fetchone()[0])


def _for_sqlite(guard: Guard) -> list[Trigger]:
    made = []
    for statement in ("insert", "update", "delete"):
        condition = guard.condition(statement)
        if statement == "insert" and guard.keeps_keys:
            condition = " OR ".join(filter(None, [condition, *_key_taken(guard)]))
        if condition:
            name = f"{PREFIX}{guard.name}_{statement}"
            text = (
                f'CREATE TRIGGER "{name}" BEFORE {statement.upper()} ON "{guard.table}" FOR EACH ROW'
                f"{'' if condition == ALWAYS else f' WHEN {condition}'}"
                f" BEGIN SELECT RAISE(ABORT, {_quoted(guard.says)}); END"
            )
            made.append(Trigger(name, guard.app_label, guard.table, statement, text, (text,)))
    return made


def _key_taken(guard: Guard) -> list[str]:
    """INSERT OR REPLACE deletes the row it replaces past the delete trigger when recursive triggers are
    off."""
    return [
        f'EXISTS (SELECT 1 FROM "{guard.table}" kept WHERE '
        + " AND ".join(f'kept."{column}" = NEW."{column}"' for column in columns)
        + ")"
        for columns in guard.key_columns()
    ]


def _for_postgresql(guard: Guard, path: str) -> list[Trigger]:
    statements = [name for name in ("insert", "update", "delete") if guard.condition(name)]
    if guard.delete:
        statements.append("truncate")
    made = []
    for statement in statements:
        name = f"{PREFIX}{guard.name}_{statement}"
        if len(name) > 63:
            raise ValueError(f"{name} is longer than PostgreSQL keeps")
        body = _body(guard, statement)
        each = "STATEMENT" if statement == "truncate" else "ROW"
        make = (
            f'CREATE OR REPLACE FUNCTION "{name}"() RETURNS trigger LANGUAGE plpgsql'
            f" SET search_path = {path} AS $guard${body}$guard$",
            f'CREATE OR REPLACE TRIGGER "{name}" BEFORE {statement.upper()} ON "{guard.table}"'
            f' FOR EACH {each} EXECUTE FUNCTION "{name}"()',
            f'ALTER TABLE "{guard.table}" ENABLE ALWAYS TRIGGER "{name}"',
        )
        made.append(Trigger(name, guard.app_label, guard.table, statement, body, make))
    return made


def _body(guard: Guard, statement: str) -> str:
    """The function's text. Under READ COMMITTED the condition is a statement of its own after the lock was
    had, so it sees what the one who held the lock has committed."""
    refuse = f"RAISE EXCEPTION USING ERRCODE = '23001', MESSAGE = {_quoted(guard.says)}"
    if statement == "truncate":
        return f"BEGIN {refuse}; END"
    rows = {"insert": ("NEW",), "update": ("OLD", "NEW"), "delete": ("OLD",)}[statement]
    locks = [f"PERFORM {_after_select(guard.lock.replace('{row}', row))}; " for row in rows if guard.lock]
    back = "OLD" if statement == "delete" else "NEW"
    return f"BEGIN {''.join(locks)}IF {guard.condition(statement)} THEN {refuse}; END IF; RETURN {back}; END"


def _after_select(query: str) -> str:
    head, _, rest = query.strip().partition(" ")
    if head.upper() != "SELECT":
        raise ValueError(f"a guard's lock is a SELECT, not {query!r}")
    return rest


def _quoted(said: str) -> str:
    return "'" + said.replace("'", "''") + "'"


def install(using: str, app_label: str | None = None) -> None:
    """Make the guarded tables (of one app, or all) match what is declared: add, replace, and drop what is
    stale."""
    connection = connections[using]
    tables = set(connection.introspection.table_names())
    everything = wanted(connection)
    asked = {
        name: item for name, item in everything.items() if item.table in tables and app_label in (None, item.app_label)
    }
    present = _present(connection)
    lies_right = {name for name in asked if name in present and present[name][1] == _state(connection, asked[name])}
    stale = {name for name in present if name.startswith(PREFIX) and name not in everything}
    with connection.cursor() as cursor:
        for name in sorted(stale | (asked.keys() & present.keys()) - lies_right):
            _take_away(connection, cursor, name, present[name][0])
        for name in asked.keys() - lies_right:
            for text in asked[name].make:
                cursor.execute(text)


def findings(using: str) -> list[str]:
    """Plain sentences on every guard that is missing, changed, switched off, or stands there without being
    declared."""
    connection = connections[using]
    asked, present = wanted(connection), _present(connection)
    guarded = {trigger.table for trigger in asked.values()}
    said = [f"the guard {name} is missing on {asked[name].table}" for name in asked if name not in present]
    for name, (table, state) in present.items():
        if name not in asked:
            if table in guarded or name.startswith(PREFIX):
                said.append(f"the trigger {name} on {table} is none of ours")
        elif state != _state(connection, asked[name]):
            said.append(f"the guard {name} on {table} was changed or switched off")
    return sorted(said)


def _state(connection: BaseDatabaseWrapper, trigger: Trigger) -> str:
    if connection.vendor != "postgresql":
        return trigger.body
    return f"A {TIMING[trigger.statement]} pinned {trigger.body}"


def _present(connection: BaseDatabaseWrapper) -> dict[str, tuple[str, str]]:
    """Every trigger of the database: name to table and state."""
    with connection.cursor() as cursor:
        if connection.vendor != "postgresql":
            cursor.execute("SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name")
        else:
            cursor.execute(
                """SELECT t.tgname, c.relname, t.tgenabled::text || ' ' || t.tgtype::text || ' '
                   || CASE WHEN t.tgqual IS NULL AND t.tgattr::text = ''
                           AND 'search_path=' || %s = ANY (p.proconfig)
                      THEN 'pinned' ELSE 'loose' END || ' ' || p.prosrc
                   FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid
                   WHERE NOT t.tgisinternal AND c.relnamespace = current_schema()::regnamespace
                   ORDER BY t.tgname""",
                [_search_path(connection)],
            )
        return {name: (table, state) for name, table, state in cursor.fetchall()}


def _take_away(connection: BaseDatabaseWrapper, cursor: CursorWrapper, name: str, table: str) -> None:
    if connection.vendor == "postgresql":
        cursor.execute(f'DROP TRIGGER "{name}" ON "{table}"')
        cursor.execute(f'DROP FUNCTION IF EXISTS "{name}"()')
    else:
        cursor.execute(f'DROP TRIGGER "{name}"')


def lift(using: str) -> None:
    """Take every guard away; until `install` lays them down again the check and `verify` name each one."""
    connection = connections[using]
    with connection.cursor() as cursor:
        for name, (table, _) in _present(connection).items():
            if name.startswith(PREFIX):
                _take_away(connection, cursor, name, table)


@contextmanager
def lifted(using: str) -> Iterator[None]:
    """Take every guard away and put it back: for the flush between tests that commit, and nothing else."""
    lift(using)
    try:
        yield
    finally:
        install(using)
