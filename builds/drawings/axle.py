"""The axle from above, as a schematic: each zone is drawn in its state's line and may be a link.

Only zones that are listed are drawn, so an axle with one side, without brackets or without a brake needs no
code of its own. Lengths mean nothing; the tubes carry break lines, as on any drawing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from builds.drawings import axle_shapes
from shop import drawing
from shop.drawing import Drawing, Frame, element, line, line_of, words

SIDED = ("shaft", "tube", "brackets", "spindle", "brake", "hub")
MIDDLE = ("cover", "housing", "gear set", "pinion")
HALF, TOP, BOTTOM = 420, -136, 162
NOTE_LINES = 2
#: On paper the drawing is 152 mm wide and nothing on it may be smaller than 7.5 pt; labels stand evenly.
PAPER_TYPE, PAPER_STEP = 16.5, 20

# Where a zone's leader starts (on the part) and where its label stands: u outward from the middle, v down.
_CALLS = {
    "tube": ((170, -20), (150, -186)), "spindle": ((314, -24), (272, -186)), "hub": ((366, -66), (384, -186)),
    "brackets": ((212, 34), (180, 210)), "brake": ((336, 80), (290, 210)), "shaft": ((408, 22), (396, 210)),
    "cover": ((0, -116), (0, -186)), "gear set": ((-48, 14), (-92, 210)), "pinion": ((0, 152), (0, 210)),
    "housing": ((62, 74), (92, 210)),
}  # fmt: skip


@dataclass(frozen=True)
class Zone:
    """One zone. `state` is any state word; `note` (two lines at most) stands in place of the word."""

    name: str
    state: str
    side: str = ""
    url: str = ""
    note: str = ""

    @property
    def called(self) -> str:
        """Name with side, as a person says it."""
        return f"{self.name} {self.side}".strip()

    @property
    def told(self) -> str:
        """Note or state, on one line."""
        return ", ".join((self.note or self.state).splitlines())


@dataclass(frozen=True)
class AxlePicture:
    """What to draw: the zones in any order, which sides there are, which kind of brake."""

    name: str
    zones: tuple[Zone, ...]
    sides: tuple[str, ...] = ("left", "right")
    brake: str = "disc"


_ON_PAPER = {
    "tube": (134, -192), "spindle": (268, -192), "hub": (402, -192), "cover": (0, -192), "brackets": (197, 190),
    "brake": (313, 190), "shaft": (414, 190), "gear set": (-103, 190), "pinion": (0, 190), "housing": (103, 190),
}  # fmt: skip


def _zone(zone: Zone, picture: AxlePicture, key: str, label: str, weight: float) -> str:
    side = 1 if zone.side == "right" else -1
    plan = axle_shapes.Plan(side=side, sides=picture.sides, brake=picture.brake)
    look = drawing.painted(line_of(zone.state), key, weight)
    body = "".join(element("path", d=d, **look) for d in axle_shapes.outlines(zone.name, plan))
    body += axle_shapes.details(zone.name, plan, look)
    body = drawing.told(f"{zone.called}: {zone.told}") + body + label
    if zone.url:
        return element("a", body, href=zone.url, aria_label=f"{zone.called}: {zone.state}")
    return element("g", body)


def _call(zone: Zone, on_paper: bool = False) -> str:
    """Leader with a dot on the part, the name, and the note or (not on paper) the state under it."""
    sign = -1 if zone.side == "left" else 1
    (u, v), screen = _CALLS[zone.name]
    label_u, label_v = _ON_PAPER[zone.name] if on_paper else screen
    size, step = (PAPER_TYPE, PAPER_STEP) if on_paper else (14, 16)
    x, y, to_x = sign * u, v, sign * label_u
    under = (zone.note or ("" if on_paper else zone.state)).splitlines()[:NOTE_LINES]
    to_y = label_v + 10 + step * len(under) if label_v < 0 else label_v - size - 4
    stop = line_of(zone.state) == "stopped"
    ink = drawing.RUST if stop else {}
    second = drawing.RUST if stop else drawing.QUIET
    return (
        line(x, y, to_x, to_y, kind="d-thin", stroke=drawing.FAINT, stroke_width=1)
        + drawing.circle(x, y, 2.6, kind="d-ink", fill=drawing.INK, stroke="none")
        + words(to_x, label_v, zone.called, size, anchor="middle", heavy=True, **ink)
        + "".join(
            words(to_x, label_v + step * (row + 1) + 1, text, size if on_paper else 13, anchor="middle", **second)
            for row, text in enumerate(under)
        )
    )


def _drawn(picture: AxlePicture) -> list[Zone]:
    """Zones from the inside out, so that what lies on top is drawn last."""
    order = ("housing", "cover", "tube", "shaft", "gear set", "pinion", "brackets", "spindle", "brake", "hub")
    known = [z for z in picture.zones if z.name in order and (z.name in MIDDLE or z.side in picture.sides)]
    return sorted(known, key=lambda z: order.index(z.name))


def _axes(picture: AxlePicture) -> str:
    left = -HALF + 4 if "left" in picture.sides else -110
    right = HALF - 4 if "right" in picture.sides else 110
    return drawing.centre_line(left, 0, right, 0) + drawing.centre_line(0, TOP + 4, 0, BOTTOM - 2)


def _extent(picture: AxlePicture, margin: float) -> tuple[float, float]:
    left = -HALF if "left" in picture.sides else -130
    right = HALF if "right" in picture.sides else 130
    return left - margin, right - left + 2 * margin


def _frame(picture: AxlePicture, key: str, margin: float, top: float, bottom: float) -> Frame:
    left, width = _extent(picture, margin)
    said = "; ".join(f"{z.called}: {z.told}" for z in _drawn(picture))
    linked = any(z.url for z in picture.zones)
    return Frame(key, left, top, width, bottom - top, f"Axle {picture.name}, seen from above", said, linked)


def _body(picture: AxlePicture, key: str, called: bool, on_paper: bool = False) -> tuple[str, bool]:
    zones = _drawn(picture)
    calls = {zone.called: _call(zone, on_paper) if called else "" for zone in zones}
    shapes = "".join(_zone(zone, picture, key, calls[zone.called], 1 if called else 1.7) for zone in zones)
    return shapes, any(line_of(zone.state) == "stopped" for zone in zones)


@lru_cache(maxsize=256)
def small_axle(picture: AxlePicture, *, key: str = "axle-small") -> Drawing:
    """You are here: shapes and states only, for a title block. `key` is an id, once per page. Kept, because the page of
    an axle is drawn again at every reading, while its zones change once an operation."""
    body, hatched = _body(picture, key, called=False)
    return _frame(picture, key, 4, TOP, BOTTOM).holding(_axes(picture) + body, hatched=hatched)


def large_axle(picture: AxlePicture, *, key: str = "axle", on_paper: bool = False) -> Drawing:
    """With a call-out at every zone: its name and its state or note.

    `on_paper`: a zone without a note has its name only, and the title says everything, since it is all that a PDF
    keeps of a drawing for a screen reader.
    """
    body, hatched = _body(picture, key, called=True, on_paper=on_paper)
    lines = max((zone.note.count("\n") for zone in picture.zones), default=0)
    top, bottom = (-208, 216) if on_paper else (-206, 236)
    frame = _frame(picture, key, 44, top, bottom + 16 * min(lines, NOTE_LINES - 1))
    if on_paper:
        noted = "; ".join(f"{zone.called}: {zone.told}" for zone in _drawn(picture) if zone.note)
        frame = replace(frame, title=f"{frame.title}. {noted}".strip(), said="")
    return frame.holding(_axes(picture) + body, hatched=hatched)


def axle_table(picture: AxlePicture) -> tuple[list[dict[str, object]], list[dict[str, object]]]:
    """Columns and rows that say the same, for components/figure_with_table.html."""
    noted = any(zone.note for zone in picture.zones)
    columns: list[dict[str, object]] = [{"label": "Zone"}, {"label": "State"}]
    if noted:
        columns.append({"label": "Note"})
    return columns, [_row(zone, noted) for zone in _by_place(picture.zones)]


def _by_place(zones: Sequence[Zone]) -> list[Zone]:
    sides = {"left": 0, "": 1, "right": 2}
    return sorted(zones, key=lambda zone: sides.get(zone.side, 1))


def _row(zone: Zone, noted: bool) -> dict[str, object]:
    name = {"text": zone.called, "url": zone.url} if zone.url else {"text": zone.called}
    cells: list[object] = [name, {"state": zone.state}, *([zone.note] if noted else [])]
    return {"cells": cells, "stopped": line_of(zone.state) == "stopped"}
