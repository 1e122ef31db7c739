"""The parts of the station page that are drawn anew at every entry, put together here: a template loop over what an
operation asks for costs several times what its rows are worth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape
from typing import Any

from django import template
from django.utils.safestring import SafeString, mark_safe

from shop.templatetags.shop_look import state_mark, verdict_word

register = template.Library()
Row = Mapping[str, Any]
DASH = "–"


@register.simple_tag
def feature_keys(features: Iterable[Row]) -> SafeString:
    """What an operation asks for, each with its state or verdict and the way to it. url, code, name, state, verdict,
    count, current."""
    return mark_safe("".join(map(_feature, features)))


def _feature(row: Row) -> str:
    count = f'<span class="count">{escape(row["count"])}</span>' if row.get("count") else ""
    state = (verdict_word(row["verdict"]) if row.get("verdict") else state_mark(row["state"])) + count
    here = ' aria-current="step"' if row.get("current") else ""
    named = escape(f"{row['code']} {row['name']}")
    return f'<a class="feature" href="{escape(row["url"])}"{here}><span>{named}</span>{state}</a>'


@register.simple_tag
def place_rows(places: Iterable[Row]) -> SafeString:
    """The readings by position: name, url, shown, other, verdict, word, who, attempt, late, turn, superseded,
    stopped."""
    return mark_safe("".join(map(_place, places)))


def _place(row: Row) -> str:
    name, is_next = escape(row["name"]), row.get("turn") == "next"
    if row.get("url"):
        name = f'<a href="{escape(row["url"])}">{name}</a>'
    if row.get("attempt", 1) > 1:
        name += f' <span class="soft">try {row["attempt"]}</span>'
    shown = escape(row.get("shown") or DASH)
    if row.get("other"):
        shown += f' <span class="other-unit">({escape(row["other"])})</span>'
    if is_next:
        told = "next"
    elif row.get("verdict"):
        told = verdict_word(row["verdict"], row.get("word") or "")
    else:
        told = f'<span class="soft">{"recorded" if row.get("shown") else "not yet"}</span>'
    who = escape(row.get("who") or "")
    if row.get("late"):
        who += ' <span class="soft">entered late</span>'
    kind = "is-next" if is_next else _kind(row)
    head = f'<tr class="{kind}">' if kind else "<tr>"
    return f'{head}<th scope="row">{name}</th><td class="n">{shown}</td><td>{told}</td><td>{who}</td></tr>'


def _kind(row: Row) -> str:
    return "is-superseded" if row.get("superseded") else "is-stopped" if row.get("stopped") else ""


@register.simple_tag
def hidden_fields(fields: Iterable[Row]) -> SafeString:
    """What the form of an entry carries beside what is typed: name and value of each."""
    return mark_safe(
        "".join(
            f'<input type="hidden" name="{escape(field["name"])}" value="{escape(str(field["value"]))}">'
            for field in fields
        )
    )


@register.simple_tag
def how_far(progress: str, missing: Iterable[str] = ()) -> SafeString:
    """How much is entered and what comes next, as `builds.reports.how_far` says it; and what is still missing."""
    lines = " · ".join(missing or ())
    return mark_safe(f"<b>{escape(progress)}</b>" + (f"<span>{escape(lines)}</span>" if lines else ""))
