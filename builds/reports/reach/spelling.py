"""What the two databases spell differently, for statements that walk and list without scanning a whole table."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import connection


@dataclass(frozen=True)
class Spelling:
    """The ends of time, the later and the sooner of two moments, texts put together."""

    ever: str
    never: str
    later: str
    sooner: str
    joined: str


_POSTGRESQL = Spelling("'-infinity'::timestamptz", "'infinity'::timestamptz", "GREATEST", "LEAST", "string_agg")
_SQLITE = Spelling("''", "'~'", "MAX", "MIN", "group_concat")


def spelling() -> Spelling:
    return _SQLITE if connection.vendor == "sqlite" else _POSTGRESQL


def for_each(tables: str, where: str, alias: str, columns: str = "*") -> str:
    """To be put behind a source: for each of its rows those of some tables, met by their index and in no other way.

    Joined plainly, PostgreSQL would guess how many rows the source has, and above some number read a whole table.
    SQLite takes the tables in the order in which they stand and sees no `alias`: columns keep their names there.
    """
    if connection.vendor == "sqlite":
        return f"CROSS JOIN {tables} WHERE {where}"
    return f"CROSS JOIN LATERAL (SELECT {columns} FROM {tables} WHERE {where} OFFSET 0) {alias}"


def for_each_named(tables: str, where: str, own: dict[str, str]) -> tuple[dict[str, str], str]:
    """The same for expressions over these tables, by name: how each is then called, and what stands behind."""
    if connection.vendor == "sqlite":
        return own, for_each(tables, where, "")
    columns = ", ".join(f"{text} AS {name}" for name, text in own.items())
    return {name: f"x.{name}" for name in own}, for_each(tables, where, "x", columns)


def gated(column: str, condition: str, key: str) -> str:
    """That the column is the key, looked for only where the condition holds. On PostgreSQL no key is looked for without
    asking the index at all."""
    if connection.vendor == "sqlite":
        return f"{condition} AND {column} = {key}"
    return f"{column} = CASE WHEN {condition} THEN {key} END"
