"""Values over time with limits: a control chart, or flow over time; the figures stand beside as a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shop import drawing
from shop.drawing import Drawing, Frame, circle, element, line, number, words

WIDE, HIGH, LEFT, RIGHT, TOP, BOTTOM = 760.0, 250.0, 64.0, 84.0, 18.0, 40.0


@dataclass(frozen=True)
class Mark:
    """One value: its label under the axis, the value, the value as shown, and whether it stands out."""

    label: str
    value: float
    shown: str
    out: bool = False


@dataclass(frozen=True)
class Level:
    """A line across: a limit (full), a centre (chain) or a target, with its name at the right edge."""

    value: float
    label: str
    centre: bool = False


@dataclass(frozen=True)
class _Axes:
    low: float
    high: float
    count: int

    def x(self, index: int) -> float:
        room = WIDE - LEFT - RIGHT
        return LEFT + (room * index / (self.count - 1) if self.count > 1 else room / 2)

    def y(self, value: float) -> float:
        return TOP + (self.high - value) / (self.high - self.low) * (HIGH - TOP - BOTTOM)


def _axes(marks: Sequence[Mark], levels: Sequence[Level]) -> _Axes:
    values = [mark.value for mark in marks] + [level.value for level in levels]
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    room = (high - low) * 0.08 or abs(high) * 0.05 or 1.0
    return _Axes(low - room, high + room, len(marks))


def _level(level: Level, axes: _Axes) -> str:
    y, end = axes.y(level.value), WIDE - RIGHT + 8
    drawn = drawing.centre_line(LEFT, y, end, y) if level.centre else line(LEFT, y, end, y, stroke_width=1.6)
    return drawn + words(end + 6, y + 5, level.label, 14)


def _dot(mark: Mark, index: int, axes: _Axes) -> str:
    x, y = axes.x(index), axes.y(mark.value)
    title = drawing.told(f"{mark.label}: {mark.shown}{', out' if mark.out else ''}")
    if not mark.out:
        return element("g", title + circle(x, y, 4.2, kind="d-ink", fill=drawing.INK, stroke="none"))
    d = f"M{number(x - 6)},{number(y - 6)} l12,12 m0,-12 l-12,12"
    cross = element("path", d=d, kind="d-stopline", fill="none", stroke=drawing.STOP, stroke_width=3.6)
    shown = words(x, y - 12, mark.shown, 14, anchor="middle", heavy=True, **drawing.RUST)
    return element("g", title + cross + shown)


def _labels(marks: Sequence[Mark], axes: _Axes) -> str:
    every = max(1, -(-len(marks) // 12))
    shown = range(0, len(marks), every)
    return "".join(words(axes.x(i), HIGH - 14, marks[i].label, 13, anchor="middle") for i in shown)


def series(
    marks: Sequence[Mark], *, title: str, levels: Sequence[Level] = (), unit: str = "", key: str = "series"
) -> Drawing:
    """Marks in order of time, joined by a thin line; one that is out is a cross with its figure."""
    axes = _axes(marks, levels)
    body = line(LEFT - 10, HIGH - BOTTOM + 6, WIDE - RIGHT + 8, HIGH - BOTTOM + 6, stroke_width=1)
    body += "".join(_level(level, axes) for level in levels)
    path = " L".join(f"{number(axes.x(i))},{number(axes.y(m.value))}" for i, m in enumerate(marks))
    if len(marks) > 1:
        body += element("path", d=f"M{path}", kind="d-thin", fill="none", stroke=drawing.FAINT, stroke_width=1.4)
    body += "".join(_dot(mark, index, axes) for index, mark in enumerate(marks)) + _labels(marks, axes)
    body += words(6, TOP + 6, unit, 14, **drawing.QUIET) if unit else ""
    out = [f"{mark.label} {mark.shown}" for mark in marks if mark.out]
    said = f"{len(marks)} values" + (f", out: {'; '.join(out)}" if out else ", none out")
    return Frame(key, 0, 0, WIDE, HIGH, title, said).holding(body)


def series_table(marks: Sequence[Mark], of: str) -> tuple[list[dict[str, object]], list[dict[str, object]]]:
    """Columns and rows that say the same. `of` names the value column."""
    columns: list[dict[str, object]] = [{"label": "When"}, {"label": of, "n": True}, {"label": ""}]
    rows = [{"cells": [m.label, {"text": m.shown}, {"text": "out" if m.out else ""}], "stopped": m.out} for m in marks]
    return columns, [dict(row) for row in rows]
