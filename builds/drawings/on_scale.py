"""A reading on a scale with what is needed and what is too much: a thermometer, or a plain window.

Inside, the reading is a dot; outside it is a cross on a broken line, and its words say so: no hue is needed.
"""

from __future__ import annotations

from dataclasses import dataclass

from shop import drawing
from shop.drawing import Drawing, Frame, circle, element, line, number, words

WIDE, TALL, LEFT, RIGHT, BASE, THICK = 520.0, 172.0, 74.0, 490.0, 84.0, 24.0
BULB = 22.0
LETTER = 10.4  # a letter's width at the size of the marks, at most
_ROOM = 0.22  # of the span, free at both ends


@dataclass(frozen=True)
class Mark:
    """A figure on the scale: its place, as shown, and what it is."""

    value: float
    shown: str
    says: str


@dataclass(frozen=True)
class Scale:
    """All in one unit. `low` and `high` bound what is right; `other` is one more figure to know."""

    title: str
    unit: str
    low: Mark | None = None
    high: Mark | None = None
    other: Mark | None = None
    value: Mark | None = None
    bulb: bool = False

    @property
    def marks(self) -> list[Mark]:
        return [one for one in (self.other, self.low, self.high, self.value) if one is not None]

    @property
    def inside(self) -> bool:
        if self.value is None:
            return True
        low_enough = self.high is None or self.value.value <= self.high.value
        return low_enough and (self.low is None or self.value.value >= self.low.value)

    def at(self, value: float) -> float:
        """Across the drawing; the figures keep room at both ends."""
        low, high = min(one.value for one in self.marks), max(one.value for one in self.marks)
        room = (high - low) * _ROOM or abs(high) * 0.2 or 1.0
        return LEFT + (value - low + room) / (high - low + 2 * room) * (RIGHT - LEFT)


def on_scale(scale: Scale, *, key: str) -> Drawing:
    """The scale with its marks below and the reading above; `key` is an id."""
    body = _right(scale) + _tube(scale)
    for mark, row, left in ((scale.low, 0, scale.other is None), (scale.high, 1, False), (scale.other, 1, True)):
        if mark is not None:
            body += _limit(scale, mark, row, left=left, wanted=mark is not scale.other)
    body += _value(scale)
    said = "; ".join(f"{one.says} {one.shown} {scale.unit}" for one in scale.marks)
    if not scale.inside:
        said += "; outside"
    return Frame(key, 0, 0, WIDE, TALL, scale.title, said).holding(body)


def _right(scale: Scale) -> str:
    """What is right, as a light field."""
    if scale.low is None and scale.high is None:
        return ""
    x1 = scale.at(scale.low.value) if scale.low is not None else LEFT
    x2 = scale.at(scale.high.value) if scale.high is not None else RIGHT
    return element("rect", x=x1, y=BASE - 34, width=x2 - x1, height=68, kind="d-window", fill=drawing.DONE)


def _tube(scale: Scale) -> str:
    if not scale.bulb:
        return line(LEFT, BASE, RIGHT, BASE, stroke_width=2.4)
    top, low = BASE - THICK / 2, BASE + THICK / 2
    look: dict[str, object] = {"kind": "d-line", "fill": "none", "stroke": drawing.INK, "stroke_width": 2.4}
    d = f"M{number(LEFT - 14)},{number(top)} H{number(RIGHT)} a12,12 0 0 1 0,{number(THICK)} H{number(LEFT - 14)}"
    body = element("path", d=d, **look)
    if scale.value is not None:
        full = scale.at(scale.value.value) - LEFT + 16
        body += element(
            "rect", x=LEFT - 16, y=top + 6, width=full, height=low - top - 12, kind="d-ink", fill=drawing.INK
        )
    return body + circle(LEFT - 32, BASE, BULB, kind="d-ink", fill=drawing.INK, stroke_width=2.4)


def _limit(scale: Scale, mark: Mark, row: int, *, left: bool, wanted: bool) -> str:
    """The words stand outside of what is right, as far as there is room."""
    x, foot = scale.at(mark.value), BASE + 42
    look: dict[str, object] = {} if wanted else {"stroke_dasharray": "5 4"}
    body = line(x, BASE - 34, x, foot + row * 22, stroke_width=3.2 if wanted else 1.8, **look)
    shown = f"{mark.says} {mark.shown} {scale.unit}"
    room = x if left else WIDE - x
    fits = room > 12 + LETTER * len(shown)
    anchor = "end" if left == fits else "start"
    beside = x - 6 if anchor == "end" else x + 6
    return body + words(beside, foot + 14 + row * 22, shown, 19, anchor=anchor, heavy=wanted)


def _value(scale: Scale) -> str:
    if scale.value is None:
        return words(WIDE / 2, 34, "not read yet", 20, anchor="middle", **drawing.QUIET)
    x = scale.at(scale.value.value)
    word = "" if scale.inside else ", outside"
    shown = f"{scale.value.says} {scale.value.shown} {scale.unit}{word}"
    ink = {} if scale.inside else drawing.RUST
    anchor = "middle" if 150 < x < WIDE - 150 else ("start" if x <= 150 else "end")
    at = x if anchor == "middle" else (8 if anchor == "start" else WIDE - 8)
    body = words(at, 32, shown, 24, anchor=anchor, heavy=True, **ink)
    if scale.inside:
        return body + line(x, 40, x, BASE, stroke_width=4) + circle(x, BASE, 8, kind="d-ink", fill=drawing.INK)
    stop: dict[str, object] = {"kind": "d-stopline", "stroke": drawing.STOP}
    cross = f"M{number(x - 11)},{number(BASE - 11)} l22,22 m0,-22 l-22,22"
    back = circle(x, BASE, 15, kind="d-sheet", fill=drawing.SHEET, stroke="none") if scale.bulb else ""
    body += line(x, 40, x, BASE - 12, stroke_width=4, stroke_dasharray="7 5", **stop)
    return body + back + element("path", d=cross, fill="none", stroke_width=5, **stop)
