"""Moments as PostgreSQL sends them, read in one go.

Measured: the driver takes the text of a moment to pieces by a pattern, which costs ten times as much; a floor view
reads some hundred of them.
"""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper
from psycopg.adapt import Loader
from psycopg.postgres import types
from psycopg.pq import Format

_MOMENT = types["timestamptz"].oid


def read_moments_quickly(connection: BaseDatabaseWrapper, **_: Any) -> None:
    """For a connection just made whose moments come in UTC, as they all do here."""
    if connection.vendor != "postgresql":
        return
    adapters = connection.connection.adapters
    usual = adapters.get_loader(_MOMENT, Format.TEXT)
    if usual is not None and getattr(usual, "timezone", None) is UTC and not hasattr(usual, "usual"):
        adapters.register_loader("timestamptz", _quick(usual))


@cache
def _quick(loader: Any) -> type[Loader]:
    class Quick(loader):  # type: ignore[misc]
        usual = loader

        def load(self, data: Any) -> Any:
            """Whatever is not plainly written (infinity, a year before the first) goes the usual way."""
            try:
                found = datetime.fromisoformat(str(data, "ascii"))
            except ValueError:
                return super().load(data)
            return found if found.tzinfo is UTC else super().load(data)

    return Quick
