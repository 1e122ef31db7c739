"""Calendar arithmetic that a rule leans on."""

from __future__ import annotations

import calendar
from datetime import date


def months_later(day: date, months: int) -> date:
    """The same day of the month so many calendar months later, clamped to the month's last day.

    31 Aug + 6 months is the last of February. Negative months go back.
    """
    year, index = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = calendar.monthrange(year, index + 1)[1]
    return date(year, index + 1, min(day.day, last))
