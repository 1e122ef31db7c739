"""Rows into their tables by statements whose text is kept: readings, signatures and submissions come this way all day.

Measured: a model's own `save` builds the same text anew each time, which costs several times what the database needs.
Values are prepared and checked by their fields as `save` would do it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections, models, transaction

from shop.models.hot_cursor import hot_cursor

Column = models.Field[Any, Any]


@dataclass(frozen=True)
class _Kept:
    sql: str
    fields: tuple[Column, ...]
    gives_key: bool = False

    def values(self, row: models.Model, *, add: bool) -> list[Any]:
        row._prepare_related_fields_for_save("save")  # type: ignore[attr-defined]
        here = connections[DEFAULT_DB_ALIAS]
        return [field.get_db_prep_save(field.pre_save(row, add), here) for field in self.fields]


def insert(row: models.Model) -> None:
    """Insert a new row and give it its key. Raises what `save(force_insert=True)` raises."""
    here = connections[DEFAULT_DB_ALIAS]
    kept = _insert(type(row), here.vendor, row.pk is None and row._meta.auto_field is not None)
    values = kept.values(row, add=True)
    with transaction.mark_for_rollback_on_error(DEFAULT_DB_ALIAS), hot_cursor(here) as cursor:
        cursor.execute(kept.sql, values)
        if kept.gives_key:
            row.pk = cursor.fetchone()[0]
    row._state.adding, row._state.db = False, DEFAULT_DB_ALIAS


def update(changed: Sequence[tuple[models.Model, tuple[str, ...]]]) -> None:
    """Write the named fields of each row; on PostgreSQL all in one statement. DatabaseError where a row is gone."""
    here = connections[DEFAULT_DB_ALIAS]
    asked = [(_update(type(row), here.vendor, names), row) for row, names in changed if names]
    every = [(kept.sql, kept.values(row, add=False)) for kept, row in asked]
    with transaction.mark_for_rollback_on_error(DEFAULT_DB_ALIAS), hot_cursor(here) as cursor:
        if len(every) > 1 and here.vendor == "postgresql":
            together = ", ".join(f"w{place} AS ({sql} RETURNING 1)" for place, (sql, _) in enumerate(every))
            counts = " + ".join(f"(SELECT COUNT(*) FROM w{place})" for place in range(len(every)))
            cursor.execute(f"WITH {together} SELECT {counts}", [value for _, values in every for value in values])
            written = cursor.fetchone()[0]
        else:
            written = 0
            for sql, values in every:
                cursor.execute(sql, values)
                written += cursor.rowcount
        if written != len(every):
            raise DatabaseError("A row that was to be changed is no longer there.")


@cache
def _insert(model: type[models.Model], vendor: str, gives_key: bool) -> _Kept:
    meta, quote = model._meta, connections[DEFAULT_DB_ALIAS].ops.quote_name
    fields = tuple(field for field in meta.local_concrete_fields if not (gives_key and field is meta.auto_field))
    columns, marks = ", ".join(quote(str(field.column)) for field in fields), ", ".join(["%s"] * len(fields))
    sql = f"INSERT INTO {quote(meta.db_table)} ({columns}) VALUES ({marks})"
    return _Kept(f"{sql} RETURNING {_key(model)}" if gives_key else sql, fields, gives_key)


@cache
def _update(model: type[models.Model], vendor: str, names: tuple[str, ...]) -> _Kept:
    meta, quote = model._meta, connections[DEFAULT_DB_ALIAS].ops.quote_name
    fields = [field for field in meta.local_concrete_fields if field.name in names or field.attname in names]
    if len(fields) != len(names) or meta.pk in fields:
        raise ValueError(f"{', '.join(names)}: not all are columns of {meta.label} that can change")
    columns = ", ".join(f"{quote(str(field.column))} = %s" for field in fields)
    assert meta.pk is not None
    return _Kept(f"UPDATE {quote(meta.db_table)} SET {columns} WHERE {_key(model)} = %s", (*fields, meta.pk))


def _key(model: type[models.Model]) -> str:
    assert model._meta.pk is not None
    return connections[DEFAULT_DB_ALIAS].ops.quote_name(str(model._meta.pk.column))
