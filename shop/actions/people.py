"""People: engaged, given badges, PINs, passwords and roles, retired; never deleted."""

from __future__ import annotations

import re
from datetime import date, datetime

from django.contrib.auth.hashers import make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db.models import Q

from shop import badges, entries
from shop.actions.signing import LONGEST_PIN, SHORTEST_PIN
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Badge, Person, Role, RoleHeld, SignIn
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import SYSTEM, Who

_CODE = re.compile(r"[a-z][a-z0-9-]{1,19}")
_RUNS = "01234567890", "09876543210"
#: Locked by whatever takes a manager away: two who do it at once must not each count on the other's.
_MANAGERS = "shop:managers"


def subject_of(person: Person) -> str:
    return f"person:{person.code}"


def engage(*, code: str, name: str, by: Who, now: datetime | None = None) -> Person:
    """A person joins the shop. A code names one person for ever, retired ones too."""
    code = code.strip().lower()
    if not _CODE.fullmatch(code):
        raise Refusal(
            "A person's code has 2 to 20 small letters, digits or hyphens and begins with a letter.",
            field="code",
        )
    name = entries.line(name, "name", longest=80)
    with act("person.engaged", subject=f"person:{code}", by=by, now=now) as a:
        require_role(by, Role.MANAGER, shop_day(a.now))
        before = Person.objects.filter(code=code).first()
        if before is not None:
            raise Refusal(
                f"{code} is the code of {before.name} already. A code is never used twice; choose another.",
                field="code",
            )
        a.note(name=name)
        return a.create(Person, code=code, name=name)


def first_manager(*, code: str, name: str, password: str, now: datetime | None = None) -> Person:
    """Open an empty shop: without a manager nobody could engage one. Refused as soon as there ever was one.

    Race: two who do it at once meet at the managers' chain.
    """
    with act("shop.opened", subject=_MANAGERS, by=SYSTEM, now=now) as a:
        if RoleHeld.objects.filter(role=Role.MANAGER).exists():
            raise Refusal("This shop has a manager already, who engages people on the page People.")
        made = engage(code=code, name=name, by=SYSTEM, now=a.now)
        give_role(person=made, role=Role.MANAGER, by=SYSTEM, now=a.now)
        set_password(person=made, password=password, by=SYSTEM, now=a.now)
        return made


def rename(*, person: Person, name: str, by: Who, now: datetime | None = None) -> Person:
    name = entries.line(name, "name", longest=80)
    with act("person.renamed", subject=subject_of(person), by=by, now=now) as a:
        person = _at_work(a, person)
        require_role(by, Role.MANAGER, shop_day(a.now))
        a.note(was=person.name, name=name)
        return a.update(person, name=name)


def issue_badge(*, person: Person, by: Who, code: str | None = None, now: datetime | None = None) -> tuple[Badge, str]:
    """A new badge and its code, which is shown this once. The badge held before is revoked at once."""
    code = badges.new_code() if code is None else code
    if len(code) < 8:
        raise Refusal("A badge's code has at least 8 characters.", field="code")
    with act("badge.issued", subject=subject_of(person), by=by, now=now) as a:
        person = _at_work(a, person)
        require_role(by, Role.MANAGER, shop_day(a.now))
        if Badge.objects.filter(code_hash=badges.code_hash(code)).exists():
            raise Refusal("This badge code was used before. Take a new one.", field="code")
        _revoke_badges(a, person)
        return a.create(Badge, person=person, code_hash=badges.code_hash(code), issued_at=a.now), code


def revoke_badge(*, person: Person, reason: str, by: Who, now: datetime | None = None) -> None:
    """A lost badge opens nothing any more, and whoever is signed in as this person is signed out."""
    reason = entries.line(reason, "reason", longest=200)
    with act("badge.revoked", subject=subject_of(person), by=by, now=now) as a:
        require_role(by, Role.MANAGER, shop_day(a.now))
        if not _revoke_badges(a, person):
            raise Refusal(f"{person.name} holds no badge.")
        a.note(reason=reason)


def set_pin(*, person: Person, pin: str, by: Who, here: SignIn | None = None, now: datetime | None = None) -> None:
    """The PIN that signs. Set by the person, or by a manager for the first time and when it was forgotten."""
    _refuse_weak(pin)
    hashed = make_password(pin)
    with act("person.pin_set", subject=subject_of(person), by=by, now=now) as a:
        person = _at_work(a, person)
        _self_or_manager(a, person)
        a.update(person, pin_hash=hashed)
        _end_sign_ins(a, person, here)


def set_password(
    *, person: Person, password: str, by: Who, here: SignIn | None = None, now: datetime | None = None
) -> None:
    """The office password: at least 12 characters and not a common one."""
    if len(password) > 200 or "\x00" in password:
        raise Refusal("A password has at most 200 characters that can be typed.", field="password")
    try:
        validate_password(password)
    except ValidationError as error:
        raise Refusal(" ".join(error.messages), field="password") from error
    hashed = make_password(password)
    with act("person.password_set", subject=subject_of(person), by=by, now=now) as a:
        person = _at_work(a, person)
        _self_or_manager(a, person)
        a.update(person, password=hashed)
        _end_sign_ins(a, person, here)


def give_role(
    *,
    person: Person,
    role: Role,
    by: Who,
    valid_from: date | None = None,
    valid_until: date | None = None,
    now: datetime | None = None,
) -> RoleHeld:
    """The person holds the role from a day (today when none is given) up to, not including, another."""
    if role not in Role.values:
        raise Refusal(f"There is no role “{str(role)[:20]}”. Choose one of the shop's roles.", field="role")
    with act("role.given", subject=subject_of(person), by=by, now=now) as a:
        person = _at_work(a, person)
        require_role(by, Role.MANAGER, shop_day(a.now))
        begin = entries.day(valid_from or shop_day(a.now), "first day", field="valid_from")
        end = entries.day(valid_until, "last day", field="valid_until") if valid_until else None
        if end is not None and end <= begin:
            raise Refusal("A role ends after the day it begins.", field="valid_until")
        if RoleHeld.objects.on(begin).filter(person=person, role=role).exists() or (
            RoleHeld.objects.filter(person=person, role=role, valid_from=begin).exists()
        ):
            raise Refusal(f"{person.name} holds the role {Role(role).label} on that day already.", field="role")
        a.note(role=str(role), valid_from=begin, valid_until=end)
        return a.create(RoleHeld, person=person, role=role, valid_from=begin, valid_until=end)


def end_role(*, held: RoleHeld, by: Who, on: date | None = None, now: datetime | None = None) -> RoleHeld:
    """From this day on the role is not held any more; on its very first day it is held for that day still."""
    also = (_MANAGERS,) if held.role == Role.MANAGER else ()
    with act("role.ended", subject=subject_of(held.person), by=by, now=now, also=also) as a:
        require_role(by, Role.MANAGER, shop_day(a.now))
        held = RoleHeld.objects.select_related("person").get(pk=held.pk)
        today = shop_day(a.now)
        end = entries.day(on or max(today, date.fromordinal(held.valid_from.toordinal() + 1)), "day", field="on")
        if end <= held.valid_from:
            raise Refusal("A role ends after the day it begins.", field="on")
        if held.valid_until is not None and held.valid_until <= end:
            raise Refusal(f"This role ends on {held.valid_until:%d %b %Y} already.", field="on")
        if held.role == Role.MANAGER:
            _keep_a_manager(held.person, max(end, today))
        a.note(role=held.role, until=end)
        return a.update(held, valid_until=end)


def retire(*, person: Person, by: Who, now: datetime | None = None) -> Person:
    """The person leaves. Nothing of theirs is deleted; badges and sign-ins end at once."""
    with act("person.retired", subject=subject_of(person), by=by, now=now, also=(_MANAGERS,)) as a:
        person = _at_work(a, person)
        require_role(by, Role.MANAGER, shop_day(a.now))
        if by.person is not None and by.person.pk == person.pk:
            raise Refusal("Nobody retires themselves. Another manager does it.")
        _keep_a_manager(person, shop_day(a.now))
        _revoke_badges(a, person)
        _end_sign_ins(a, person)
        return a.update(person, retired_at=a.now)


def _at_work(a: Act, person: Person) -> Person:
    """The person as they stand now, under the lock."""
    fresh = Person.objects.get(pk=person.pk)
    if fresh.retired_at is not None:
        raise Refusal(f"{fresh.name} left on {shop_day(fresh.retired_at):%d %b %Y}. Nothing changes there any more.")
    return fresh


def _self_or_manager(a: Act, person: Person) -> None:
    if a.by.person is None or a.by.person.pk != person.pk:
        require_role(a.by, Role.MANAGER, shop_day(a.now))


def _revoke_badges(a: Act, person: Person) -> int:
    open_ones = list(Badge.objects.filter(person=person, revoked_at=None))
    for badge in open_ones:
        a.update(badge, revoked_at=a.now)
    if open_ones:
        _end_sign_ins(a, person)
    return len(open_ones)


def _end_sign_ins(a: Act, person: Person, here: SignIn | None = None) -> None:
    """Everywhere but `here`, where the person sits: changing one's own PIN does not throw one out."""
    rows = SignIn.objects.standing().filter(person=person)
    if here is not None:
        rows = rows.exclude(pk=here.pk)
    rows.update(ended_at=a.now)


def _keep_a_manager(leaving: Person, day: date) -> None:
    """A shop without a manager could engage nobody any more: somebody else stays one from that day on, without an
    end. Asked with the managers' chain locked."""
    managers = RoleHeld.objects.filter(role=Role.MANAGER, person__retired_at=None)
    if not managers.filter(Q(valid_until=None) | Q(valid_until__gt=day), person=leaving).exists():
        return
    if not managers.filter(valid_from__lte=day, valid_until=None).exclude(person=leaving).exists():
        raise Refusal(
            f"{leaving.name} is the only manager without a last day. Give somebody else the role first, without one."
        )


def _refuse_weak(pin: str) -> None:
    if not (pin.isascii() and pin.isdigit() and SHORTEST_PIN <= len(pin) <= LONGEST_PIN):
        raise Refusal(f"A PIN has {SHORTEST_PIN} to {LONGEST_PIN} digits and nothing else.", field="pin")
    if len(set(pin)) == 1 or any(pin in run for run in _RUNS):
        raise Refusal("This PIN is too easy to guess. Take digits that do not follow each other.", field="pin")
