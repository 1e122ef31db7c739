"""A cursor for statements whose text is always the same: PostgreSQL parses and plans each one once a connection.

Measured: planning a pass with its seven joined rows takes the server several times as long as finding it.
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Any

import psycopg
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.utils import CursorWrapper
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
