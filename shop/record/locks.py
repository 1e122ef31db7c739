"""The lock of a subject is the row of its chain's head. Whoever holds it decides alone; the others wait at
most the connection's lock time-out (5 s), then are told who wrote there last."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from django.db import DEFAULT_DB_ALIAS, DatabaseError, OperationalError, connections

from shop.clock import shop_zone
from shop.errors import Conflict
from shop.record.models import Event

#: PostgreSQL: lock not available, deadlock detected, serialization failure.
BUSY_STATES = frozenset({"55P03", "40P01", "40001"})


@contextmanager
def told_plainly(subjects: Iterable[str]) -> Iterator[None]:
    """Turn a lock that was not had in time into a Conflict that says who wrote there last, and when."""
    try:
        yield
    except OperationalError as error:
        if not busy(error):
            raise
        raise _conflict(sorted(subjects)) from error


def _conflict(subjects: list[str]) -> Conflict:
    return Conflict(_who_is_there(subjects), where=", ".join(subjects))


def told_again(conflict: Conflict) -> Conflict:
    """The same once the transaction is over, for inside it nobody can be asked who was there."""
    cause = conflict.__cause__
    return _conflict(conflict.where.split(", ")) if isinstance(cause, OperationalError) and busy(cause) else conflict


def busy(error: DatabaseError) -> bool:
    """Whether the database says that somebody else holds what is needed (and not that something is wrong)."""
    state = getattr(error.__cause__, "sqlstate", None)
    return state in BUSY_STATES or "database is locked" in str(error) or "database table is locked" in str(error)


def _who_is_there(subjects: list[str]) -> str:
    said = f"Somebody else is at work on {', '.join(subjects)} at this moment. Nothing was saved; try again."
    connection = connections[DEFAULT_DB_ALIAS]
    if connection.needs_rollback:
        return said
    try:
        last = Event.objects.filter(subject__in=subjects).select_related("person").order_by("-at", "-id").first()
    except DatabaseError:
        return said
    if last is None:
        return said
    who = last.person.name if last.person else "the system"
    since = last.at.astimezone(shop_zone())
    return f"{said} The last entry there is by {who}, {since:%d %b %Y %H:%M:%S}."
