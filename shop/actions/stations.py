"""Stations, the terminals bound to them, and the shop's shifts."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, time

from shop import entries
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Role, Shift, SignIn, Station, Terminal
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who


def add_station(*, code: str, name: str, by: Who, order: int = 0, now: datetime | None = None) -> Station:
    code = entries.code(code, "code", longest=8)
    name = entries.line(name, "name", longest=60)
    order = entries.whole(order, "order", least=0, most=999)
    with act("station.added", subject=f"station:{code}", by=by, now=now) as a:
        require_role(by, Role.MANAGER, shop_day(a.now))
        if Station.objects.filter(code=code).exists():
            raise Refusal(f"There is a station {code} already.", field="code")
        a.note(name=name)
        return a.create(Station, code=code, name=name, order=order)


def register_terminal(*, code: str, station: Station, by: Who, now: datetime | None = None) -> tuple[Terminal, str]:
    """Bind a screen to a station. Its key goes into that browser's signed cookie; only the hash is kept."""
    code = entries.code(code, "code", longest=20)
    key = secrets.token_urlsafe(32)
    with act("terminal.registered", subject=f"terminal:{code}", by=by, now=now) as a:
        require_role(by, Role.MANAGER, shop_day(a.now))
        if Terminal.objects.filter(code=code).exists():
            raise Refusal(
                f"There was a terminal {code} before, and a code is never used twice. Choose another.",
                field="code",
            )
        a.note(station=station.code)
        terminal = a.create(
            Terminal,
            code=code,
            station=station,
            key_hash=hashlib.sha256(key.encode()).hexdigest(),
            registered_at=a.now,
        )
        return terminal, key


def revoke_terminal(*, terminal: Terminal, reason: str, by: Who, now: datetime | None = None) -> Terminal:
    """The screen is an ordinary browser again from this moment on; whoever sits there is signed out."""
    reason = entries.line(reason, "reason", longest=200)
    with act("terminal.revoked", subject=f"terminal:{terminal.code}", by=by, now=now) as a:
        require_role(by, Role.MANAGER, shop_day(a.now))
        terminal = Terminal.objects.get(pk=terminal.pk)
        if terminal.revoked_at is not None:
            raise Refusal(f"Terminal {terminal.code} is revoked already.")
        a.note(reason=reason)
        SignIn.objects.standing().filter(terminal=terminal).update(ended_at=a.now)
        return a.update(terminal, revoked_at=a.now)


def set_shift(*, name: str, starts: time, ends: time, by: Who, now: datetime | None = None) -> Shift:
    """A new shift, or new hours for the one of that name. One that passes midnight ends on the next day."""
    name = entries.line(name, "name", longest=20)
    if starts == ends:
        raise Refusal("A shift ends at another time than it begins.", field="ends")
    with act("shift.set", subject="shop:shifts", by=by, now=now) as a:
        require_role(by, Role.MANAGER, shop_day(a.now))
        a.note(name=name, starts=starts.isoformat(), ends=ends.isoformat())
        shift = Shift.objects.filter(name=name).first()
        if shift is None:
            return a.create(Shift, name=name, starts=starts, ends=ends)
        return a.update(shift, starts=starts, ends=ends)
