"""A bore in section: readings at their clock positions between the limit circles, drawn larger than life."""

from __future__ import annotations

from collections.abc import Sequence

from builds.drawings.polar import Point, Scale, clock_lines, dots, limits_said, turned, window
from shop import drawing
from shop.drawing import Drawing, Frame, line, words

EDGE = 284


def _diameter(point: Point, scale: Scale) -> str:
    """A bore gauge reads across: a thin line through the middle to the far side."""
    if point.value is None:
        return ""
    (x1, y1), (x2, y2) = (turned(scale.radius(point.value), point.degrees + turn) for turn in (0, 180))
    colour = (
        {"kind": "d-stopline", "stroke": drawing.STOP} if point.out else {"kind": "d-thin", "stroke": drawing.FAINT}
    )
    return line(x1, y1, x2, y2, **{"stroke_width": 1.4, **colour})


def bore(
    points: Sequence[Point],
    *,
    limits: tuple[float, float],
    shown: tuple[str, str],
    title: str,
    key: str = "bore",
) -> Drawing:
    """Readings of a bore. `limits` place the circles, `shown` are the limits as text (low, high)."""
    scale = Scale(*limits)
    body = window() + clock_lines() + "".join(_diameter(point, scale) for point in points)
    body += dots(points, scale)
    body += limits_said(shown)
    body += words(-EDGE + 6, EDGE - 8, "drawn larger than it is", 13, **drawing.QUIET)
    said = f"Limits {shown[0]} to {shown[1]}. " + "; ".join(point.said for point in points)
    return Frame(key, -EDGE, -EDGE, 2 * EDGE, 2 * EDGE, title, said).holding(body)
