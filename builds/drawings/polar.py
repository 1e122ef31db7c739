"""Readings round a circle, the difference from the middle of the limits drawn larger than it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin

from shop import drawing
from shop.drawing import circle, element, number

INNER, OUTER = 92.0, 158.0
#: Figures that are read at two metres, as long as so many points leave them room.
LETTER, SMALL, ROOMY = 24.0, 17.0, 8
_WAITING = {"missing": "no reading", "next": "next"}


@dataclass(frozen=True)
class Point:
    """One reading: name, degrees clockwise from the top, value, value as shown, verdict.

    verdict: in, low, high, out; without a value: next, missing, or empty for not yet. alone: it stands out from the
    others, in its limits or not.
    """

    name: str
    degrees: float
    value: float | None
    shown: str = ""
    verdict: str = ""
    alone: bool = False

    @property
    def out(self) -> bool:
        """Outside the limits."""
        return self.value is not None and self.verdict not in ("in", "")

    @property
    def said(self) -> str:
        """The reading in words."""
        if self.value is None:
            return f"{self.name}: {_WAITING.get(self.verdict, 'not yet')}"
        return f"{self.name}: {self.shown}, {'out' if self.out else 'in'}{', stands out' if self.alone else ''}"


@dataclass(frozen=True)
class Scale:
    """Limits as two circles; what lies between and beyond them is stretched evenly."""

    low: float
    high: float

    def radius(self, value: float) -> float:
        """Radius in drawing units, held within what the drawing can show."""
        width = (self.high - self.low) or 1.0
        wanted = INNER + (value - self.low) / width * (OUTER - INNER)
        return min(max(wanted, 60.0), 178.0)

    def spot(self, value: float, degrees: float) -> tuple[float, float]:
        """Where a value lies."""
        return turned(self.radius(value), degrees)


def turned(radius: float, degrees: float) -> tuple[float, float]:
    """A point at a radius, degrees clockwise from the top."""
    angle = degrees * pi / 180
    return radius * sin(angle), -radius * cos(angle)


def window() -> str:
    """The limits: two circles, the room between them shaded."""
    band = circle(0, 0, (INNER + OUTER) / 2, kind="d-band", stroke=drawing.DONE, stroke_width=OUTER - INNER)
    return band + circle(0, 0, INNER, stroke_width=1.8) + circle(0, 0, OUTER, stroke_width=1.8)


def clock_lines() -> str:
    """Two chain lines through the middle."""
    reach = OUTER + 10
    return drawing.centre_line(-reach, 0, reach, 0) + drawing.centre_line(0, -reach, 0, reach)


def dots(points: Sequence[Point], scale: Scale) -> str:
    """Each reading as a dot with its figure outside; out is a cross in rust, missing a dashed ring."""
    letter = LETTER if len(points) <= ROOMY else SMALL
    return "".join(_dot(point, scale, letter) for point in points)


def _dot(point: Point, scale: Scale, letter: float) -> str:
    label_x, label_y = turned(_label_radius(point, scale, letter), point.degrees)
    title = drawing.told(point.said)
    if point.value is None:
        return element("g", title + _waiting(point))
    x, y = scale.spot(point.value, point.degrees)
    if point.out:
        d = f"M{number(x - 7)},{number(y - 7)} l14,14 m0,-14 l-14,14"
        body = element("path", d=d, kind="d-stopline", fill="none", stroke=drawing.STOP, stroke_width=4)
    else:
        body = circle(x, y, 6.5, kind="d-ink", fill=drawing.INK, stroke="none")
    if point.alone:
        body += circle(x, y, 15, kind="d-stopline", fill="none", stroke=drawing.STOP, stroke_width=3.4)
    return element("g", title + body + _label(point.shown, label_x, label_y, letter, out=point.out or point.alone))


def _waiting(point: Point) -> str:
    """A place without a reading: the next one filled, a missing one dashed in rust, else dashed."""
    x, y = turned((INNER + OUTER) / 2, point.degrees)
    if point.verdict == "next":
        disc = circle(x, y, 27, kind="d-here", fill=drawing.HERE, stroke=drawing.HERE)
        look = drawing.ON_HERE
        return disc + drawing.words(x, y + 8, point.name, 23, anchor="middle", heavy=True, **look)
    missing = point.verdict == "missing"
    look = drawing.RUST if missing else drawing.QUIET
    edge = {"kind": "d-stopline", "stroke": drawing.STOP} if missing else {"kind": "d-thin", "stroke": drawing.FAINT}
    ring = circle(x, y, 22, stroke_width=2.4, stroke_dasharray="6 4", **edge)
    return ring + drawing.words(x, y + 7, "?" if missing else point.name, 18, anchor="middle", heavy=missing, **look)


def _label_radius(point: Point, scale: Scale, letter: float) -> float:
    """Beyond the outer circle and the point; further out at the sides, where the text is wide."""
    reach = max(OUTER, scale.radius(point.value) if point.value is not None else 0)
    return reach + 22 + letter * 1.6 * abs(sin(point.degrees * pi / 180))


def _label(text: str, x: float, y: float, letter: float, *, out: bool) -> str:
    ink = drawing.RUST if out else {}
    return drawing.words(x, y + letter * 0.36, text, letter, anchor="middle", heavy=out, **ink)


def limits_said(shown: tuple[str, str]) -> str:
    """The limits as text in the middle, low above high."""
    box = element("rect", x=-58, y=-40, width=116, height=76, kind="d-sheet", fill=drawing.SHEET)
    said = drawing.words(0, -18, "limits", 15, anchor="middle", **drawing.QUIET)
    low = drawing.words(0, 5, shown[0], 23, anchor="middle", heavy=True)
    return box + said + low + drawing.words(0, 29, shown[1], 23, anchor="middle", heavy=True)


def curve(radii: Sequence[float], **look: object) -> str:
    """A closed line through evenly spaced radii, the first at the top."""
    count = len(radii)
    spots = [turned(radius, 360 * index / count) for index, radius in enumerate(radii)]
    d = "M" + " L".join(f"{number(x)},{number(y)}" for x, y in spots) + " Z"
    return element("path", d=d, fill="none", **look)
