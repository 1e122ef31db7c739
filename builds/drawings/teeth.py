"""The mark of a contact pattern on a ring-gear tooth: drive flank above, coast flank below; toe left, heel right."""

from __future__ import annotations

from shop import drawing
from shop.drawing import Drawing, Frame, element, number, words

WIDE, HIGH, GAP = 420.0, 120.0, 70.0
_ACROSS = {"toe": 0.2, "heel": 0.8}
_UP = {"high": 0.24, "low": 0.76}
EDGE = "edge line or double mark"


def teeth(cut: str, drive: str, coast: str, *, key: str) -> Drawing:
    """`cut` face-milled (the heel is taller) or face-hobbed (even height, slanted mark); marks as the card says."""
    body = ""
    for row, (flank, mark) in enumerate((("drive", drive), ("coast", coast))):
        top = 34 + row * (HIGH + GAP)
        body += _flank(flank, mark, top, tapered=cut == "face-milled", slanted=cut == "face-hobbed")
    said = f"Ring gear tooth, {cut}. Drive: {drive}. Coast: {coast}."
    return Frame(key, -70, 0, WIDE + 150, 2 * (HIGH + GAP), "Contact pattern", said).holding(body)


def _flank(flank: str, mark: str, top: float, *, tapered: bool, slanted: bool) -> str:
    toe_top = top + (34 if tapered else 0)
    foot = top + HIGH
    outline = f"M0,{number(toe_top)} L{number(WIDE)},{number(top)} V{number(foot)} H0 Z"
    body = element("path", d=outline, fill=drawing.SHEET, stroke=drawing.INK, stroke_width=3)
    body += words(WIDE / 2, top - 10, f"{flank}: {mark}", 22, anchor="middle", heavy=True)
    body += words(-10, foot - 8, "toe", 18, anchor="end") + words(WIDE + 10, foot - 8, "heel", 18)
    body += words(WIDE + 10, top + 16, "top", 15, **drawing.QUIET)
    body += words(WIDE / 2, foot + 20, "root", 15, anchor="middle", **drawing.QUIET)
    if mark == EDGE:
        edge = f"M8,{number(toe_top + 8)} L{number(WIDE - 8)},{number(top + 8)}"
        stop = {"kind": "d-stopline", "stroke": drawing.STOP}
        return body + element("path", d=edge, fill="none", stroke_width=7, **stop)
    return body + _mark(mark, toe_top, top, foot, slanted=slanted)


def _mark(mark: str, toe_top: float, top: float, foot: float, *, slanted: bool) -> str:
    parts = mark.split()
    across = next((_ACROSS[one] for one in parts if one in _ACROSS), 0.5)
    up = next((_UP[one] for one in parts if one in _UP), 0.5)
    upper = toe_top + (top - toe_top) * across
    x, y = WIDE * across, upper + (foot - upper) * up
    turn = f"rotate(-14 {number(x)} {number(y)})" if slanted else None
    look = {"kind": "d-ink", "fill": drawing.INK, "stroke": "none"}
    return element("ellipse", cx=x, cy=y, rx=66, ry=19, transform=turn, **look)
