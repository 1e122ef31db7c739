"""How work flows: done by week, time by station, first-time-right by operation. Read-only, the date an argument."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from builds.models import OPEN_STATES, Reopening, Span, Visit, VisitState
from measurements.models import OUT, Reading, ReadingInput
from shop.clock import shop_day

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
    given, and had no value out of limit at any try.
    """

    number: int
    name: str
    count: int
    right: int

    @property
    def share(self) -> int:
        return round(100 * self.right / self.count) if self.count else 0


def quantile(values: Sequence[float], share: float) -> float:
    """The nearest-rank quantile: the smallest value with at least this share at or below it."""
    if not values:
        return 0.0
    ordered = sorted(values)
    return ordered[max(0, math.ceil(share * len(ordered)) - 1)]


@dataclass(frozen=True)
class Flow:
    """How work went in the last weeks: operations done in each week from Monday (this week last), and by station."""

    weeks: list[tuple[date, int]]
    stations: list[StationTime]


def flow(now: datetime, weeks: int = WEEKS) -> Flow:
    """Two queries, however many passes were done. A pass done again later counts once, by its last doing."""
    monday = shop_day(now) - timedelta(days=shop_day(now).weekday())
    first = monday - timedelta(weeks=weeks - 1)
    # A day more than the shop's Monday, because the zone's midnight is not UTC's; the days are counted below.
    done = Visit.objects.filter(done_at__gte=now - timedelta(weeks=weeks, days=1), state=VisitState.DONE)
    columns = ("pk", "operation__station__code", "operation__station__name", "claimed_at", "done_at")
    rows = [row for row in done.values_list(*columns) if row[4] is not None and shop_day(row[4]) >= first]
    return Flow(_by_week(first, weeks, [shop_day(row[4]) for row in rows]), _by_station(rows, _touched(done)))


def _by_week(first: date, weeks: int, days: Sequence[date]) -> list[tuple[date, int]]:
    counts = Counter((day - first).days // 7 for day in days)
    return [(first + timedelta(weeks=number), counts[number]) for number in range(weeks)]


def _touched(done: QuerySet[Visit]) -> dict[int, float]:
    """Minutes that somebody was at each of these passes."""
    spans: dict[int, float] = defaultdict(float)
    rows = Span.objects.filter(visit__in=done, ended_at__isnull=False)
    for visit, begun, ended in rows.values_list("visit_id", "begun_at", "ended_at"):
        spans[visit] += ((ended or begun) - begun).total_seconds() / 60
    return spans


def _by_station(rows: Sequence[tuple[Any, ...]], spans: Mapping[int, float]) -> list[StationTime]:
    touch: dict[tuple[str, str], list[float]] = defaultdict(list)
    elapsed: dict[tuple[str, str], list[float]] = defaultdict(list)
    for pk, code, name, begun, ended in rows:
        touch[code, name].append(spans.get(pk, 0.0))
        elapsed[code, name].append((ended - begun).total_seconds() / 60)
    return [
        StationTime(
            code,
            name,
            len(values),
            (quantile(values, 0.5), quantile(values, 0.85)),
            (quantile(elapsed[code, name], 0.5), quantile(elapsed[code, name], 0.85)),
        )
        for (code, name), values in sorted(touch.items())
    ]


def first_time_right(now: datetime, weeks: int = WEEKS) -> list[Right]:
    """One query; an operation counts once for each unit or axle whose first pass began in this time and has ended.

    A reading declared void was never one of this axle: neither it nor what was computed from it counts against it.
    """
    from_void = ReadingInput.objects.filter(computed=OuterRef("pk"), source__voiding__isnull=False)
    out = Reading.objects.standing().filter(
        ~Exists(from_void), sheet__visit_links__visit=OuterRef("pk"), verdict__in=[str(word) for word in OUT]
    )
    back = Reopening.objects.filter(visit=OuterRef("pk")).filter(
        Q(cause__startswith="back ") | Q(cause="hold not given")
    )
    first = (
        Visit.objects.filter(number=1, claimed_at__gte=now - timedelta(weeks=weeks))
        .exclude(state__in=(*OPEN_STATES, VisitState.EXCUSED))
        .annotate(wrong=Exists(out), back=Exists(back))
    )
    counts: dict[tuple[int, str], list[int]] = defaultdict(lambda: [0, 0])
    for number, name, wrong, back_again in first.values_list("operation__number", "operation__name", "wrong", "back"):
        tally = counts[number, name]
        tally[0] += 1
        tally[1] += not (wrong or back_again)
    return [Right(number, name, count, right) for (number, name), (count, right) in sorted(counts.items())]
