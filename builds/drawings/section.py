"""A tube cut across, and a figure over one turn: the small pictures of the bench book."""

from __future__ import annotations

from collections.abc import Sequence

from shop import drawing
from shop.drawing import HERE, Drawing, Frame, centre_line, circle, element, line, number, words

EDGE, RADIUS = 130.0, 96.0
WIDE, TALL, LEFT, RIGHT, MIDDLE, HALF = 520.0, 230.0, 90.0, 480.0, 104.0, 64.0


def section(outside: float, inside: float, says: str, *, key: str) -> Drawing:
    """The tube to scale, its steel in section; without a bore it is a bar. `says` is its size in words."""
    look = {"kind": "d-done", "fill": drawing.DONE, "stroke": drawing.INK, "stroke_width": 3}
    body = circle(0, 0, RADIUS, **look)
    bore = RADIUS * inside / outside
    if bore > 0:
        body += circle(0, 0, bore, kind="d-sheet", fill=drawing.SHEET, stroke="none")
        body += circle(0, 0, bore, stroke_width=3)
    reach = RADIUS + 16
    body += centre_line(-reach, 0, reach, 0) + centre_line(0, -reach, 0, reach)
    body += words(0, RADIUS + 42, says, 18, anchor="middle", heavy=True)
    return Frame(key, -EDGE, -EDGE, 2 * EDGE, 2 * EDGE + 24, "Section", says).holding(body)


def over_a_turn(values: Sequence[float], says: str, *, key: str) -> Drawing:
    """Evenly spaced values from 0 to 360 degrees around one; the difference from one is drawn larger than it is."""
    largest = max(abs(value - 1) for value in values) or 1.0
    step = (RIGHT - LEFT) / (len(values) - 1)
    spots = [(LEFT + step * index, MIDDLE - (value - 1) / largest * HALF) for index, value in enumerate(values)]
    body = line(LEFT, MIDDLE, RIGHT, MIDDLE, kind="d-thin", stroke=drawing.FAINT, stroke_width=1.6)
    path = "M" + " L".join(f"{number(x)},{number(y)}" for x, y in spots)
    body += element("path", d=path, kind="d-hereline", fill="none", stroke=HERE, stroke_width=3)
    for value in (min(values), 1.0, max(values)):
        y = MIDDLE - (value - 1) / largest * HALF
        body += words(LEFT - 10, y + 6, f"{value:.4f}", 17, anchor="end", heavy=value != 1)
    for degrees in (0, 90, 180, 270, 360):
        x = LEFT + (RIGHT - LEFT) * degrees / 360
        body += line(x, MIDDLE + HALF + 8, x, MIDDLE + HALF + 16, stroke_width=1.6)
        body += words(x, MIDDLE + HALF + 36, f"{degrees}°", 15, anchor="middle", **drawing.QUIET)
    body += words((LEFT + RIGHT) / 2, 20, says, 18, anchor="middle", heavy=True)
    said = f"{says}: {min(values):.4f} to {max(values):.4f}"
    return Frame(key, 0, 0, WIDE, TALL, "Over one turn", said).holding(body)
