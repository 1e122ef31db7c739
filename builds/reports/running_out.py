"""What runs out within thirty days or is over already: gauges and skills, for the page where an inspector starts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from measurements.reports.gauges import SOON, ShelfRow, shelf
from shop.clock import shop_day
from shop.models import Person
from shop.permissions import SkillLine, skills_of


@dataclass(frozen=True)
class RunningOut:
    gauges: list[ShelfRow]
    skills: list[SkillLine]


def running_out(now: datetime) -> RunningOut:
    """Eight statements, however many gauges and people there are; the most pressing first."""
    last = shop_day(now) + timedelta(days=SOON)
    lines = skills_of(list(Person.objects.working().order_by("name")), shop_day(now))
    skills = [line for line in lines if line.state.lapses_on is not None and line.state.lapses_on <= last]
    skills.sort(key=lambda line: (line.state.lapses_on, line.person.name))
    return RunningOut([row for row in shelf(now) if row.wants], skills)
