"""How work flows: done by week, time by station, first-time-right by operation. Read-only, the date an argument."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from builds.reports.flow_statements import Ranked, flow_of, right_statement, rows_of
from shop.clock import shop_day, shop_zone

WEEKS = 12


@dataclass(frozen=True)
class StationTime:
    """Minutes at one station: touch time (somebody at it) and elapsed time, median and 85th percentile."""

    code: str
    name: str
    count: int
    touch: tuple[float, float]
    elapsed: tuple[float, float]


@dataclass(frozen=True)
class Right:
    """First-time-right of one operation: `right` of `count` units passed it in one go.

    Right the first time: the first pass was done, was not re-opened for a value out of limit or by a hold that was not
    given, and had no value out of limit at any try. A void one that is still a try counts, or whoever read it could
    make the share better by a word.
    """

    number: int
    name: str
    count: int
    right: int

    @property
    def share(self) -> int:
        return round(100 * self.right / self.count) if self.count else 0


@dataclass(frozen=True)
class Flow:
    """How work went in the last weeks: operations done in each week from Monday (this week last), and by station.
    `names`: of every station by its code, in the shop's order."""

    weeks: tuple[tuple[date, int], ...]
    stations: list[StationTime]
    names: dict[str, str]


def flow(now: datetime, weeks: int = WEEKS) -> Flow:
    """One statement, however many passes were done. A pass done again later counts once, by its last doing."""
    today = shop_day(now)
    monday = today - timedelta(days=today.weekday())
    days = [monday - timedelta(weeks=back) for back in reversed(range(weeks))]
    told = flow_of([datetime.combine(day, time(), shop_zone()) for day in days])
    names = {code: name for _, code, name in sorted(told.every)}
    stations = [_time(code, names[code], ranked) for code, ranked in sorted(told.stations.items())]
    return Flow(tuple((day, told.weeks.get(number, 0)) for number, day in enumerate(days)), stations, names)


def _time(code: str, name: str, ranked: Ranked) -> StationTime:
    touch, elapsed = ((first / 60, second / 60) for first, second in (ranked.touch, ranked.elapsed))
    return StationTime(code, name, ranked.passes, touch, elapsed)


def first_time_right(now: datetime, weeks: int = WEEKS) -> list[Right]:
    """One query; an operation counts once for each unit or axle whose first pass began in this time and has ended.

    A reading declared void was never one of this axle: neither it nor what was computed from it counts against it.
    """
    return [Right(*row) for row in rows_of(right_statement(now - timedelta(weeks=weeks)))]
