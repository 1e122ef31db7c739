"""Who is there: the person at this browser, kept by a signed cookie.

The cookie holds a random token and the time of the last touch; the row behind it (`SignIn`) can be ended on
the server at once. Looking at a page therefore writes nothing to the database.
"""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone

from shop.models import Person, SignIn, Terminal
from shop.models.prepared import Prepared, text
from shop.record.who import Who

#: At a shared terminal: untouched for so long, it asks who is there.
IDLE_TERMINAL = timedelta(seconds=90)
#: At a desk of one's own.
IDLE_DESK = timedelta(hours=2)
LONGEST_SIGN_IN = timedelta(hours=12)
TOKEN_AGE_S = int(LONGEST_SIGN_IN.total_seconds())
TERMINAL_COOKIE_AGE = 5 * 365 * 24 * 60 * 60
_SEAT_SALT, _TERMINAL_SALT = "axlebook.seat", "axlebook.terminal"


def fingerprint(secret: str) -> str:
    """What is kept of a random key. The key has 256 random bits, so a plain hash cannot be guessed back."""
    return hashlib.sha256(secret.encode()).hexdigest()


def new_key() -> str:
    return secrets.token_urlsafe(32)


def cookie_name(kind: str) -> str:
    """With TLS the prefix binds the cookie to this very host; on plain HTTP browsers would drop it."""
    return f"{settings.COOKIE_PREFIX}{kind}"


@dataclass(frozen=True)
class Seat:
    """What one browser's cookies say. `person` is None when nobody is signed in or the seat is locked."""

    person: Person | None = None
    terminal: Terminal | None = None
    sign_in: SignIn | None = None
    locked: bool = False
    token: str = ""

    @property
    def who(self) -> Who:
        return Who(self.person, self.terminal)

    @property
    def last_person(self) -> Person | None:
        """Who sat here last, when the seat has locked itself: the draft is theirs."""
        return self.sign_in.person if self.sign_in is not None else None


def read_seat(request: HttpRequest) -> Seat:
    """One query when somebody is signed in, one when only the terminal is known, none otherwise."""
    now = timezone.now()
    terminal_key = _unsigned(request, "terminal", _TERMINAL_SALT)
    token, touched = _token(request)
    sign_in = _sign_in(token) if token else None
    if sign_in is not None:
        seat = _taken(sign_in, (token, touched), terminal_key, now)
        if seat is not None:
            return seat
    return Seat(terminal=_terminal(terminal_key), sign_in=None)


_SIGN_IN = Prepared(
    lambda: SignIn.objects.standing().select_related("person", "terminal__station").filter(token_hash=text("token"))
)


def _sign_in(token: str) -> SignIn | None:
    return _SIGN_IN.first(token=fingerprint(token))


def _taken(row: SignIn, cookie: tuple[str, datetime], terminal_key: str, now: datetime) -> Seat | None:
    """The seat of a standing sign-in; None when it is worth nothing (retired, other or revoked terminal)."""
    terminal, (token, touched) = row.terminal, cookie
    if row.person.retired_at is not None or now - row.begun_at > LONGEST_SIGN_IN:
        return None
    if terminal is None:
        idle = IDLE_DESK
    elif terminal.revoked_at is None and terminal_key and terminal.key_hash == fingerprint(terminal_key):
        idle = IDLE_TERMINAL
    else:
        return None
    if now - touched >= idle:
        # A browser made a terminal from a manager's desk seat asks for a badge once that seat has gone stale.
        return Seat(terminal=terminal or _terminal(terminal_key), sign_in=row, locked=True)
    return Seat(person=row.person, terminal=terminal, sign_in=row, token=token)


def _terminal(key: str) -> Terminal | None:
    if not key:
        return None
    rows = Terminal.objects.filter(key_hash=fingerprint(key), revoked_at=None)
    return rows.select_related("station").first()


def terminal_of(request: HttpRequest) -> Terminal | None:
    """The terminal that this browser is, whoever sits at it: also one just made so from a desk's seat."""
    return _terminal(_unsigned(request, "terminal", _TERMINAL_SALT))


def _unsigned(request: HttpRequest, kind: str, salt: str) -> str:
    try:
        return signing.Signer(salt=salt).unsign(request.COOKIES.get(cookie_name(kind), ""))
    except signing.BadSignature:
        return ""


def _token(request: HttpRequest) -> tuple[str, datetime]:
    """The token and the time of the last touch; both are covered by the cookie's signature."""
    token, _, touched = _unsigned(request, "seat", _SEAT_SALT).rpartition("@")
    return token, datetime.fromtimestamp(float(touched or 0), tz=UTC)


def _keep(response: HttpResponseBase, kind: str, value: str, age: int) -> None:
    response.set_cookie(
        cookie_name(kind),
        value,
        max_age=age,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def touch(request: HttpRequest, response: HttpResponseBase, token: str = "") -> None:
    """Note in the cookie that a person touched a key just now."""
    token = token or _token(request)[0]
    value = signing.Signer(salt=_SEAT_SALT).sign(f"{token}@{timezone.now().timestamp():.6f}")
    _keep(response, "seat", value, TOKEN_AGE_S)


def take_seat(request: HttpRequest, response: HttpResponseBase, *, person: Person, terminal: Terminal | None) -> None:
    """Sign the person in at this browser: a fresh token, and the seat held before here is ended."""
    end_seat(request)
    token = new_key()
    SignIn.objects.create(token_hash=fingerprint(token), person=person, terminal=terminal, begun_at=timezone.now())
    touch(request, response, token)


def end_seat(request: HttpRequest) -> None:
    """End the sign-in that this browser's cookie names, locked or not."""
    token, _ = _token(request)
    if token:
        SignIn.objects.standing().filter(token_hash=fingerprint(token)).update(ended_at=timezone.now())


def lock_seat(request: HttpRequest, response: HttpResponseBase) -> None:
    """As if untouched for long: the seat stays this person's, and only their badge or another's opens it."""
    token, _ = _token(request)
    if token:
        _keep(response, "seat", signing.Signer(salt=_SEAT_SALT).sign(f"{token}@0"), TOKEN_AGE_S)


def leave_seat(request: HttpRequest, response: HttpResponseBase) -> None:
    end_seat(request)
    response.delete_cookie(cookie_name("seat"), samesite="Lax")


def bind_terminal(response: HttpResponseBase, key: str) -> None:
    """Make this browser the terminal that the key belongs to."""
    _keep(response, "terminal", signing.Signer(salt=_TERMINAL_SALT).sign(key), TERMINAL_COOKIE_AGE)
