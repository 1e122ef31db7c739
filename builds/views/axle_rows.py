"""The long lists of an axle file, put together here for the same reason as its readings: operations, parts, signatures
and the time line have some hundred rows, and a template takes longer over them than the database over the whole file.
Every value of the record is escaped."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from html import escape
from typing import Any
from urllib.parse import quote

from django.utils.safestring import SafeString, mark_safe

from builds.models import Axle
from builds.progress import SlotState, SlotView
from builds.reports.axle_parts import FittedRow
from builds.views.house_rows import address
from shop.templatetags.shop_look import clock, sentence, spaced, state_mark

Row = Mapping[str, Any]


def operation_rows(
    axle: Axle, views: Iterable[SlotView], shorter: Collection[int], signed: Mapping[int, Iterable[Row]]
) -> SafeString:
    """`shorter`: the operations whose wait an engineer may shorten. `signed`: the signatures by their pass."""
    return mark_safe("\n".join(_operation(axle, view, shorter, signed) for view in views))


def _operation(axle: Axle, view: SlotView, shorter: Collection[int], signed: Mapping[int, Iterable[Row]]) -> str:
    url, named = _at(axle, view)
    given = signed.get(view.visit.pk, ()) if view.visit is not None and view.state in _SIGNED else ()
    told = "<br>".join(map(_signed, given))
    why = escape(view.why) + ("" if axle.closed_at else _ask(view, shorter))
    return (
        f'<tr><th scope="row" data-label="Operation"><a href="{url}">{named}</a></th>'
        f'<td data-label="State">{state_mark(view.state)}</td>'
        f'<td data-label="Signed">{told}</td><td data-label="Why">{why}</td></tr>'
    )


def _signed(row: Row) -> str:
    """Who signed and when; what kind of signature it is where it is not the doer's own."""
    kind = "" if row["as"] == "doer" else f", {escape(spaced(row['as']))}"
    return f"{escape(row['who'])}{kind}, {clock(row['at'])}"


#: Where the signatures of the newest pass stand for what is there: done again, they are those of the pass before.
_SIGNED = (SlotState.DONE, SlotState.WAIT_SIGN)


#: What somebody who opens the file looks for first, in this order.
_NOW = (
    SlotState.STOPPED, SlotState.IN_HAND, SlotState.SET_DOWN, SlotState.WAIT_SIGN, SlotState.WAIT_TIME,
    SlotState.REDO, SlotState.READY,
)  # fmt: skip


def now_rows(axle: Axle, views: Iterable[SlotView], most: int = 6) -> SafeString:
    """Where it stands: what is stopped, in hand, waits or is ready, `most` of them; empty when nothing is to do."""
    found = sorted((view for view in views if view.state in _NOW), key=lambda view: _NOW.index(view.state))
    more = f'<li><a href="#ops">and {len(found) - most} more</a></li>' if len(found) > most else ""
    return mark_safe("".join(_now(axle, view) for view in found[:most]) + more)


def _now(axle: Axle, view: SlotView) -> str:
    url, named = _at(axle, view)
    why = escape(view.why)
    if view.tag is not None:
        why = f'<a href="{address("red_tag", view.tag.number)}">{why}</a>'
    return f'<li>{state_mark(view.state)} <a href="{url}">{named}</a> <span class="soft">{why}</span></li>'


def _at(axle: Axle, view: SlotView) -> tuple[str, str]:
    url = address("station", axle.serial, view.slot.operation.number, view.slot.side or "-")
    return url, escape(view.slot.named)


def _ask(view: SlotView, shorter: Collection[int]) -> str:
    key = quote(view.slot.key, safe="")
    if view.state == "waiting for time" and view.slot.operation.number in shorter:
        return f' <a href="?shorten={key}">Shorten this wait</a>'
    return f' <a href="?back={key}">Send it back</a>' if view.state == "waiting for sign" else ""


def part_rows(axle: Axle, rows: Iterable[FittedRow]) -> SafeString:
    """What is in it: role, mark, host, where and by whom it was fitted."""
    return mark_safe("\n".join(_part(axle, row) for row in rows))


def _part(axle: Axle, row: FittedRow) -> str:
    host = escape(row.host_mark)
    inside = host if row.host == axle.pk else f'<a href="{address("item", row.host)}">{host}</a>'
    out = "" if axle.scrapped_at else f'<a class="on-screen" href="?out={row.pk}">Take it out</a>'
    return (
        f'<tr><th scope="row">{escape(spaced(row.role))}</th><td class="serial">'
        f'<a href="{address("item", row.part)}">{escape(row.mark)}</a> {escape(row.maker)}</td>'
        f"<td>{inside}</td><td>{'' if row.operation is None else f'{row.operation}, '}{escape(row.who)}, "
        f"{clock(row.at)}</td><td>{out}</td></tr>"
    )


def former_rows(rows: Iterable[FittedRow]) -> SafeString:
    """What came out: when, why, where it went and where it is now."""
    return mark_safe("".join(_former(row) for row in rows))


def _former(row: FittedRow) -> str:
    mark = f'<a class="serial" href="{address("item", row.part)}">{escape(row.mark)}</a>'
    return (
        f"<li>{escape(spaced(row.role))} {mark}, {clock(row.at)} to {clock(row.out_at)}: "
        f"{escape(sentence(row.out_reason))} It went {row.went}; now {row.is_now or 'not placed'}.</li>"
    )


def weld_rows(rows: Iterable[Row]) -> SafeString:
    return mark_safe("".join(_weld(row) for row in rows))


def _weld(row: Row) -> str:
    said = f"{row['joint']} on {row['mark']}: {row['procedure']}, {row['welder']}, wire {row['wire'] or '–'}, "
    late, repair = ", entered late" if row["late"] else "", ", a repair" if row["repair"] else ""
    return f"<li>{escape(said)}{clock(row['at'])}{late}{repair}</li>"


def photo_rows(rows: Iterable[Row]) -> SafeString:
    """As `_photos.html` shows them, each with its operation."""
    return mark_safe("".join(_photo(row) for row in rows))


def _photo(row: Row) -> str:
    at = row["visit"]["operation"]
    said = escape(f"{at['number']} {at['name']}: {row['name']}")
    return (
        f'<li><a href="{address("photo", row["pk"])}"><img src="{address("photo_small", row["pk"])}" width="160"'
        f' height="120" loading="lazy" decoding="async" alt=""><span>{said}</span></a>'
        f'<span class="soft small">{escape(row["person"]["short_name"])}, {clock(row["at"])}</span></li>'
    )


def signature_rows(rows: Iterable[Row]) -> SafeString:
    return mark_safe("".join(_signature(row) for row in rows))


def _signature(row: Row) -> str:
    again = f", pass {row['pass']}" if row["pass"] > 1 else ""
    said = f"{row['operation']}{again}: {row['who']} {row['meaning']} ({row['as']}), "
    without = f". Signed without these ticks: {' '.join(row['without'])}" if row["without"] else ""
    return f"<li>{escape(said)}{clock(row['at'])}{escape(without)}</li>"


def event_rows(rows: Iterable[Row]) -> SafeString:
    """The time line."""
    return mark_safe("".join(_event(row) for row in rows))


def _event(row: Row) -> str:
    at = f" at {row['terminal']}" if row["terminal"] else ""
    said = f"{row['at']} {row['what']}, {row['who']}{at}"
    return f'<li value="{row["sequence"]}">{escape(said)}</li>'
