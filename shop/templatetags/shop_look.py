"""What templates need to speak our look: marks, verdicts, figures with both units, times told in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any

from django import template
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop import drawing

register = template.Library()

THEMES = ("light", "dark")
_VERDICT_WORDS = {"in": "In", "low": "Out, low", "high": "Out, high", "out": "Out", "missing": "No reading"}


def _theme(context: Mapping[str, Any]) -> str:
    request = context.get("request")
    chosen = request.COOKIES.get("theme", "") if request is not None else ""
    return chosen if chosen in THEMES else ""


@register.simple_tag(takes_context=True)
def theme_attribute(context: Mapping[str, Any]) -> SafeString:
    """The attribute of <html> for a chosen theme; empty when the device decides."""
    chosen = context.get("force_theme") or _theme(context)
    return format_html(' data-theme="{}"', chosen) if chosen in THEMES else SafeString("")


@register.simple_tag(takes_context=True)
def theme_now(context: Mapping[str, Any]) -> str:
    """light, dark, or empty for as the device."""
    return _theme(context)


@register.simple_tag
def house_mark() -> drawing.Drawing:
    """The sign of the book."""
    return drawing.house_mark()


@register.simple_tag
def house_axle() -> drawing.Drawing:
    """The axle that greets at a terminal."""
    return drawing.house_axle()


@register.simple_tag
@lru_cache(maxsize=256)
def state_mark(word: str) -> SafeString:
    """A state: its line and always its word."""
    extra = " state-stopped" if drawing.line_of(word) == "stopped" else ""
    return format_html('<span class="state{}">{}<span>{}</span></span>', extra, drawing.mark(word), word)


@register.simple_tag
def verdict_mark(kind: str) -> drawing.Drawing:
    """The symbol of a verdict; its word stands beside it in the template."""
    return drawing.verdict_mark(kind)


@register.simple_tag
@lru_cache(maxsize=256)
def verdict_word(kind: str, text: str = "") -> SafeString:
    """A verdict in a table cell: symbol and word."""
    shown = text or _VERDICT_WORDS.get(kind, kind)
    extra = " state-stopped" if kind in ("low", "high", "out", "stopped") else ""
    return format_html('<span class="state{}">{}<span>{}</span></span>', extra, drawing.verdict_mark(kind), shown)


@register.filter
def figure(value: Decimal | None, decimals: int | str = "") -> str:
    """A figure as drawings write it: so many decimals, or as many as it has; no grouping, a real minus; a dash for no
    value. A stored value carries nine decimals, most of them noughts that nobody read."""
    if value is None:
        return "–"
    shown = f"{value:.{int(decimals)}f}" if decimals != "" else f"{value.normalize():f}"
    return shown.replace("-", "\N{MINUS SIGN}")


@register.filter
def serial(value: object) -> SafeString:
    """A serial or mark: never broken over two lines."""
    return format_html('<span class="serial">{}</span>', value)


@register.simple_tag(name="serial")
def serial_tag(value: object) -> SafeString:
    """The same as the filter, where a tag reads better."""
    return serial(value)


def _span(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    days, day_hours = divmod(hours, 24)
    if minutes < 1:
        return "just now"
    if hours < 1:
        return f"{minutes} min"
    if days < 2:
        return f"{hours} h {rest:02d}"
    return f"{days} d {day_hours} h" if days < 14 else f"{days} d"


@register.filter
def time_ago(moment: datetime | None, now: datetime | None = None) -> SafeString:
    """How long since, in a <time> element that carries the exact moment."""
    if moment is None:
        return SafeString("–")
    minutes = int(((now or timezone.now()) - moment).total_seconds() // 60)
    exact = timezone.localtime(moment)
    # Digits and our own words: there is nothing in them to escape.
    return SafeString(f'<time datetime="{moment.isoformat()}" title="{exact:%Y-%m-%d %H:%M}">{_span(minutes)}</time>')


@register.simple_tag(name="time_ago")
def time_ago_tag(moment: datetime | None, now: datetime | None = None) -> SafeString:
    """The same as the filter, where a tag reads better."""
    return time_ago(moment, now)


@register.filter
def clock(moment: datetime | None) -> SafeString:
    """Date and time of the shop's zone, to the minute."""
    if moment is None:
        return SafeString("–")
    here = timezone.localtime(moment)
    # As `%Y-%m-%d %H:%M`, and sooner: the file of an axle shows some hundred moments.
    return SafeString(f'<time datetime="{moment.isoformat()}">{here.date()} {here.hour:02d}:{here.minute:02d}</time>')


@register.filter
def spaced(code: object) -> str:
    """A code of a build card as words: "ring_gear" reads "ring gear"."""
    return str(code).replace("_", " ")


@register.filter
def sentence(words: object) -> str:
    """Words that somebody typed, as a sentence among others: with one full stop, whether they typed one or not."""
    said = str(words).strip()
    return said if said.endswith((".", "!", "?")) or not said else f"{said}."


@register.filter
def at(items: Sequence[Any] | None, index: int) -> Any:
    """items[index], or empty text past the end."""
    return items[index] if items and 0 <= index < len(items) else ""


@register.filter
def key(item: Any, name: str) -> Any:
    """A named part of a mapping or an object, or empty text."""
    if isinstance(item, Mapping):
        return item.get(name, "")
    return getattr(item, name, "")


@register.filter
def is_mapping(item: object) -> bool:
    """True for a cell given with parts, false for plain text."""
    return isinstance(item, Mapping) or hasattr(item, "text")


@register.simple_tag
@lru_cache(maxsize=8)
def key_pad(*, minus: bool = False, whole: bool = False) -> SafeString:
    """Our own keypad for the figure field of the same form. `minus`: a sign key in place of the point; `whole`: no
    point, for a PIN. Keys carry data-key; without scripts the pad is not drawn and the keyboard does it."""
    middle = "<span></span>" if whole else _key("-", "±", "sign") if minus else _key(".", ".", "point")
    figures = "".join(_key(one, one) for one in "789456123")
    keys = f"{figures}{middle}{_key('0', '0')}{_key('back', _RUB, 'rub out the last digit')}"
    return SafeString(f'<div class="keys needs-script" role="group" aria-label="Keypad" data-keypad>{keys}</div>')


_RUB = (
    '<svg viewBox="0 0 34 22" aria-hidden="true" class="rub">'
    '<path d="M11 2H32V20H11L2 11ZM16 7L25 15M25 7L16 15"/></svg>'
)


def _key(sends: str, shown: str, label: str = "") -> str:
    named = f' aria-label="{label}"' if label else ""
    return f'<button type="button" data-key="{sends}" tabindex="-1"{named}>{shown}</button>'
