"""The rows of the waiting list and of the floor, put together here: both are asked for every few seconds by every
terminal, and a template loop costs several times what the row is worth."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from html import escape

from django.template.defaultfilters import floatformat
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from builds.reports.floor import FloorRow, StationLoad
from builds.reports.flow import Right, StationTime
from builds.reports.waiting import Waiting
from builds.reports.wording import date_words
from shop.templatetags.shop_look import serial, state_mark, time_ago

#: The address of a page, escaped: the same few stand on every drawing of a list.
address = lru_cache(maxsize=8192)(lambda name, *args: escape(reverse(name, args=args)))


@lru_cache(maxsize=4096)
def _minutes(value: float) -> str:
    return floatformat(value, 0)


@lru_cache(maxsize=512)
def _day(day: date) -> str:
    return date_words(day)


def can_start_rows(rows: Iterable[Waiting]) -> SafeString:
    """What can be taken up: axle, operation, state with its reason, promised."""
    return mark_safe("\n".join(_can_start(row) for row in rows))


def _can_start(row: Waiting) -> str:
    why = f' <span class="soft">{escape(row.why)}</span>' if row.why else ""
    rush = " <b>rush</b>" if row.rush else ""
    return (
        f'<tr><th scope="row"><a class="key" href="{_here(row)}">{serial(row.bench.serial)}</a></th>'
        f'<td data-label="Operation"><span>{_operation(row, strong=True)}{rush}</span></td>'
        f'<td data-label="State"><span>{state_mark(row.view.state)}{why}</span></td>'
        f'<td data-label="Promised" class="nowrap">{_promise(row)}</td></tr>'
    )


def not_yet_rows(rows: Iterable[Waiting]) -> SafeString:
    """What cannot: axle, operation, state, what it waits for, promised."""
    return mark_safe("\n".join(_not_yet(row) for row in rows))


def _not_yet(row: Waiting) -> str:
    return (
        f'<tr><th scope="row"><a href="{_here(row)}">{serial(row.bench.serial)}</a></th>'
        f'<td data-label="Operation"><span>{_operation(row)}</span></td>'
        f'<td data-label="State">{state_mark(row.view.state)}</td><td data-label="Waits for">{escape(row.why)}</td>'
        f'<td data-label="Promised" class="nowrap">{_promise(row)}</td></tr>'
    )


def _here(row: Waiting) -> str:
    if row.bench.as_axle is None:
        return address("unit_station", row.bench.serial, row.view.slot.operation.number)
    return address("station", row.bench.serial, row.view.slot.operation.number, row.side)


def _promise(row: Waiting) -> str:
    return "for stock" if row.promised is None else _day(row.promised)


def _operation(row: Waiting, *, strong: bool = False) -> str:
    slot = row.view.slot
    said = escape(slot.named)
    if not strong or not slot.side or not said.endswith(slot.side):
        return said
    return f"{said.removesuffix(slot.side)}<b>{slot.side}</b>"


@dataclass(frozen=True)
class Count:
    """A count that is a link to its list. `alarm`: a count of more than none is drawn in rust."""

    count: int
    words: str
    url: str
    alarm: bool = False


def counts(some: Iterable[Count]) -> SafeString:
    """The same as components/count_link.html, each in a list item."""
    return mark_safe("".join(map(_count, some)))


def _count(one: Count) -> str:
    look = "count-link is-stopped" if one.alarm and one.count else "count-link"
    return (
        f'<li><a class="{look}" href="{escape(one.url)}"><b>{one.count}</b>'
        f' <span class="words">{escape(one.words)}</span></a></li>'
    )


def floor_rows(rows: Iterable[FloorRow]) -> SafeString:
    """Every axle listed, in the order given."""
    return mark_safe("\n".join(_on_floor(row) for row in rows))


def _on_floor(row: FloorRow) -> str:
    head = '<tr class="is-stopped">' if row.state == "stopped" else "<tr>"
    return (
        f'{head}<th scope="row" data-label="Axle"><a href="{address("axle", row.axle.serial)}">'
        f'{serial(row.axle.serial)}</a></th><td data-label="State">{state_mark(row.state)}</td>'
        f'<td data-label="At operation"><span>{escape(row.at)}'
        f' <span class="soft nowrap">{row.done} of {row.of} done</span></span></td>'
        f'<td data-label="Why">{escape(row.why)}</td>'
        f'<td data-label="Since" class="nowrap">{time_ago(row.since)}</td>'
        f'<td data-label="Customer">{escape(row.customer)}</td>'
        f'<td data-label="Promised" class="nowrap">{_day(row.promised)}{" <b>late</b>" if row.late else ""}</td></tr>'
    )


def load_rows(loads: Iterable[StationLoad]) -> SafeString:
    """Of every station how many axles stand there, how many of them stopped, and the oldest."""
    return mark_safe("".join(_load(load) for load in loads))


def _load(load: StationLoad) -> str:
    here = f"{address('floor')}?station={escape(load.code)}"
    count = f'<a href="{here}">{load.count}</a>' if load.count else "0"
    stopped = f'<a href="{here}&amp;only=stopped">{load.stopped}</a>' if load.stopped else "0"
    return (
        f'<tr><th scope="row"><a href="{address("waiting", load.code)}">{escape(load.name)}</a></th>'
        f'<td class="n">{count}</td><td class="n">{stopped}</td>'
        f"<td>{time_ago(load.oldest) if load.oldest else ''}</td></tr>"
    )


def time_rows(times: Iterable[StationTime]) -> SafeString:
    """Minutes at every station: done, touch and elapsed, each with its median and 85 %."""
    return mark_safe("".join(_times(row) for row in times))


def _times(row: StationTime) -> str:
    minutes = "".join(f'<td class="n">{_minutes(value)}</td>' for value in (*row.touch, *row.elapsed))
    return f'<tr><th scope="row">{escape(row.name)}</th><td class="n">{row.count}</td>{minutes}</tr>'


def right_rows(rows: Iterable[Right]) -> SafeString:
    """Of every operation how many first passes, and the share that was right at once."""
    return mark_safe(
        "".join(
            f'<tr><th scope="row">{escape(f"{row.number} {row.name}")}</th><td class="n">{row.count}</td>'
            f'<td class="n">{row.share} %</td></tr>'
            for row in rows
        )
    )
