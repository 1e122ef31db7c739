"""What every new connection is told before its first statement."""

from __future__ import annotations

from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper

#: So many plans a connection keeps. The pages have more statements than the driver's usual hundred, and one that is
#: forgotten for another is planned anew at its next use, which takes longer than to answer it.
PLANS = 400


def keep_plans(connection: BaseDatabaseWrapper, **_: Any) -> None:
    """Let a connection to PostgreSQL keep the plans of all that its pages ask."""
    if connection.vendor == "postgresql":
        connection.connection.prepared_max = PLANS
