"""One thing told in many chains at once: what befalls many things at the same moment for one reason.

An act inside an act costs a savepoint, a lock and two statements for each chain. Where thousands of things are stopped
while everybody waits, their chains are locked together and their events are written together. What stands in the ledger
is the same: each chain gets one event of an act of its own, which stands within the outer one. None of them can be
refused by itself: what may be refused is looked at before.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from shop.record.act import Act, events_of, hold_also
from shop.record.heads import append


def held_for(subjects: Iterable[str]) -> datetime:
    """Lock these chains in the act that is running, all with one statement. Returns the time of what is done to them;
    it may be later than that of the outer act where a chain had moved on. Raises Conflict."""
    return hold_also(subjects).now


def tell_each(a: Act, kind: str, notes: Mapping[str, Mapping[str, Any]]) -> None:
    """One event of this kind in each of these chains, which are held already, with plain facts for the reader."""
    held = hold_also(notes)
    events = []
    for subject, facts in notes.items():
        hand = Act(a.by, held.now, uuid.uuid4(), held.writes)
        hand.note(**facts)
        events += events_of(kind, (subject,), hand, held)
    if events:
        append(events)
