"""The ring-gear tooth that is pressed on: the flank's outline, and the small mark of each place on it.

The same tooth as builds.drawings.teeth draws: toe left, heel right, top above, root below.
"""

from __future__ import annotations

from shop import drawing
from shop.drawing import Drawing, element

WIDE, HIGH, DROP = 300.0, 200.0, 18.0


def flank(*, tapered: bool) -> Drawing:
    """The outline behind the places, stretched to them; `tapered`: the heel is taller than the toe."""
    outline = f"M2,{int(DROP if tapered else 2)} L298,2 V198 H2 Z"
    body = element("path", d=outline, kind="d-sheetline", fill=drawing.SHEET, stroke=drawing.INK, stroke_width=4,
                   vector_effect="non-scaling-stroke")  # fmt: skip
    return Drawing(
        f'<svg class="flank" viewBox="0 0 {int(WIDE)} {int(HIGH)}" preserveAspectRatio="none" aria-hidden="true">'
        f"{body}</svg>"
    )


def spot(*, slanted: bool) -> Drawing:
    """A mark as the compound leaves it; slanted as an even-depth tooth shows it."""
    turn = "rotate(-18 30 12)" if slanted else None
    body = element("ellipse", cx=30, cy=12, rx=22, ry=7, transform=turn, kind="d-ink", fill=drawing.INK)
    return Drawing(f'<svg class="spot" viewBox="0 0 60 24" aria-hidden="true">{body}</svg>')


def edge() -> Drawing:
    """A hard line along an edge, and a second mark under it."""
    look = {"kind": "d-stopline", "fill": "none", "stroke": drawing.STOP, "stroke_width": 5}
    body = element("path", d="M4,6 H56 M16,18 H44", **look)
    return Drawing(f'<svg class="spot" viewBox="0 0 60 24" aria-hidden="true">{body}</svg>')
