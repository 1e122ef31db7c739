"""The one way to change what is recorded.

``with act(kind, subject=..., by=...) as a:`` opens the transaction, locks the subject's chain (this is the
aggregate lock), lets the caller re-read, decide and write through ``a``, then appends one event per subject
and commits.

An action may call another action inside an act: the inner act joins the outer transaction and its time. It
locks its own subjects and appends its own events; where one of these moved on meanwhile, the whole transaction's
time moves on with it, for no chain's time runs backwards. Its rows stand in the write-set of the outermost act (its
events name that act as ``within``), so the order of the rows inside one transaction is never lost. If the
inner act is refused and the caller catches the refusal, its rows, events and lock positions are taken back
and the outer act goes on.
"""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any, TypeVar

from django.conf import settings
from django.db import models, transaction
from django.utils import timezone

from shop.errors import Refusal
from shop.record import chain, jobs
from shop.record.heads import Added, Held, append, lock_heads
from shop.record.locks import told_plainly
from shop.record.rows import insert, update
from shop.record.sole import is_sole
from shop.record.turn import turn
from shop.record.values import clean, instant, is_recorded, plain, recorded_fields, text, write
from shop.record.who import Who

Row = TypeVar("Row", bound=models.Model)
Columns = tuple[models.Field[Any, Any], ...]

#: A given time may be this far from the server's clock; more is a back-dated entry and is refused.
GIVEN_TIME_TOLERANCE = timedelta(seconds=5)
#: The server's clock may step back by this much (a correction) without stopping the shop.
CLOCK_STEP_TOLERANCE = timedelta(seconds=5)


@dataclass
class _Transaction:
    """What the outermost act holds: its id and time, the locked heads, and every row written, in order.

    `fixed`: the demo gave the time, so it must not move on."""

    act: uuid.UUID
    now: datetime
    fixed: bool
    heads: dict[str, Held] = field(default_factory=dict)
    writes: list[dict[str, Any]] = field(default_factory=list)


_open: ContextVar[_Transaction | None] = ContextVar("record_open_transaction", default=None)


class Act:
    """The hand that writes inside an act; every row it touches is noted in the write-set."""

    def __init__(self, by: Who, now: datetime, act_id: uuid.UUID, writes: list[dict[str, Any]]) -> None:
        self.by, self.now, self.id = by, now, act_id
        self.notes: dict[str, Any] = {}
        self._writes = writes

    def create(self, model: type[Row], **fields: Any) -> Row:
        """Insert one row."""
        columns = _columns(model)
        row = model(**{name: clean(value) for name, value in fields.items()})
        insert(row)
        self._inserted(model, columns, [row])
        return row

    def create_many(self, model: type[Row], rows: Sequence[Mapping[str, Any]]) -> list[Row]:
        """Insert rows of one table with one statement."""
        columns = _columns(model)
        made = [model(**{name: clean(value) for name, value in fields.items()}) for fields in rows]
        if made:
            model._base_manager.bulk_create(made)
            self._inserted(model, columns, made)
        return made

    def update(self, row: Row, **fields: Any) -> Row:
        """Change named columns of one row; raises when the row is no longer there."""
        self.update_each((row, fields))
        return row

    def update_each(self, *changes: tuple[models.Model, Mapping[str, Any]]) -> None:
        """The same for several rows, which PostgreSQL takes in one statement."""
        for row, fields in changes:
            for name, value in fields.items():
                setattr(row, name, clean(value))
        update([(row, tuple(fields)) for row, fields in changes])
        self._writes += [found for row, fields in changes if (found := _changed(row, fields))]

    def delete(self, row: models.Model) -> None:
        """Take a row out of a projection, such as where a thing lies now. History is never deleted."""
        _columns(type(row))
        self._writes.append({"delete": row._meta.label_lower, "pk": text(row.pk)})
        row.delete()

    def note(self, **facts: Any) -> None:
        """Plain facts for the reader of the record; measured values as text with their unit."""
        self.notes.update({name: plain(clean(value)) for name, value in facts.items()})

    def job(
        self,
        kind: str,
        *,
        key: str,
        argument: Mapping[str, Any] | None = None,
        not_before: datetime | None = None,
    ) -> None:
        """Ask for background work in this transaction; a key already used asks for nothing more."""
        jobs.ask(kind, key=key, argument=plain(dict(argument or {})), now=self.now, not_before=not_before)

    def _inserted(self, model: type[models.Model], columns: Columns, rows: Sequence[models.Model]) -> None:
        self._writes.append(
            {
                "insert": model._meta.label_lower,
                "columns": [column.attname for column in columns],
                "rows": [[write(column, getattr(row, column.attname)) for column in columns] for row in rows],
            }
        )


def _changed(row: models.Model, names: Iterable[str]) -> dict[str, Any]:
    """What the write-set tells of a changed row; empty where nothing of it is recorded."""
    known = {column.attname for column in _columns(type(row))}
    fields = [field for name in names if isinstance(field := row._meta.get_field(name), models.Field)]
    values = {field.attname: write(field, getattr(row, field.attname)) for field in fields if field.attname in known}
    return {"update": row._meta.label_lower, "pk": text(row.pk), "values": values} if values else {}


def _columns(model: type[models.Model]) -> Columns:
    if not is_recorded(model):
        raise TypeError(f"{model.__name__} stands outside the record: write it directly, not through an act")
    return recorded_fields(model)


@contextmanager
def act(kind: str, *, subject: str, by: Who, now: datetime | None = None, also: Sequence[str] = ()) -> Iterator[Act]:
    """Open an act on one subject (and on ``also``); see the module's text. Raises Conflict when a subject
    stays locked by somebody else for longer than the lock time-out, and Refusal for a time that cannot be."""
    subjects = _subjects(subject, also)
    outer = _open.get()
    if outer is not None:
        with _inner(outer, subjects):
            hand = Act(by, outer.now, uuid.uuid4(), outer.writes)
            yield hand
            append(events_of(kind, subjects, hand, outer))
        return
    with told_plainly(subjects), turn(), transaction.atomic(savepoint=not is_sole()):
        heads = lock_heads(subjects)
        hand_time = _time(now, heads.values())
        held = _Transaction(act=uuid.uuid4(), now=hand_time, fixed=now is not None and _free(), heads=heads)
        token = _open.set(held)
        try:
            hand = Act(by, hand_time, held.act, held.writes)
            yield hand
            append(events_of(kind, subjects, hand, held))
        finally:
            _open.reset(token)


def _subjects(subject: str, also: Sequence[str]) -> tuple[str, ...]:
    found = tuple(dict.fromkeys((subject, *also)))
    for name in found:
        if not 3 <= len(name) <= 120 or ":" not in name or clean(name) != name:
            raise ValueError(f"{name!r} does not name a subject; write it as kind:mark")
    return found


@contextmanager
def _inner(outer: _Transaction, subjects: tuple[str, ...]) -> Iterator[None]:
    """A savepoint of the database and of what the outer act holds.

    Race: between the outer act's lock and this one, another act may have moved the newly locked chain on to a
    later time than ours; two bad readings on two axles meet like this at the red tags' numbers. What we write must
    not be lost for that: the transaction's time moves on. Only a time given in the demo is refused."""
    written, heads = len(outer.writes), {name: replace(head) for name, head in outer.heads.items()}
    try:
        with transaction.atomic():
            hold_also(subjects)
            yield
    except BaseException:
        del outer.writes[written:]
        outer.heads.clear()
        outer.heads.update(heads)
        raise


def _moved_on(held: _Transaction) -> datetime:
    if held.fixed:
        _not_before(held.now, held.heads.values())
    elif any(head.at is not None and held.now < head.at for head in held.heads.values()):
        return _time(None, held.heads.values())
    return held.now


def _free() -> bool:
    """Whether a past time may be given: only where the shop is a demonstration."""
    return bool(getattr(settings, "DEMO", False))


def _time(given: datetime | None, heads: Collection[Held]) -> datetime:
    """The time of the act: the server's, taken after the lock was had; a given one only where that is
    allowed."""
    server = timezone.now()
    last = max((head.at for head in heads if head.at is not None), default=server)
    free = _free()
    if given is None:
        if last <= server:
            return server
        if free or last - server <= CLOCK_STEP_TOLERANCE:
            return last
        raise Refusal(
            f"The server's clock says {server:%Y-%m-%d %H:%M:%S} UTC, but the last entry here is of "
            f"{last:%Y-%m-%d %H:%M:%S} UTC. Nothing was saved; have the clock set right."
        )
    if not free and abs(server - given) > GIVEN_TIME_TOLERANCE:
        raise Refusal("An entry is recorded at the time it is made. Enter it without a time of your own.")
    _not_before(given, heads)
    return given


def _not_before(now: datetime, heads: Collection[Held]) -> None:
    for head in heads:
        if head.at is not None and now < head.at:
            raise Refusal(
                f"An entry of {now:%Y-%m-%d %H:%M:%S} UTC cannot follow the one of "
                f"{head.at:%Y-%m-%d %H:%M:%S} UTC on {head.subject}. Nothing was saved; "
                "enter things in the order in which they happen."
            )


def hold_also(subjects: Iterable[str]) -> _Transaction:
    """The running transaction, with these chains locked too."""
    outer = _open.get()
    assert outer is not None, "an act is running"
    if missing := [name for name in dict.fromkeys(subjects) if name not in outer.heads]:
        outer.heads.update(lock_heads(missing))
        outer.now = _moved_on(outer)
    return outer


def events_of(kind: str, subjects: tuple[str, ...], hand: Act, held: _Transaction) -> list[Added]:
    """One event at the end of each chain, at the transaction's time as it is now. The write-set stands on the first
    subject of the outermost act."""
    events = []
    for place, name in enumerate(subjects):
        head = held.heads[name]
        facts = _facts(kind, head, hand, held.now)
        if len(subjects) > 1:
            facts["subjects"] = list(subjects)
        if hand.id != held.act:
            facts["within"] = str(held.act)
        elif place == 0 and held.writes:
            facts["writes"] = held.writes
        events.append(_added(kind, head, hand, held.now, chain.canonical(facts)))
    return events


def _facts(kind: str, head: Held, hand: Act, at: datetime) -> dict[str, Any]:
    return {
        "act": str(hand.id),
        "at": instant(at),
        "kind": kind,
        "notes": hand.notes,
        "person": hand.by.code,
        "previous": head.hash.hex(),
        "sequence": head.sequence + 1,
        "subject": head.subject,
        "terminal": hand.by.place,
    }


def _added(kind: str, head: Held, hand: Act, at: datetime, content: bytes) -> Added:
    """The event that follows this head, and the head moved on to it."""
    previous = head.hash
    head.sequence, head.hash, head.at = head.sequence + 1, chain.link(previous, content), at
    return Added(
        subject=head.subject,
        sequence=head.sequence,
        act=hand.id,
        kind=kind,
        at=at,
        person=hand.by.person.pk if hand.by.person else None,
        terminal=hand.by.terminal.pk if hand.by.terminal else None,
        content=content,
        previous=previous,
        hash=head.hash,
    )
