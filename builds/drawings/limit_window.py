"""Where a reading lies between its limits, or how far outside: a strip to stand under a verdict."""

from __future__ import annotations

from shop import drawing
from shop.drawing import Drawing, Frame, circle, element, line, number, words

LEFT, RIGHT, WIDE, BASE = 70.0, 230.0, 300.0, 26.0


def _place(value: float, low: float | None, high: float | None) -> float:
    """Across the strip; with one limit only, the rest is squeezed towards the edge."""
    if low is not None and high is not None and high > low:
        wanted = LEFT + (value - low) / (high - low) * (RIGHT - LEFT)
        return min(max(wanted, 12.0), WIDE - 12.0)
    limit = low if low is not None else high
    at = LEFT if low is not None else RIGHT
    if limit is None or value == limit:
        return at if limit is not None else (LEFT + RIGHT) / 2
    reach = abs(value - limit) / (abs(value - limit) + (abs(limit) or 1.0))
    room = (WIDE - 12 - at if value > limit else at - 12) * min(1.0, 2 * reach)
    return at + room if value > limit else at - room


def limit_window(
    value: float,
    shown: str,
    *,
    low: tuple[float, str] | None,
    high: tuple[float, str] | None,
    verdict: str,
    key: str,
) -> Drawing:
    """low and high are (value, as shown), or None when that side has no limit. `key` is an id."""
    left, right = LEFT if low else 6.0, RIGHT if high else WIDE - 6
    body = element("rect", x=left, y=BASE - 9, width=right - left, height=18, kind="d-window", fill=drawing.DONE)
    body += line(6, BASE, WIDE - 6, BASE, kind="d-thin", stroke=drawing.FAINT, stroke_width=1)
    for at, limit in ((LEFT, low), (RIGHT, high)):
        if limit:
            body += line(at, BASE - 14, at, BASE + 14, stroke_width=2.6)
            body += words(at, BASE + 32, limit[1], 15, anchor="middle")
    x = _place(value, low[0] if low else None, high[0] if high else None)
    if verdict == "in":
        body += circle(x, BASE, 7, kind="d-ink", fill=drawing.INK, stroke="none")
    else:
        d = f"M{number(x - 8)},{number(BASE - 8)} l16,16 m0,-16 l-16,16"
        body += element("path", d=d, kind="d-stopline", fill="none", stroke=drawing.STOP, stroke_width=4.4)
    sides = [f"low limit {low[1]}" if low else "", f"high limit {high[1]}" if high else ""]
    said = ", ".join([shown, "in" if verdict == "in" else "out", *filter(None, sides)])
    return Frame(key, 0, 4, WIDE, 60, "Where the reading lies", said).holding(body)
