"""A cursor for statements whose text is always the same: PostgreSQL parses and plans each one once a connection.

Measured: planning a pass with its seven joined rows takes the server several times as long as finding it.

And the other end of the scale, all rows of a table: PostgreSQL sends them as they are stored and not as text.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager
from itertools import count
from typing import Any

import psycopg
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.utils import CursorWrapper
from django.db.models import QuerySet
from psycopg.pq import Format
from psycopg.types.numeric import Int8


def hot_cursor(here: BaseDatabaseWrapper) -> AbstractContextManager[CursorWrapper]:
    """The connection's cursor, and on PostgreSQL one that keeps the plans of what it runs.

    Where statements may not be kept (AXLEBOOK_DATABASE_PREPARE=0, behind a pooler that hands every transaction to
    another connection) it is the ordinary one. Values go to the server beside the text, so each must have the type of
    its column.
    """
    if here.vendor != "postgresql" or here.settings_dict["OPTIONS"].get("prepare_threshold") is None:
        return here.cursor()
    # As the ordinary one does it: a connection kept from an earlier request is looked at before its first use.
    here.close_if_health_check_failed()
    here.ensure_connection()
    with here.wrap_database_errors:
        made: AbstractContextManager[CursorWrapper] = here._prepare_cursor(_Keeping(here.connection))  # type: ignore[attr-defined]
    return made


class _Keeping(psycopg.Cursor[Any]):
    def execute(self, query: Any, params: Any = None, **options: Any) -> Any:
        # A whole number is sent as the smallest type that holds it, and every mix of types would be a plan of its own.
        sized = params and [Int8(value) if type(value) is int else value for value in params]
        return super().execute(query, sized, prepare=True, **options)

    def _convert_query(self, query: Any, params: Any = None) -> Any:
        # psycopg forgets the text of a statement that the server has already; Django's debugging asks for it.
        self._query = super()._convert_query(query, params)
        return self._query


def every_row(rows: QuerySet[Any, Any], size: int) -> Iterator[tuple[Any, ...]]:
    """What a queryset of `values_list` gives, so many rows at a time; for columns that PostgreSQL gives as they are.

    Measured: as text, stored bytes are twice as long and a moment is taken to pieces by hand.
    """
    here = connections[DEFAULT_DB_ALIAS]
    if here.vendor != "postgresql":
        yield from rows.iterator(chunk_size=size)
        return
    sql, values = rows.query.sql_with_params()
    here.ensure_connection()
    # Outside a transaction the rows have to outlive the statement that asked for them.
    server: Any = psycopg.ServerCursor(here.connection, f"every_row_{next(_number)}", withhold=here.get_autocommit())
    server.format = Format.BINARY
    with here._prepare_cursor(server) as cursor:  # type: ignore[attr-defined]
        cursor.execute(sql, values)
        while found := cursor.fetchmany(size):
            yield from found


_number = count()
