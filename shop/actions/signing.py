"""A signature: a PIN checked at the edge gives a grant, and an action turns the grant into a signature.

The hash of a PIN is slow on purpose, so it is checked before the transaction opens and not while others wait.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.db.models import Q
from django.utils import timezone

from shop.errors import Refusal
from shop.models import Person, SignInTry, Terminal
from shop.models.prepared import PreparedValues, moment, number
from shop.record.act import Act
from shop.record.models import Signature
from shop.record.rows import insert

GRANT_LASTS = timedelta(seconds=60)
#: So many wrong tries within the window, by one person or at one terminal, and nothing is looked at any more.
WRONG_TRIES_PERSON, WRONG_TRIES_TERMINAL = 5, 15
TRY_WINDOW = timedelta(minutes=10)
SHORTEST_PIN, LONGEST_PIN = 6, 12


@dataclass(eq=False)
class Grant:
    """Leave to sign once, in one sense, at one terminal, within a minute. `used`: it has signed."""

    person: Person
    terminal: Terminal | None
    meaning: str
    expires: datetime
    used: bool = field(default=False, init=False)


def check_pin(
    *, person: Person, pin: str, terminal: Terminal | None, meaning: str, now: datetime | None = None
) -> Grant:
    """The grant for one signature. Refuses a wrong PIN, and any PIN after too many wrong ones."""
    now = now or timezone.now()
    if meaning not in Signature.Meaning.values:
        raise Refusal("A signature needs its meaning: did, checked, released or agreed.", field="pin")
    prove_pin(person=person, pin=pin, terminal=terminal, now=now, wrong="Nothing was signed; type it again.")
    return Grant(person, terminal, meaning, now + GRANT_LASTS)


def prove_pin(
    *, person: Person, pin: str, terminal: Terminal | None, now: datetime | None = None, wrong: str = "Type it again."
) -> None:
    """Refuse unless this is the person's PIN. Tries are noted outside the ledger: each wrong one, and a right one where
    it ends a count of wrong ones, for a note is a commit of its own. `wrong`: what a wrong one means here and what to
    do, for a PIN is asked for more than a signature."""
    now = now or timezone.now()
    counted = refuse_too_many(person=person, terminal=terminal, now=now)
    if person.retired_at is not None:
        raise Refusal("This person no longer works here.", field="pin")
    if not person.pin_hash:
        raise Refusal(f"{person.name} has no PIN yet. A manager sets the first one.", field="pin")
    good = bool(pin) and len(pin) <= LONGEST_PIN and check_password(pin, person.pin_hash)
    if counted or not good:
        note_try(person=person, terminal=terminal, good=good, now=now)
    if not good:
        raise Refusal(f"This is not the PIN of {person.name}. {wrong}", field="pin")


def prove_password(*, person: Person | None, password: str, now: datetime | None = None) -> bool:
    """Whether this is the person's office password; takes as long when there is no such person."""
    now = now or timezone.now()
    if person is None:
        make_password(password)
        return False
    refuse_too_many(person=person, terminal=None, now=now)
    good = person.retired_at is None and len(password) <= 200 and check_password(password, person.password)
    note_try(person=person, terminal=None, good=good, now=now)
    return good


def note_try(*, person: Person | None, terminal: Terminal | None, good: bool, now: datetime) -> None:
    insert(SignInTry(person=person, terminal=terminal, good=good, at=now))


_TRIES = PreparedValues(
    lambda: (
        SignInTry.objects.filter(Q(person=number("person")) | Q(terminal=number("terminal")), at__gt=moment("since"))
        .order_by("-at", "-pk")
        .values_list("person_id", "terminal_id", "good", "at")
    )
)


def refuse_too_many(*, person: Person | None, terminal: Terminal | None, now: datetime) -> bool:
    """Throttle per person and per terminal: wrong tries since the last right one, within the window. One query.

    Returns whether there is any wrong try within the window."""
    mine, here = person.pk if person else None, terminal.pk if terminal else None
    tries = _TRIES.all(person=mine, terminal=here, since=now - TRY_WINDOW)
    waits = [timedelta()]
    if person is not None:
        waits.append(_wait([(good, at) for one, _, good, at in tries if one == mine], WRONG_TRIES_PERSON, now))
    if terminal is not None:
        waits.append(_wait([(good, at) for _, one, good, at in tries if one == here], WRONG_TRIES_TERMINAL, now))
    wait = max(waits)
    if wait > timedelta():
        minutes = -(-int(wait.total_seconds()) // 60)
        raise Refusal(
            f"Too many wrong tries. Wait {minutes} {'minute' if minutes == 1 else 'minutes'} and try again.",
            field="pin",
        )
    return not all(good for _, _, good, _ in tries)


def _wait(newest: Sequence[tuple[bool, datetime]], most: int, now: datetime) -> timedelta:
    """How long until the oldest of so many wrong tries has left the window. `newest`: whether each try within it was
    good, and when; newest first."""
    recent = newest[:most]
    if len(recent) < most or any(good for good, _ in recent):
        return timedelta()
    return recent[-1][1] + TRY_WINDOW - now


def signature(a: Act, grant: Grant, meaning: Signature.Meaning) -> Signature:
    """The signature row of this act, in the sense that the act asks for. Refuses a grant of somebody else, another
    terminal's, a stale one, one given in another sense, and one that has signed already."""
    if a.by.person is None or grant.person.pk != a.by.person.pk:
        raise Refusal("A signature is given by the person who acts.", field="pin")
    if (grant.terminal and grant.terminal.pk) != (a.by.terminal and a.by.terminal.pk):
        raise Refusal("The PIN was given at another terminal. Give it here.", field="pin")
    if not a.now <= grant.expires:
        raise Refusal("The PIN was given more than a minute ago. Give it again.", field="pin")
    if grant.meaning != meaning:
        raise Refusal(f"This is signed as “{meaning.label}”. Give the PIN for that.", field="pin")
    if grant.used:
        raise Refusal("This PIN has signed already. Give it again for another signature.", field="pin")
    grant.used = True
    return a.create(Signature, person=grant.person, terminal=grant.terminal, meaning=grant.meaning, at=a.now)
