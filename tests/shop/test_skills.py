"""Qualifications written down, ended, and kept alive by use."""

from __future__ import annotations

from datetime import date

import pytest

from shop.actions import people, skills
from shop.actions.skills import Qualification
from shop.errors import Refusal
from shop.models import Person, Role, Skill, SkillUse
from shop.permissions import skill_on
from shop.record.act import act
from shop.record.who import SYSTEM, Who
from tests import factories

pytestmark = pytest.mark.django_db
ARC = "gas-metal-arc"
PROOF = Qualification(ARC, date(2025, 1, 10), continuity_months=6, source="test piece of 10 Jan 2025")


@pytest.fixture
def bram() -> Person:
    return factories.person("bram", Role.WELDER)


def used(bram: Person, on: date) -> SkillUse | None:
    with act("weld.made", subject="axle:X", by=SYSTEM) as a:
        return skills.note_use(a, person=bram, process=ARC, on=on, source="130")


@pytest.mark.parametrize("role", [Role.MANAGER, Role.QUALITY])
def test_a_qualification_is_written_down(bram: Person, role: Role) -> None:
    giver = factories.person("giver", role)
    made = skills.give_skill(person=bram, skill=PROOF, by=Who(giver))
    assert (made.process, made.continuity_months, made.source) == (ARC, 6, "test piece of 10 Jan 2025")
    assert skill_on(bram, ARC, date(2025, 7, 9)) is not None


def test_a_welder_does_not_qualify_himself(bram: Person) -> None:
    with pytest.raises(Refusal, match="manager or quality"):
        skills.give_skill(person=bram, skill=PROOF, by=Who(bram))


@pytest.mark.parametrize(
    ("skill", "field"),
    [
        (Qualification("", date(2025, 1, 1)), "process"),
        (Qualification("x" * 41, date(2025, 1, 1)), "process"),
        (Qualification(ARC, date(1, 1, 1)), "valid_from"),
        (Qualification(ARC, date(2025, 1, 1), valid_until=date(2025, 1, 1)), "valid_until"),
        (Qualification(ARC, date(2025, 1, 1), valid_until=date(9999, 1, 1)), "valid_until"),
        (Qualification(ARC, date(2025, 1, 1), continuity_months=0), "continuity_months"),
        (Qualification(ARC, date(2025, 1, 1), continuity_months=121), "continuity_months"),
        (Qualification(ARC, date(2025, 1, 1), source="x" * 201), "source"),
    ],
)
def test_senseless_qualifications_are_rejected(bram: Person, skill: Qualification, field: str) -> None:
    with pytest.raises(Refusal) as refused:
        skills.give_skill(person=bram, skill=skill, by=SYSTEM)
    assert refused.value.field == field
    assert not Skill.objects.exists()


def test_the_same_qualification_is_not_written_twice(bram: Person) -> None:
    skills.give_skill(person=bram, skill=PROOF, by=SYSTEM)
    with pytest.raises(Refusal, match="from that day already"):
        skills.give_skill(person=bram, skill=PROOF, by=SYSTEM)


def test_a_renewal_leaves_the_old_row_as_it_was(bram: Person) -> None:
    skills.give_skill(person=bram, skill=PROOF, by=SYSTEM)
    renewed = Qualification(ARC, date(2025, 9, 1), continuity_months=6)
    skills.give_skill(person=bram, skill=renewed, by=SYSTEM)
    assert skill_on(bram, ARC, date(2025, 8, 1)) is None
    assert skill_on(bram, ARC, date(2025, 9, 1)) is not None


def test_an_ended_skill_is_over_and_its_past_stands(bram: Person) -> None:
    skill = skills.give_skill(person=bram, skill=Qualification(ARC, date(2025, 1, 10)), by=SYSTEM)
    skills.end_skill(skill=skill, reason="eyes", by=SYSTEM)
    assert skill_on(bram, ARC, date(2199, 1, 1)) is None
    assert skill_on(bram, ARC, date(2025, 2, 1)) is not None
    with pytest.raises(Refusal, match="already"):
        skills.end_skill(skill=skill, reason="eyes", by=SYSTEM)


def test_nobody_who_left_is_qualified(bram: Person) -> None:
    people.retire(person=bram, by=SYSTEM)
    with pytest.raises(Refusal, match="no longer works here"):
        skills.give_skill(person=bram, skill=PROOF, by=SYSTEM)


def test_a_use_renews_and_is_noted_once_a_day(bram: Person) -> None:
    skills.give_skill(person=bram, skill=PROOF, by=SYSTEM)
    assert used(bram, date(2025, 4, 14)) is not None
    assert used(bram, date(2025, 4, 14)) is None
    state = skill_on(bram, ARC, date(2025, 4, 14))
    assert state is not None
    assert state.lapses_on == date(2025, 10, 14)


def test_work_done_while_lapsed_renews_nothing(bram: Person) -> None:
    """Control: one day earlier the same use is noted."""
    skills.give_skill(person=bram, skill=PROOF, by=SYSTEM)
    assert used(bram, date(2025, 7, 10)) is None
    assert not SkillUse.objects.exists()
    assert used(bram, date(2025, 7, 9)) is not None
