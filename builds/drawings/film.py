"""A paint film by its spots: a bar for each, the limits across, and a cross where a spot lies outside."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from shop import drawing
from shop.drawing import Drawing, Frame, element, line, number, words

WIDE, LEFT, RIGHT, TOP, FOOT = 520.0, 118.0, 500.0, 16.0, 168.0
TALL = 196.0


Limit = tuple[float, str]


def film(spots: Sequence[Limit], low: Limit, high: Limit | None, unit: str, *, key: str) -> Drawing:
    """spots: the film and as shown, in the order they were read; low and high with what they are."""
    top = max([value for value, _ in spots] + [low[0], high[0] if high else low[0]]) * 1.22 or 1.0

    def y(value: float) -> float:
        return FOOT - value / top * (FOOT - TOP)

    field = y(high[0]) if high else TOP
    body = element(
        "rect", x=LEFT, y=field, width=RIGHT - LEFT, height=y(low[0]) - field, kind="d-window", fill=drawing.DONE
    )
    edges = [LEFT + (RIGHT - LEFT) * index / max(1, len(spots)) for index in range(len(spots) + 1)]
    many = len(spots) > 6
    for limit, says in filter(None, (low, high)):
        body += line(LEFT - 8, y(limit), RIGHT, y(limit), stroke_width=2.6)
        body += words(LEFT - 12, y(limit) + 6, f"{says} {limit:g}", 16, anchor="end", heavy=True)
    for index, ((value, shown), (x1, x2)) in enumerate(zip(spots, pairwise(edges), strict=True), 1):
        inside = value >= low[0] and (high is None or value <= high[0])
        body += _bar((x1 + x2) / 2, (x2 - x1) * 0.56, y(value), inside=inside)
        if not many:
            body += _figure((x1 + x2) / 2, y(value) - 7, shown)
        if not many or index % 5 == 0:
            body += words((x1 + x2) / 2, FOOT + 22, str(index), 16, anchor="middle")
    body += line(LEFT, FOOT, RIGHT, FOOT, stroke_width=2)
    said = f"{low[1]} {low[0]:g} {unit}; " + "; ".join(f"spot {index}: {one[1]}" for index, one in enumerate(spots, 1))
    return Frame(key, 0, 0, WIDE, TALL, "Film by spot", said).holding(body)


def _figure(x: float, y: float, shown: str) -> str:
    """On a plate of its own, so that no limit line runs through it."""
    wide = 10.6 * len(shown) + 4
    plate = element("rect", x=x - wide / 2, y=y - 16, width=wide, height=20, kind="d-sheet", fill=drawing.SHEET)
    return plate + words(x, y, shown, 18, anchor="middle", heavy=True)


def _bar(x: float, wide: float, top: float, *, inside: bool) -> str:
    look: dict[str, object] = {"kind": "d-sheetline", "fill": drawing.SHEET, "stroke": drawing.INK, "stroke_width": 2.6}
    if not inside:
        look = {
            "kind": "d-stopline",
            "fill": drawing.SHEET,
            "stroke": drawing.STOP,
            "stroke_width": 3.4,
            "stroke_dasharray": "7 5",
        }
    body = element("rect", x=x - wide / 2, y=top, width=wide, height=FOOT - top, **look)
    if inside:
        return body
    d = f"M{number(x - 10)},{number(top + 12)} l20,20 m0,-20 l-20,20"
    return body + element("path", d=d, kind="d-stopline", fill="none", stroke=drawing.STOP, stroke_width=4.4)
