"""Skills: qualifications for a process, and the uses that keep them valid."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from shop import entries
from shop.actions.people import subject_of
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Person, Role, Skill, SkillUse
from shop.permissions import require_role, skill_on
from shop.record.act import Act, act
from shop.record.who import Who

MAY_GIVE = (Role.MANAGER, Role.QUALITY)


@dataclass(frozen=True)
class Qualification:
    """What a certificate says: valid from, up to and not including, and how long it lasts without use."""

    process: str
    valid_from: date
    valid_until: date | None = None
    continuity_months: int | None = None
    source: str = ""


def give_skill(*, person: Person, skill: Qualification, by: Who, now: datetime | None = None) -> Skill:
    """Write down a qualification. A renewal is another row: the old one keeps saying what was true then."""
    process = entries.line(skill.process, "process", longest=40)
    source = entries.line(skill.source, "source", longest=200, may_be_empty=True)
    begin = entries.day(skill.valid_from, "first day", field="valid_from")
    end = entries.day(skill.valid_until, "last day", field="valid_until") if skill.valid_until else None
    if end is not None and end <= begin:
        raise Refusal("A skill ends after the day it begins.", field="valid_until")
    months = skill.continuity_months
    if months is not None:
        months = entries.whole(months, "months without use", least=1, most=120, field="continuity_months")
    with act("skill.given", subject=subject_of(person), by=by, now=now) as a:
        require_role(by, MAY_GIVE, shop_day(a.now))
        if Person.objects.filter(pk=person.pk, retired_at=None).first() is None:
            raise Refusal(f"{person.name} no longer works here.")
        if Skill.objects.filter(person=person, process=process, valid_from=begin).exists():
            raise Refusal(f"{person.name} has {process} from that day already.", field="process")
        a.note(process=process, valid_from=begin, valid_until=end, continuity_months=months, source=source)
        return a.create(
            Skill,
            person=person,
            process=process,
            valid_from=begin,
            valid_until=end,
            continuity_months=months,
            source=source,
        )


def end_skill(*, skill: Skill, reason: str, by: Who, now: datetime | None = None) -> Skill:
    """The qualification ends today (tomorrow when it began today); what was done with it stays as it was."""
    reason = entries.line(reason, "reason", longest=200)
    with act("skill.ended", subject=subject_of(skill.person), by=by, now=now) as a:
        require_role(by, MAY_GIVE, shop_day(a.now))
        skill = Skill.objects.get(pk=skill.pk)
        end = max(shop_day(a.now), date.fromordinal(skill.valid_from.toordinal() + 1))
        if skill.valid_until is not None and skill.valid_until <= end:
            raise Refusal(f"This skill ends on {skill.valid_until:%d %b %Y} already.")
        a.note(process=skill.process, until=end, reason=reason)
        return a.update(skill, valid_until=end)


def note_use(a: Act, *, person: Person, process: str, on: date, source: str = "") -> SkillUse | None:
    """A use keeps the skill valid: one a day, inside the act that made it. None when it renews nothing.

    Work done while lapsed never renews a skill; work entered late must not come here at all.
    """
    if skill_on(person, process, on) is None:
        return None
    if SkillUse.objects.filter(person=person, process=process, on=on).exists():
        return None
    return a.create(SkillUse, person=person, process=process, on=on, source=source)
