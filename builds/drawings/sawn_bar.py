"""One bar as the saw leaves it: the trimmed end, the pieces from left to right, and what is left of it."""

from __future__ import annotations

from collections.abc import Sequence

from shop import drawing
from shop.drawing import Drawing, Frame, element, line, words

WIDE, TALL, LEFT, TOP, DEEP = 1000.0, 74.0, 6.0, 12.0, 36.0
#: Words narrower than this in the drawing would run into their neighbours.
NARROW = 58.0


def sawn_bar(pieces: Sequence[tuple[str, float]], bar: float, trim: float, left: float, *, key: str) -> Drawing:
    """Lengths in one unit; `pieces` are (short name, length) in the order of the cuts. `key` is an id."""
    scale = (WIDE - 2 * LEFT) / bar
    x = LEFT + trim * scale
    look = {**drawing.painted("not yet", key), "stroke_width": 1.6}
    body = element("rect", x=LEFT, y=TOP, width=bar * scale, height=DEEP, **look)
    kerf = (bar - trim - left - sum(length for _, length in pieces)) / max(1, len(pieces))
    said = []
    for name, length in pieces:
        wide = length * scale
        body += element("rect", x=x, y=TOP, width=wide, height=DEEP, **drawing.painted("done", key))
        if wide >= NARROW:
            body += words(x + wide / 2, TOP + 24, name, 15, anchor="middle", heavy=True)
        said.append(f"{name} {length:g} in")
        x += wide + kerf * scale
    if left * scale >= NARROW:
        body += words(x + (LEFT + bar * scale - x) / 2, TOP + 24, f"{left:g} left", 15, anchor="middle",
                      **drawing.QUIET)  # fmt: skip
    for place in range(0, int(bar) + 1, 12):
        high = 8 if place % 60 == 0 else 4
        body += line(LEFT + place * scale, TOP + DEEP + 6, LEFT + place * scale, TOP + DEEP + 6 + high, kind="d-thin",
                     stroke=drawing.FAINT, stroke_width=1)  # fmt: skip
    told = f"{'; '.join(said)}; {left:g} in left of {bar:g} in."
    return Frame(key, 0, 0, WIDE, TALL, "The bar, piece by piece", told).holding(body)
