"""Rebuild every recorded table from the ledger alone, in an empty database, and compare it with the shop's
own.

Events are taken in the order of their numbers. That order is the order of the writes: an act appends its
event last, and whoever then writes the same rows has waited for that act's lock, so its event has a later
number.

The shop may be at work meanwhile. Where a table differs, the events that came since are applied and it is compared
again, until it agrees or none came.
"""

from __future__ import annotations

import heapq
import logging
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from itertools import zip_longest
from pathlib import Path
from typing import Any

from django.apps import apps
from django.db import DEFAULT_DB_ALIAS, connections, models, transaction
from django.db.backends.sqlite3.base import DatabaseWrapper
from django.utils import timezone

from shop.record import chain
from shop.record.models import Event, Inspection
from shop.record.values import is_recorded, read, recorded_fields, write

log = logging.getLogger(__name__)
ALIAS = "replay"
PACKAGES = frozenset({"shop", "measurements", "builds"})
CHUNK = 2000
#: A table that still differs after so many rounds is told, though the shop is at work without a pause.
MOST_ROUNDS = 10
Values = dict[str, Any]
Table = type[models.Model]


class NotReplayable(Exception):
    """An event cannot be applied: what it builds on is not there."""


def recorded_models() -> list[type[models.Model]]:
    """Every table whose rows come only from acts."""
    return [model for model in _our_models() if is_recorded(model)]


def _our_models() -> list[type[models.Model]]:
    return [
        model
        for config in apps.get_app_configs()
        if config.name.partition(".")[0] in PACKAGES
        for model in config.get_models(include_auto_created=True)
    ]


def check(alive: Callable[[], None] = lambda: None) -> tuple[int, list[str]]:
    """Rebuild in a throw-away SQLite database and compare; gives the number of events and what differs.

    ``alive`` is called every so many events and tables: a job renews its lease there.
    """
    with empty_database() as alias:
        applied = Applied()
        try:
            rebuild(alias, alive=alive, applied=applied)
            differences = _lasting(alias, applied, alive)
        except NotReplayable as error:
            return 0, [str(error)]
        return applied.count, differences


def _lasting(alias: str, applied: Applied, alive: Callable[[], None]) -> list[str]:
    """What still differs when nothing is left to apply.

    Race: tables and events are read one after the other, so an act in between makes a table differ from the
    ledger as it was read. Only the tables that differ are compared again; one that agreed, agreed.
    """
    found = compare(alias, alive=alive)
    for _ in range(MOST_ROUNDS):
        if not found or not rebuild(alias, alive=alive, applied=applied):
            break
        found = compare(alias, alive=alive, tables=list(found))
    return list(found.values())


def inspect(now: datetime | None = None, alive: Callable[[], None] = lambda: None) -> Inspection:
    """Check and keep the result where the manager sees it."""
    started = time.perf_counter()
    events, findings = check(alive)
    if findings:
        log.error("the tables do not say what the ledger says: %s", "; ".join(findings))
    return Inspection.objects.create(
        kind=Inspection.Kind.REPLAY,
        at=now or timezone.now(),
        events=events,
        seconds=Decimal(f"{time.perf_counter() - started:.3f}"),
        sound=not findings,
        findings=findings,
    )


@contextmanager
def empty_database() -> Iterator[str]:
    """A throw-away SQLite database with the tables of the shop as the models say now; known to this thread
    only."""
    with tempfile.TemporaryDirectory(prefix="replay-") as folder:
        values = {
            **connections[DEFAULT_DB_ALIAS].settings_dict,
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": str(Path(folder) / "replay.sqlite3"),
            "OPTIONS": {"init_command": "PRAGMA synchronous=OFF; PRAGMA journal_mode=MEMORY"},
        }
        connections[ALIAS] = DatabaseWrapper(values, alias=ALIAS)
        try:
            with connections[ALIAS].schema_editor() as editor:
                for model in _our_models():
                    if not model._meta.auto_created:
                        editor.create_model(model)
            yield ALIAS
        finally:
            connections[ALIAS].close()
            del connections[ALIAS]


@dataclass
class Applied:
    """How many events were applied, and the highest numbers among them (a heap). An event may be committed after
    one with a higher number, so the last number alone does not say which are new."""

    count: int = 0
    latest: list[int] = field(default_factory=list)

    def new(self, source: str) -> models.QuerySet[Event]:
        events = Event.objects.using(source).order_by("id")
        return events.filter(id__gte=self.latest[0]) if len(self.latest) == CHUNK else events

    def add(self, event_id: int) -> None:
        self.count += 1
        (heapq.heappush if len(self.latest) < CHUNK else heapq.heappushpop)(self.latest, event_id)


def rebuild(
    alias: str,
    source: str = DEFAULT_DB_ALIAS,
    alive: Callable[[], None] = lambda: None,
    applied: Applied | None = None,
) -> int:
    """Apply the write-sets of all events that were not yet applied to the tables of ``alias``; gives how many."""
    applied, count = applied or Applied(), 0
    before = frozenset(applied.latest)
    events = applied.new(source).values_list("id", "content")
    with transaction.atomic(using=alias):
        for event_id, content in events.iterator(chunk_size=CHUNK):
            if event_id in before:
                continue
            applied.add(event_id)
            count += 1
            if count % CHUNK == 0:
                alive()
            for item in chain.parse(bytes(content)).get("writes", ()):
                try:
                    _apply(item, alias)
                except (LookupError, TypeError, ValueError) as error:
                    raise NotReplayable(f"event number {event_id} cannot be applied: {error}") from error
    return count


def _apply(item: Values, alias: str) -> None:
    if "insert" in item:
        _insert(_model(item["insert"]), item["columns"], item["rows"], alias)
        return
    model = _model(item.get("update") or item["delete"])
    fields = {field.attname: field for field in recorded_fields(model)}
    rows: Any = model._base_manager.using(alias).filter(pk=read(model._meta.pk, item["pk"]))
    if "delete" in item:
        changed = rows._raw_delete(alias)
    else:
        changed = rows.update(**{name: read(fields[name], value) for name, value in item["values"].items()})
    if changed != 1:
        raise LookupError(f"{model._meta.label} {item['pk']} is not there")


def _model(label: str) -> type[models.Model]:
    return apps.get_model(label)


def _insert(model: type[models.Model], columns: list[str], rows: list[list[Any]], alias: str) -> None:
    known = {field.attname: field for field in recorded_fields(model)}
    fields = [known[name] for name in columns]
    made = []
    for row in rows:
        values = {field.attname: read(field, value) for field, value in zip(fields, row, strict=True)}
        made.append(model(**values, **_left_out(model, row[0])))
    model._base_manager.using(alias).bulk_create(made)


def _left_out(model: type[models.Model], key: Any) -> Values:
    """Columns outside the record that must be unique, such as a key's hash, get a stand-in."""
    names = set(getattr(model, "unrecorded", ()))
    return {
        field.attname: f"not recorded {key}"
        for field in model._meta.concrete_fields
        if field.name in names and field.unique and not field.null
    }


def compare(
    alias: str,
    source: str = DEFAULT_DB_ALIAS,
    alive: Callable[[], None] = lambda: None,
    tables: Sequence[Table] = (),
) -> dict[Table, str]:
    """The first row of each table (all, when none is named) that differs between the shop and what the ledger
    gives."""
    found = {}
    for model in tables or recorded_models():
        alive()
        found[model] = _first_difference(model, alias, source)
    return {model: said for model, said in found.items() if said}


def _first_difference(model: type[models.Model], alias: str, source: str) -> str:
    fields = recorded_fields(model)
    for there, made in zip_longest(_rows(model, fields, source), _rows(model, fields, alias)):
        if there == made:
            continue
        label = model._meta.label
        if made is None or (there is not None and there[0] < made[0]):
            return f"{label} {_shown(there)} is in the table, but no event of the ledger made it"
        if there is None or made[0] < there[0]:
            return f"{label} {_shown(made)} was made in the ledger, but is not in the table"
        names = [
            field.name
            for field, one, other in zip(fields, there[1:], made[1:], strict=True)
            if write(field, one) != write(field, other)
        ]
        if names:
            return f"{label} {_shown(there)} differs from the ledger in {', '.join(names)}"
    return ""


def _shown(row: tuple[Any, ...]) -> str:
    return str(row[0])


def _rows(
    model: type[models.Model], fields: tuple[models.Field[Any, Any], ...], alias: str
) -> Iterator[tuple[Any, ...]]:
    names = [field.attname for field in fields]
    rows = model._base_manager.using(alias).order_by("pk").values_list("pk", *names)
    return rows.iterator(chunk_size=CHUNK)
