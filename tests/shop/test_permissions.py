"""Roles and skills by their days."""

from __future__ import annotations

from datetime import date

import pytest

from shop.actions import people
from shop.errors import Refusal
from shop.models import Person, Role, Skill, SkillUse
from shop.permissions import (
    holds_role,
    require_role,
    roles_of,
    skill_on,
    skill_state,
    skills_of,
    why_no_skill,
)
from shop.record.act import act
from shop.record.who import SYSTEM, Who
from tests import factories

pytestmark = pytest.mark.django_db
ARC = "gas-metal-arc"


def qualified(
    somebody: Person,
    *,
    since: date,
    until: date | None = None,
    months: int | None = 6,
    uses: tuple[date, ...] = (),
) -> None:
    with act("skill.given", subject=f"person:{somebody.code}", by=SYSTEM) as a:
        a.create(Skill, person=somebody, process=ARC, valid_from=since, valid_until=until, continuity_months=months)
        for on in uses:
            a.create(SkillUse, person=somebody, process=ARC, on=on)


def test_role_is_held_from_its_day_up_to_not_including_its_last() -> None:
    rusk = factories.person("rusk")
    people.give_role(
        person=rusk,
        role=Role.ASSEMBLER,
        valid_from=date(2025, 3, 1),
        valid_until=date(2025, 4, 1),
        by=SYSTEM,
    )
    days = [date(2025, 2, 28), date(2025, 3, 1), date(2025, 3, 31), date(2025, 4, 1)]
    assert [holds_role(rusk, Role.ASSEMBLER, day) for day in days] == [False, True, True, False]
    assert not holds_role(rusk, Role.WELDER, date(2025, 3, 1))


def test_require_role_names_the_role_and_the_person() -> None:
    rusk = factories.person("rusk", Role.ASSEMBLER)
    require_role(Who(rusk), (Role.ASSEMBLER, Role.MANAGER), date(2025, 11, 20))
    with pytest.raises(Refusal, match="the role inspector or quality; Rusk Testwell does not hold it"):
        require_role(Who(rusk), (Role.INSPECTOR, Role.QUALITY), date(2025, 11, 20))


def test_the_system_may_and_the_retired_may_not() -> None:
    rusk = factories.person("rusk", Role.ASSEMBLER)
    require_role(SYSTEM, Role.MANAGER, date(2025, 11, 20))
    retired = people.retire(person=rusk, by=SYSTEM)
    assert roles_of(retired, date(2025, 11, 20)) == frozenset()
    with pytest.raises(Refusal, match="no longer works here"):
        require_role(Who(retired), Role.ASSEMBLER, date(2025, 11, 20))


def test_skill_is_valid_up_to_not_including_last_use_plus_six_months() -> None:
    """House rule: Bram last welded on 14 April; from 14 October the skill is not valid."""
    bram = factories.person("bram", name="Bram Ottelow")
    qualified(bram, since=date(2024, 9, 10), uses=(date(2025, 2, 3), date(2025, 4, 14)))
    assert skill_on(bram, ARC, date(2025, 10, 13)) is not None
    assert skill_on(bram, ARC, date(2025, 10, 14)) is None
    assert why_no_skill(bram, ARC, date(2025, 11, 6)) == (
        "Bram Ottelow's skill gas-metal-arc lapsed on 14 Oct 2025 (last used 14 Apr 2025). "
        "Somebody with a valid one must do this."
    )


@pytest.mark.parametrize(
    ("last", "lapses"),
    [
        (date(2025, 8, 31), date(2026, 2, 28)),
        (date(2023, 8, 31), date(2024, 2, 29)),
        (date(2025, 8, 30), date(2026, 2, 28)),
        (date(2025, 3, 31), date(2025, 9, 30)),
        (date(2025, 7, 15), date(2026, 1, 15)),
    ],
)
def test_the_day_is_clamped_to_the_end_of_the_month(last: date, lapses: date) -> None:
    bram = factories.person("bram")
    qualified(bram, since=last.replace(day=1), uses=(last,))
    state = skill_state(bram, ARC, last)
    assert state is not None
    assert state.lapses_on == lapses


def test_an_old_day_is_judged_as_it_was_then() -> None:
    """A use that came later must not make an old weld look qualified, nor bring a lapsed skill back to life."""
    bram = factories.person("bram")
    qualified(bram, since=date(2024, 1, 1), uses=(date(2024, 2, 1), date(2025, 3, 1)))
    assert skill_on(bram, ARC, date(2024, 7, 31)) is not None
    assert skill_on(bram, ARC, date(2024, 9, 1)) is None
    assert skill_on(bram, ARC, date(2025, 3, 2)) is None


def test_a_use_under_a_later_row_does_not_wake_the_lapsed_one() -> None:
    """Control: the same use counts for the row under which it was made, up to that row's own end."""
    bram = factories.person("bram")
    qualified(bram, since=date(2025, 1, 1))
    qualified(bram, since=date(2025, 9, 1), until=date(2025, 12, 1), uses=(date(2025, 10, 1),))
    assert skill_on(bram, ARC, date(2025, 6, 30)) is not None
    assert skill_on(bram, ARC, date(2025, 7, 1)) is None
    assert skill_on(bram, ARC, date(2025, 11, 30)) is not None
    assert skill_on(bram, ARC, date(2025, 12, 1)) is None
    state = skill_state(bram, ARC, date(2026, 2, 1))
    assert state is not None
    assert (state.valid, state.lapses_on) == (False, date(2025, 12, 1))
    assert [line.state for line in skills_of([bram], date(2026, 2, 1))] == [state]


def test_uses_within_the_months_carry_a_skill_on() -> None:
    """Control of the two above: without the gap each use renews."""
    bram = factories.person("bram")
    qualified(bram, since=date(2025, 1, 1), uses=(date(2025, 6, 30), date(2025, 12, 29)))
    assert skill_on(bram, ARC, date(2026, 6, 28)) is not None
    assert skill_on(bram, ARC, date(2026, 6, 29)) is None


def test_without_use_the_qualification_itself_counts_as_one() -> None:
    bram = factories.person("bram")
    qualified(bram, since=date(2025, 1, 10))
    assert skill_on(bram, ARC, date(2025, 7, 9)) is not None
    assert skill_on(bram, ARC, date(2025, 7, 10)) is None


def test_a_fixed_end_stands_however_often_used() -> None:
    bram = factories.person("bram")
    qualified(
        bram,
        since=date(2024, 1, 1),
        until=date(2025, 1, 1),
        uses=(date(2024, 6, 3), date(2024, 11, 4), date(2024, 12, 30)),
    )
    assert skill_on(bram, ARC, date(2024, 12, 31)) is not None
    assert skill_on(bram, ARC, date(2025, 1, 1)) is None


def test_a_skill_without_continuity_never_lapses() -> None:
    bram = factories.person("bram")
    qualified(bram, since=date(2020, 1, 1), months=None)
    state = skill_on(bram, ARC, date(2199, 1, 1))
    assert state is not None
    assert state.lapses_on is None


def test_somebody_never_qualified_is_told_so() -> None:
    rusk = factories.person("rusk")
    assert skill_state(rusk, ARC, date(2025, 1, 1)) is None
    assert "is not qualified for gas-metal-arc" in why_no_skill(rusk, ARC, date(2025, 1, 1))


def test_the_list_of_skills_agrees_and_needs_two_queries(django_assert_num_queries: object) -> None:
    bram, isolde = factories.person("bram"), factories.person("isolde")
    qualified(bram, since=date(2024, 1, 1), uses=(date(2025, 4, 14),))
    qualified(isolde, since=date(2025, 9, 1))
    day = date(2025, 11, 6)
    with django_assert_num_queries(2):  # type: ignore[operator]
        lines = skills_of([bram, isolde], day)
    assert {line.person: line.state for line in lines} == {
        bram: skill_state(bram, ARC, day),
        isolde: skill_state(isolde, ARC, day),
    }
