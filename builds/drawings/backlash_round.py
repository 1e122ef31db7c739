"""Backlash round the ring gear: each point between the limits, with the once-per-turn wave if known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin

from builds.drawings.polar import Point, Scale, clock_lines, curve, dots, limits_said, window
from shop.drawing import HERE, Drawing, Frame

EDGE = 284


@dataclass(frozen=True)
class Wave:
    """mean + cosine·cos(angle) + sine·sin(angle), angle from the first point; computed elsewhere."""

    mean: float
    cosine: float
    sine: float

    def at(self, turn: float) -> float:
        """The wave at a part of a turn from 0 to 1."""
        return self.mean + self.cosine * cos(2 * pi * turn) + self.sine * sin(2 * pi * turn)


def backlash_round(
    points: Sequence[Point],
    *,
    limits: tuple[float, float],
    shown: tuple[str, str],
    title: str,
    wave: Wave | None = None,
    key: str = "backlash",
) -> Drawing:
    """Points clockwise from the top. `limits` place the circles, `shown` are they as text (low, high)."""
    scale = Scale(*limits)
    body = window() + clock_lines()
    if wave is not None:
        look = {"kind": "d-hereline", "stroke": HERE, "stroke_width": 2.2, "stroke_dasharray": "9 5"}
        body += curve([scale.radius(wave.at(k / 120)) for k in range(120)], **look)
    body += dots(points, scale)
    body += limits_said(shown)
    said = f"Limits {shown[0]} to {shown[1]}. " + "; ".join(point.said for point in points)
    return Frame(key, -EDGE, -EDGE, 2 * EDGE, 2 * EDGE, title, said).holding(body)
