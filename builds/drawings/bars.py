"""Bars with their figures: what stops most (largest first, with running share), or how old waits are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shop import drawing
from shop.drawing import Drawing, Frame, element, line, words

WIDE, NAME, FIGURES, ROW = 760.0, 230.0, 130.0, 34.0


@dataclass(frozen=True)
class Bar:
    """One bar: its name, its length, the figure as shown, a state word for its line, a link to its list."""

    name: str
    value: float
    shown: str
    state: str = "done"
    url: str = ""


def _bar(bar: Bar, index: int, most: float, key: str) -> str:
    y = 10 + index * ROW
    length = max(2.0, (WIDE - NAME - FIGURES) * bar.value / most) if bar.value else 0.0
    look = drawing.painted(drawing.line_of(bar.state), key)
    body = words(NAME - 12, y + 19, bar.name, 15, anchor="end")
    if length:
        body += element("rect", x=NAME, y=y + 3, width=length, height=ROW - 12, **{**look, "stroke_width": 1.8})
    body += words(NAME + length + 10, y + 19, bar.shown, 15, heavy=True)
    if bar.url:
        return element("a", body, href=bar.url, aria_label=f"{bar.name}: {bar.shown}")
    return element("g", body)


def bars(items: Sequence[Bar], *, title: str, key: str = "bars", piled: bool = False) -> Drawing:
    """Bars from the top in the order given. `piled` writes the running share at the right edge."""
    most = max((bar.value for bar in items), default=0.0) or 1.0
    whole = sum(bar.value for bar in items) or 1.0
    high = 16 + ROW * max(1, len(items))
    body = line(NAME, 6, NAME, high - 6, stroke_width=1.6)
    running = 0.0
    for index, bar in enumerate(items):
        body += _bar(bar, index, most, key)
        running += bar.value
        if piled:
            share = f"{100 * running / whole:.0f} %"
            ink = drawing.QUIET
            body += words(WIDE - 6, 29 + index * ROW, share, 14, anchor="end", **ink)
    if not items:
        body += words(NAME + 12, 29, "nothing to show", 15, **drawing.QUIET)
    said = "; ".join(f"{bar.name}: {bar.shown}" for bar in items)
    hatched = any(drawing.line_of(bar.state) == "stopped" for bar in items)
    frame = Frame(key, 0, 0, WIDE, high, title, said, any(bar.url for bar in items))
    return frame.holding(body, hatched=hatched)
