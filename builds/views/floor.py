"""The floor view, readable across the room; every list also as CSV."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import urlencode

from builds.drawings.bars import Bar, bars
from builds.models import Axle
from builds.reports.floor import FloorRow, floor_rows, station_loads
from builds.reports.flow import Right, first_time_right, flow
from builds.reports.lists import axle_list, floor_list
from builds.reports.wording import date_words
from builds.views import house_rows
from shop.codes import ScanKind, parse_scan
from shop.drawing import Drawing
from shop.errors import Refusal
from shop.http import Asked, csv_answer, csv_asked, methods, stamp_of, unless_unchanged

MOST_AXLES = 200


@dataclass(frozen=True)
class Shown:
    """Every axle in the house; those at the station asked for; those of them that are listed."""

    every: list[FloorRow]
    here: list[FloorRow]
    shown: list[FloorRow]


#: What a count counts is what its list shows: both ask the same question of a row.
_STATED: dict[str, Callable[[FloorRow], bool]] = {
    "stopped": lambda row: row.state == "stopped",
    "late": lambda row: row.late,
}
_COUNTED = (("", "in the house"), ("stopped", "stopped"), ("late", "past their promise"))


def _count(request: Asked, here: list[FloorRow], word: str, words: str) -> house_rows.Count:
    station = request.GET.get("station", "")
    query = urlencode({key: one for key, one in (("station", station), ("only", word)) if one})
    count = sum(1 for row in here if _STATED[word](row)) if word else len(here)
    return house_rows.Count(count, words, f"{request.path}?{query}" if query else request.path, alarm=bool(word))


@methods("GET")
def floor(request: Asked) -> HttpResponse:
    """Stopped ones first with the cause, then the oldest; how work flowed in the last weeks."""
    now = timezone.now()
    rows = floor_rows(now)
    station = request.GET.get("station", "")
    here = [row for row in rows if not station or row.station == station]
    only = request.GET.get("only", "")
    shown = [row for row in here if only in _STATED and _STATED[only](row)] if only else here
    if csv_asked(request):
        return csv_answer(floor_list(shown))
    stamp = stamp_of(station, only, *((row.axle.pk, row.state, row.at, row.why, row.late, row.done) for row in shown))
    return unless_unchanged(request, stamp, lambda: _draw(request, Shown(rows, here, shown), stamp))


def _draw(request: Asked, found: Shown, stamp: str) -> HttpResponse:
    now = timezone.now()
    flowed, right = flow(now), first_time_right(now)
    counts = [_count(request, found.here, word, words) for word, words in _COUNTED]
    context = {
        "rows": found.shown,
        "drawn": house_rows.floor_rows(found.shown),
        "station": flowed.names.get(request.GET.get("station", ""), ""),
        "only": request.GET.get("only", ""),
        "narrowed": urlencode({key: request.GET[key] for key in ("station", "only") if request.GET.get(key)}),
        "loads": house_rows.load_rows(station_loads(found.every, flowed.names)),
        "counts": counts,
        "counted": house_rows.counts(counts),
        "weeks": flowed.weeks,
        "chart": _chart(flowed.weeks),
        "times": flowed.stations,
        "minutes": house_rows.time_rows(flowed.stations),
        "right": right,
        "shares": house_rows.right_rows(sorted((row for row in right if row.right < row.count), key=_worst_first)),
        "at_once": house_rows.right_rows(row for row in right if row.right == row.count),
        "stamp": stamp,
        "now": now,
    }
    return render(request, "builds/_floor_live.html" if request.htmx else "builds/floor.html", context)


def _worst_first(row: Right) -> tuple[float, int]:
    return row.right / row.count, row.number


@lru_cache(maxsize=16)
def _chart(weeks: tuple[tuple[date, int], ...]) -> Drawing:
    """Kept: it changes when an operation is done, and is asked for every few seconds."""
    return bars(
        [Bar(date_words(week), count, str(count)) for week, count in weeks],
        title="Operations done by week",
        key="weeks",
    )


def _looked_for(typed: str) -> str:
    """What is typed as it stands; of a plate's label the serial."""
    try:
        scan = parse_scan(typed)
    except Refusal:
        return typed
    return scan.mark if scan is not None and scan.kind is ScanKind.AXLE else typed


@methods("GET")
def axles(request: Asked) -> HttpResponse:
    """Every axle, the newest first; a search by serial, order or customer opens the file of the only one found."""
    wanted = _looked_for(request.GET.get("q", "").strip()[:60])
    found = Axle.objects.select_related("item", "line__order__customer", "revision__model").defer("revision__text")
    if wanted:
        found = (
            found.filter(item__mark__icontains=wanted)
            | found.filter(line__order__number__icontains=wanted)
            | found.filter(line__order__customer__name__icontains=wanted)
        )
    rows = list(found.order_by("-booked_at", "-item__mark")[:MOST_AXLES])
    if csv_asked(request):
        return csv_answer(axle_list(rows))
    if wanted and len(rows) == 1:
        return redirect("axle", rows[0].serial)
    return render(request, "builds/axles.html", {"rows": rows, "wanted": wanted, "most": MOST_AXLES})
