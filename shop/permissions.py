"""Who may do what: roles and skills, each with its days, and the list of pages without sign-in."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import date

from shop.errors import Refusal
from shop.models import Person, Role, RoleHeld, Skill, SkillUse
from shop.models.prepared import Prepared, number, on, text
from shop.record.who import Who

#: Everything else needs a sign-in: the gate denies by default. Frozen: a test repeats the list.
OPEN_PAGES = frozenset(
    {
        "health",
        "sign_in",
        "sign_in_pin",
        "office_sign_in",
        "sign_out",
        "theme",
        "verify",
        "customer_enter",
        "customer_enter_token",
        "customer_order",
        "customer_certificate",
    }
)


# Roles


_ROLES = Prepared(
    lambda: RoleHeld.objects.on(on("day")).filter(person=number("person"), person__retired_at=None).only("role")
)
_SKILLS = Prepared(
    lambda: Skill.objects.filter(person=number("person"), process=text("process"), valid_from__lte=on("day"))
)
_USES = Prepared(
    lambda: SkillUse.objects.filter(person=number("person"), process=text("process"), on__lte=on("day")).order_by("on")
)


def roles_of(person: Person, day: date) -> frozenset[Role]:
    """The roles a person holds on a day; a retired person holds none.

    Race: the person at hand was read before the lock and may have been retired since, so the table is asked.
    """
    return frozenset(Role(row.role) for row in _ROLES.all(person=person.pk, day=day))


def holds_role(person: Person, roles: Role | Collection[Role], day: date) -> bool:
    """Whether the person holds one of the roles on that day."""
    return not roles_of(person, day).isdisjoint(_several(roles))


def require_role(who: Who, roles: Role | Collection[Role], day: date) -> None:
    """Refuse unless the author holds one of the roles that day. The system may do what needs no signature."""
    if who.person is None or holds_role(who.person, roles, day):
        return
    if who.person.retired_at is not None:
        raise Refusal(f"{who.person.name} no longer works here and cannot do this.")
    raise Refusal(f"This needs {role_words(roles)}; {who.person.name} does not hold it today. Ask somebody who does.")


def role_words(roles: Role | Collection[Role]) -> str:
    """The roles as words: "the role inspector or quality"."""
    words = [str(role.label) for role in _several(roles)]
    return f"the role {' or '.join(words)}"


def _several(roles: Role | Collection[Role]) -> Collection[Role]:
    return (roles,) if isinstance(roles, Role) else roles


# Skills


@dataclass(frozen=True)
class SkillState:
    """A person's standing in one process on one day. `lapses_on` is the first day it is no longer valid."""

    process: str
    valid: bool
    lapses_on: date | None
    last_use: date | None


def skill_state(person: Person, process: str, day: date) -> SkillState | None:
    """The standing on that day, valid or lapsed; None when the person was never qualified by then.

    Uses after the day do not count, so an old day is judged as it was. House rule: valid up to, not
    including, the last use plus the continuity's calendar months; a use while lapsed renews nothing.
    """
    asked = {"person": person.pk, "process": process, "day": day}
    rows = _SKILLS.all(**asked)
    if not rows:
        return None
    uses = [use.on for use in _USES.all(**asked)]
    return _best([_standing(row, uses, day) for row in rows])


def skill_days(person: Person, process: str) -> Callable[[date], SkillState | None]:
    """The same for any number of days, from two queries: what `skill_state` says of each."""
    skills = list(Skill.objects.filter(person=person, process=process))
    used = list(SkillUse.objects.filter(person=person, process=process).order_by("on").values_list("on", flat=True))

    def on_day(day: date) -> SkillState | None:
        uses = used[: bisect_right(used, day)]
        states = [_standing(skill, uses, day) for skill in skills if skill.valid_from <= day]
        return _best(states) if states else None

    return on_day


def _standing(skill: Skill, uses: Sequence[date], day: date) -> SkillState:
    ends = skill.lapses_on(uses)
    valid = skill.valid_from <= day and (ends is None or day < ends)
    return SkillState(skill.process, valid, ends, uses[-1] if uses else None)


def _best(states: Collection[SkillState]) -> SkillState:
    """A person qualified twice stands as the qualification that lasts longest says."""
    return max(states, key=lambda state: (state.valid, state.lapses_on or date.max))


def skill_on(person: Person, process: str, day: date) -> SkillState | None:
    """The person's valid skill on that day, with the day it lapses; None when not held or lapsed."""
    state = skill_state(person, process, day)
    return state if state is not None and state.valid else None


def why_no_skill(person: Person, process: str, day: date) -> str:
    """Why the person may not use the process that day, as a sentence; empty when the skill is valid."""
    return said_of(person, process, skill_state(person, process, day))


def said_of(person: Person, process: str, state: SkillState | None) -> str:
    """The sentence for a standing: why the process may not be used; empty when it may."""
    if state is None:
        return f"{person.name} is not qualified for {process}. Somebody who is must do this."
    if state.valid:
        return ""
    used = f" (last used {state.last_use:%d %b %Y})" if state.last_use else ""
    ended = f" on {state.lapses_on:%d %b %Y}" if state.lapses_on else ""
    return f"{person.name}'s skill {process} lapsed{ended}{used}. Somebody with a valid one must do this."


@dataclass(frozen=True)
class SkillLine:
    """One line of the people page: a person's process and how it stands."""

    person: Person
    state: SkillState


def skills_of(people: Collection[Person], day: date) -> list[SkillLine]:
    """How every skill of these people stands that day, two queries whatever their number."""
    by_id = {person.pk: person for person in people}
    uses: dict[tuple[int, str], list[date]] = {}
    used = SkillUse.objects.filter(person__in=by_id, on__lte=day).order_by("on")
    for person_id, process, used_on in used.values_list("person_id", "process", "on"):
        uses.setdefault((person_id, process), []).append(used_on)
    found: dict[tuple[int, str], list[SkillState]] = {}
    for skill in Skill.objects.filter(person__in=by_id, valid_from__lte=day).order_by("process"):
        key = (skill.person_id, skill.process)
        found.setdefault(key, []).append(_standing(skill, uses.get(key, []), day))
    return [SkillLine(by_id[person_id], _best(states)) for (person_id, _), states in found.items()]
