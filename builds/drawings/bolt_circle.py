"""A bolt circle: each reading at its place, the next place standing out, a missing one unmistakable."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, hypot, pi, sin

from shop import drawing
from shop.drawing import HERE, STOP, Drawing, Frame, circle, element, number, words

OUT = ("low", "high", "out", "stopped")


@dataclass(frozen=True)
class Place:
    """One position: its name on the card, what was read there (as shown) and the verdict.

    verdict: in, low, high, out; missing (asked for and not there); empty (not yet).
    turn: next (enter this one now), then (the one after it), or empty.
    """

    name: str
    shown: str = ""
    verdict: str = ""
    turn: str = ""

    @property
    def said(self) -> str:
        """The place in words."""
        if self.turn == "next":
            return f"{self.name}: next"
        if self.verdict == "missing":
            return f"{self.name}: no reading"
        if not self.shown:
            return f"{self.name}: not yet"
        return f"{self.name}: {self.shown}, {'in' if self.verdict == 'in' else 'out'}"


RADIUS, DISC = 168.0, 31.0


def _spot(index: int, count: int, radius: float) -> tuple[float, float]:
    """Clockwise from the top."""
    turn = 2 * pi * index / count
    return radius * sin(turn), -radius * cos(turn)


def _size(count: int) -> float:
    """Discs shrink when many share the circle, never below what can be read."""
    return min(DISC, max(15.0, 0.86 * pi * RADIUS / max(count, 1)))


def _disc(place: Place, x: float, y: float, size: float, key: str) -> str:
    if place.turn == "next":
        body = circle(x, y, size + 4, kind="d-here", fill=HERE, stroke=HERE, stroke_width=2)
        body += circle(x, y, size + 10, kind="d-hereline", stroke=HERE, stroke_width=2)
        look = drawing.ON_HERE
        return body + words(x, y + size * 0.32, place.name, size * 0.92, anchor="middle", heavy=True, **look)
    if place.verdict == "missing":
        body = circle(x, y, size, **_wide(drawing.painted("stopped", key)))
        body += element("rect", x=x - size * 0.42, y=y - size * 0.42, width=size * 0.84, height=size * 0.84,
                        kind="d-sheet", fill=drawing.SHEET)  # fmt: skip
        return body + words(x, y + size * 0.26, "?", size * 0.8, anchor="middle", heavy=True, **drawing.RUST)
    if not place.shown:
        look = {"kind": "d-hereline", "stroke": HERE} if place.turn == "then" else {"kind": "d-wait"}
        dashed = {"stroke": drawing.FAINT, "stroke_width": 2, "stroke_dasharray": "6 4", **look}
        ink = drawing.QUIET
        body = circle(x, y, size, **dashed)
        return body + words(x, y + size * 0.24, place.name, size * 0.66, anchor="middle", **ink)
    if place.verdict in OUT:
        half = size * 0.92  # a square among discs is told without any hue
        body = element("rect", x=x - half, y=y - half, width=2 * half, height=2 * half,
                       kind="d-stopfill", fill=drawing.STOP_TINT, stroke=STOP, stroke_width=4)  # fmt: skip
        return body + _value(place, x, y, size, drawing.RUST)
    return circle(x, y, size, **_wide(drawing.painted("done", key))) + _value(place, x, y, size, {})


def _wide(look: dict[str, object]) -> dict[str, object]:
    return {**look, "stroke_width": 2.8}


def _value(place: Place, x: float, y: float, size: float, ink: dict[str, object]) -> str:
    """The reading, as large as its length allows."""
    letter = min(size * 0.68, size * 2.9 / max(len(place.shown), 1))
    return words(x, y + letter * 0.36, place.shown, letter, anchor="middle", heavy=True, **ink)


def _name_outside(place: Place, index: int, count: int, size: float) -> str:
    """The position's own number, outside the circle, once a reading has taken its place."""
    if not place.shown or place.turn == "next":
        return ""
    x, y = _spot(index, count, RADIUS + size + 15)
    if place.verdict in OUT:
        return words(x, y + 6, f"{place.name} ×", 19, anchor="middle", kind="d-rust", fill=STOP, heavy=True)
    return words(x, y + 5, place.name, 15, anchor="middle", **drawing.QUIET)


def _way(places: Sequence[Place], size: float) -> str:
    """An arrow from the next place to the one after it."""
    turns = {place.turn: index for index, place in enumerate(places) if place.turn}
    if "next" not in turns or "then" not in turns:
        return ""
    (x1, y1), (x2, y2) = (_spot(turns[name], len(places), RADIUS) for name in ("next", "then"))
    length = hypot(x2 - x1, y2 - y1) or 1
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    gap = size + 6
    ex, ey = x2 - ux * gap, y2 - uy * gap
    sx, sy = x1 + ux * (gap + 8), y1 + uy * (gap + 8)
    start = f"M{number(sx)},{number(sy)} L{number(ex - ux * 12)},{number(ey - uy * 12)}"
    head = (f"M{number(ex)},{number(ey)} L{number(ex - ux * 17 - uy * 6)},{number(ey - uy * 17 + ux * 6)} "
            f"L{number(ex - ux * 17 + uy * 6)},{number(ey - uy * 17 - ux * 6)} Z")  # fmt: skip
    shaft = element("path", d=start, kind="d-hereline", fill="none", stroke=HERE, stroke_width=2.4)
    return shaft + element("path", d=head, kind="d-here", fill=HERE, stroke=HERE)


def _middle(centre: str, under: str) -> str:
    if not centre:
        return ""
    wide = max(len(centre) * 17, len(under) * 10) + 28
    box = element("rect", x=-wide / 2, y=-40, width=wide, height=80, kind="d-sheet", fill=drawing.SHEET)
    below = words(0, 27, under, 18, anchor="middle", **drawing.QUIET) if under else ""
    return box + words(0, 4 if under else 10, centre, 30, anchor="middle", heavy=True) + below


def bolt_circle(
    places: Sequence[Place], *, title: str, key: str = "bolts", centre: str = "", under: str = ""
) -> Drawing:
    """The circle with n places, first at the top and on clockwise. `key` is an id, once per page."""
    size, count = _size(len(places)), len(places)
    edge = RADIUS + DISC + 36
    body = circle(0, 0, RADIUS + size + 4 if count > 1 else RADIUS, kind="d-rule", stroke=drawing.RULE, stroke_width=1)
    body += circle(0, 0, RADIUS - size - 12, stroke_width=1.4)
    body += circle(0, 0, RADIUS, kind="d-thin", stroke=drawing.FAINT, stroke_width=1, stroke_dasharray="18 4 4 4")
    body += _way(places, size)
    for index, place in enumerate(places):
        x, y = _spot(index, count, RADIUS)
        back = circle(x, y, size, kind="d-sheet", fill=drawing.SHEET, stroke="none")
        inside = drawing.told(place.said) + back + _disc(place, x, y, size, key)
        body += element("g", inside, kind="place") + _name_outside(place, index, count, size)
    said = "; ".join(place.said for place in places)
    frame = Frame(key, -edge, -edge, 2 * edge, 2 * edge, title, said)
    return frame.holding(body + _middle(centre, under), hatched=any(p.verdict == "missing" for p in places))
