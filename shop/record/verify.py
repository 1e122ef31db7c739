"""Walk everything: chains, heads, tree, checkpoints and guards; name the first place in each that does not
hold.

The shop may be at work meanwhile. A chain that seems not to hold is walked once more with its head held, so that
an entry made during the walk is not told as a broken record; of the tree only what stood there at the start is
looked at.
"""

from __future__ import annotations

import hashlib
import logging
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db import DEFAULT_DB_ALIAS, transaction
from django.utils import timezone

from shop.models import Person, Terminal
from shop.models.hot_cursor import every_row
from shop.record import note, tree, triggers
from shop.record.chain import End, canonical
from shop.record.checkpoint import verifier
from shop.record.models import Blob, Checkpoint, Event, Head, Inspection, Leaf
from shop.record.values import instant

log = logging.getLogger(__name__)
CHUNK = 5000
#: An event may be committed this long after its own time and still have missed the last checkpoint.
LATE = timedelta(minutes=10)
COLUMNS = (
    "subject",
    "sequence",
    "id",
    "act",
    "kind",
    "at",
    "person_id",
    "terminal_id",
    "content",
    "previous",
    "hash",
)
Row = tuple[Any, ...]


@dataclass
class Report:
    """What was walked and what was found; sound when nothing was."""

    events: int = 0
    chains: int = 0
    findings: list[str] = field(default_factory=list)
    seconds: float = 0.0

    @property
    def sound(self) -> bool:
        return not self.findings


def verify(using: str = DEFAULT_DB_ALIAS, now: datetime | None = None) -> Report:
    """Walk the whole record; reads only."""
    report, started = Report(), time.perf_counter()
    leaves = _Leaves()
    _chains(report, leaves)
    _tree(report, leaves, now or timezone.now())
    _blobs(report)
    report.findings += triggers.findings(using)
    report.seconds = time.perf_counter() - started
    return report


def inspect(now: datetime | None = None) -> Inspection:
    """Verify and keep the result where the manager sees it."""
    report = verify(now=now)
    if not report.sound:
        log.error("the record does not hold: %s", "; ".join(report.findings))
    return Inspection.objects.create(
        kind=Inspection.Kind.LEDGER,
        at=now or timezone.now(),
        events=report.events,
        chains=report.chains,
        seconds=Decimal(f"{report.seconds:.3f}"),
        sound=report.sound,
        findings=report.findings,
    )


@dataclass
class _Leaves:
    """Leaf hashes made from the stored bytes, placed by index; and the events that have none. The checkpoints are
    read before the leaves, so that every one of them finds its leaves known."""

    checkpoints: list[Checkpoint] = field(
        default_factory=lambda: list(Checkpoint.objects.select_related("key").order_by("size"))
    )
    hashes: bytearray = field(default_factory=bytearray)
    known: dict[int, int] = field(default_factory=lambda: dict(Leaf.objects.values_list("event_id", "index")))
    without: list[tuple[int, datetime]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.hashes = bytearray(tree.SIZE * len(self.known))

    def put(self, event_id: int, at: datetime, content: bytes) -> None:
        index = self.known.get(event_id)
        if index is None:
            self.without.append((event_id, at))
        else:
            self.hashes[index * tree.SIZE : (index + 1) * tree.SIZE] = tree.leaf_hash(content)


def _chains(report: Report, leaves: _Leaves) -> None:
    heads = {head.subject: head for head in Head.objects.all()}
    names, suspicious = _Names(), []
    rows = every_row(Event.objects.order_by("subject", "sequence").values_list(*COLUMNS), CHUNK)
    for subject, chained in groupby(rows, key=itemgetter(0)):
        report.chains += 1
        last, events, broken = _walk(chained, names, leaves.put)
        report.events += events
        head = heads.pop(subject, None)
        if broken or _at_its_head(head, last):
            suspicious.append(subject)
    suspicious += [subject for subject, head in heads.items() if head.sequence]
    report.findings += [f"{subject}: {said}" for subject in suspicious if (said := _held_still(subject))]


def _at_its_head(head: Head | None, last: End) -> str:
    """What is wrong between the end of a chain and its head; empty when they agree."""
    if head is None:
        return "the chain has no head" if last.sequence else ""
    if End(head.sequence, bytes(head.hash)) == last:
        return ""
    if not last.sequence:
        return f"the chain is gone; its head stands at {head.sequence}"
    return f"the head stands at {head.sequence}, the last event found is {last.sequence}"


def _held_still(subject: str) -> str:
    """What does not hold in one chain while nobody can add to it; empty when it is whole.

    Race: heads, people and events are read one after the other, so an entry made in between makes a whole chain
    look broken. Nothing is made here: a head that is missing stays missing.
    """
    with transaction.atomic():
        head = Head.objects.select_for_update().filter(subject=subject).first()
        rows = Event.objects.filter(subject=subject).order_by("sequence").values_list(*COLUMNS)
        last, _, broken = _walk(every_row(rows, CHUNK), _Names(), _nowhere)
        return broken or _at_its_head(head, last)


Put = Callable[[int, datetime, bytes], None]


def _nowhere(event_id: int, at: datetime, content: bytes) -> None:
    """The leaves were placed on the first walk."""


def _walk(rows: Iterator[Row], names: _Names, put: Put) -> tuple[End, int, str]:
    """The end of one chain, how many events it has, and the first place that does not hold."""
    end, count, broken = End(), 0, ""
    for row in rows:
        count += 1
        content, previous, digest = bytes(row[8]), bytes(row[9]), bytes(row[10])
        put(row[2], row[5], content)
        if broken:
            continue
        broken = end.broken_by(row[1], content, previous, digest)
        if not broken and not names.agree(row, content, end.hash):
            broken = f"event {row[1]} was changed: its columns do not agree with its bytes"
        end = End(end.sequence + 1, digest)
    return end, count, broken


class _Names:
    """Compare an event's columns with its bytes. The bytes are canonical, so their order is known and the
    parts can be laid beside them without parsing: act, at, kind, notes, person, previous, sequence, subject,
    subjects, terminal."""

    def __init__(self) -> None:
        self.people: dict[int | None, bytes] = {None: b'""'}
        self.people |= {key: canonical(code) for key, code in Person.objects.values_list("pk", "code")}
        self.terminals: dict[int | None, bytes] = {None: b'""'}
        self.terminals |= {key: canonical(code) for key, code in Terminal.objects.values_list("pk", "code")}
        self.words: dict[str, bytes] = {}

    def word(self, text: str) -> bytes:
        found = self.words.get(text)
        if found is None:
            if len(self.words) > CHUNK:
                self.words.clear()
            found = self.words[text] = canonical(text)
        return found

    def agree(self, row: Row, content: bytes, previous: bytes) -> bool:
        subject, sequence, _, act, kind, at, person, terminal = row[:8]
        start = b'{"act":"%s","at":"%s","kind":%s,"notes":{' % (
            str(act).encode(), instant(at).encode(), self.word(kind),
        )  # fmt: skip
        if not content.startswith(start):
            return False
        middle = b'},"person":%s,"previous":"%s","sequence":%d,"subject":%s,' % (
            self.people.get(person, b"?"), previous.hex().encode(), sequence, self.word(subject),
        )  # fmt: skip
        place = content.find(middle, len(start) - 1)
        if place < 0:
            return False
        rest = place + len(middle)
        if content.startswith(b'"subjects":[', rest):
            rest = content.find(b'],"terminal":', rest) + 2
        return content.startswith(b'"terminal":' + self.terminals.get(terminal, b"?"), rest)


def _tree(report: Report, leaves: _Leaves, now: datetime) -> None:
    size = len(leaves.known)
    checkpoints = leaves.checkpoints
    if sorted(leaves.known.values()) != list(range(size)):
        report.findings.append("the tree has a gap: its leaves are not numbered without one")
        return
    if checkpoints and checkpoints[-1].size > size:
        report.findings.append(f"the tree has {size} leaves, but {checkpoints[-1].size} were signed")
    if checkpoints:
        bound = checkpoints[-1].at - LATE
        missed = [event_id for event_id, at in leaves.without if at < bound]
        if missed and max(leaves.known, default=0) > min(missed):
            report.findings.append(f"event number {min(missed)} is missing from the tree")
    _checkpoints(report, leaves, {item.size: item for item in checkpoints})


def _checkpoints(report: Report, leaves: _Leaves, checkpoints: dict[int, Checkpoint]) -> None:
    rows = Leaf.objects.filter(index__lt=len(leaves.known)).order_by("index")
    grown = tree.Range()
    for index, (kept,) in enumerate(every_row(rows.values_list("hash"), CHUNK)):
        made = bytes(leaves.hashes[index * tree.SIZE : (index + 1) * tree.SIZE])
        if bytes(kept) != made:
            report.findings.append(f"leaf {index} was changed: it is not the hash of its event")
            return
        grown.add(made)
        if grown.size in checkpoints:
            said = _checkpoint(checkpoints[grown.size], grown.root())
            if said:
                report.findings.append(said)
                return


def _checkpoint(item: Checkpoint, root: bytes) -> str:
    try:
        found = note.Checkpoint.read(note.open_note(item.note, [verifier(item)]))
    except note.NoteError as error:
        return f"the checkpoint at {item.size}: {error}"
    if (found.size, found.root, bytes(item.root)) != (item.size, root, root):
        return f"the checkpoint at {item.size} was signed over another tree"
    return ""


def _blobs(report: Report) -> None:
    """Stored files are named by the fingerprint of their bytes, so they tell by themselves."""
    for name, size, content in Blob.objects.values_list("pk", "size", "content").iterator(chunk_size=20):
        if hashlib.sha256(content).hexdigest() != name or len(content) != size:
            report.findings.append(f"the file {name[:12]} was changed: its bytes do not give its name")
