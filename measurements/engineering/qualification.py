"""Until when a welder's qualification holds.

House rule: valid up to, not including, last use of the process + 6 calendar months (day clamped to the
month's end), the safe side of AWS D1.1's "exceeding six months". ISO 9606-1: confirmed every 6 months;
certificate 3 years, or 2 with test evidence, or open-ended under ISO 3834-2. Work done while lapsed never renews.
"""

import calendar
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import Enum

from measurements.engineering.validity import require

CONTINUITY_MONTHS = 6


class Scheme(Enum):
    """How the certificate itself runs out: years, or None for open-ended."""

    AWS_D1_1 = None
    ISO_9606_RETEST = 3
    ISO_9606_EVIDENCE = 2
    ISO_9606_WITH_ISO_3834 = 0


def add_months(day: date, months: int) -> date:
    """The same day some calendar months on, or the month's last day where there is no such day."""
    number = day.year * 12 + day.month - 1 + months
    require(12 <= number < 9999 * 12, "The date is outside the calendar.", field="date")
    year, month = divmod(number, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


@dataclass(frozen=True, slots=True)
class Validity:
    """First day on which the qualification no longer holds, and why."""

    ends: date
    reason: str

    def on(self, day: date) -> bool:
        """Whether it holds on a day."""
        return day < self.ends

    def days_left(self, day: date) -> int:
        """Days on which it still holds, this one included; 0 when it has lapsed."""
        return max((self.ends - day).days, 0)


def last_use_that_counts(issued: date, uses: Iterable[date]) -> date:
    """The last use that kept the qualification alive; one made after it lapsed does not bring it back."""
    last = issued
    for used in sorted(uses):
        if last < used < add_months(last, CONTINUITY_MONTHS):
            last = used
    return last


def qualified_until(issued: date, uses: Iterable[date], scheme: Scheme = Scheme.AWS_D1_1) -> Validity:
    """When it ends, from the day of the test (or renewal) and the days on which the process was used."""
    lapses = add_months(last_use_that_counts(issued, uses), CONTINUITY_MONTHS)
    if scheme.value:
        runs_out = add_months(issued, 12 * scheme.value)
        if runs_out < lapses:
            return Validity(runs_out, f"The certificate runs out {scheme.value} years after the test.")
    return Validity(lapses, "Six calendar months without using the process.")
