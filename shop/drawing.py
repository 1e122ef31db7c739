"""Line types of our drawings, and the small parts every drawing is made of. Pure: no Django, no clock.

State is told by the line and by the word, never by hue alone:

    done      full thick line, light fill
    in hand   extra thick line, tinted
    ready     thin full line
    not yet   dashed line (also: waiting)
    stopped   section hatching

Each shape carries presentation attributes, so it looks right where no style sheet reaches it (on paper),
and a class, so that a screen's light or dark style sheet can repaint it. No style attribute is ever written.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from html import escape

INK, SOFT, FAINT, RULE = "#14202b", "#515d68", "#6b7781", "#ced4d6"
SHEET, DONE = "#ffffff", "#e8edee"
HERE, HERE_TINT = "#00568a", "#dfecf5"
STOP, STOP_TINT, SIGN = "#a33e00", "#fdeee4", "#00684b"
FACE = "Inter, sans-serif"
WIDE = 600  # wider than this, a drawing keeps its size on a phone and scrolls

# Inks for text and small solids.
RUST: dict[str, object] = {"kind": "d-rust", "fill": STOP}
QUIET: dict[str, object] = {"kind": "d-softfill", "fill": SOFT}
ON_HERE: dict[str, object] = {"kind": "d-onhere", "fill": SHEET}

STATES = ("done", "in hand", "ready", "not yet", "stopped")

_LINE_OF_WORD = {
    "done": "done", "bought off": "done", "certified": "done", "gone": "done", "closed": "done",
    "released": "done", "excused by change": "done", "retired": "done", "signed": "done", "valid": "done",
    "in hand": "in hand", "on the floor": "in hand", "back": "in hand", "working": "in hand",
    "ready": "ready", "kitted": "ready", "set down": "ready", "open": "ready",
    "not yet": "not yet", "booked": "not yet", "waiting": "not yet", "waiting for time": "not yet",
    "waiting for sign": "not yet", "to redo": "not yet", "draft": "not yet", "absent": "not yet",
    "stopped": "stopped", "red tag": "stopped", "held": "stopped", "refused": "stopped", "overdue": "stopped",
    "recalled": "stopped", "scrapped": "stopped", "lapsed": "stopped", "failed": "stopped", "out": "stopped",
}  # fmt: skip


class Drawing(str):
    """SVG text that has escaped whatever it was given, so a template may print it as it is."""

    __slots__ = ()

    def __html__(self) -> str:
        return str(self)


@dataclass(frozen=True)
class Stroke:
    """How one state is drawn: its class for screens and its attributes for paper. Widths in drawing units."""

    kind: str
    fill: str
    stroke: str
    width: float
    dash: str = ""


STROKES = {
    "done": Stroke("d-done", DONE, INK, 2.4),
    "in hand": Stroke("d-hand", HERE_TINT, HERE, 4.6),
    "ready": Stroke("d-ready", SHEET, INK, 1.3),
    "not yet": Stroke("d-wait", "none", FAINT, 1.6, "7 5"),
    "stopped": Stroke("d-stop", STOP_TINT, STOP, 3.0),
}


def line_of(word: str) -> str:
    """The line type of a state word; a word nobody has given a line is drawn as not yet."""
    return _LINE_OF_WORD.get(word.strip().lower(), "not yet")


def number(value: float) -> str:
    """A coordinate: two decimals at most, no trailing zeros, no minus zero."""
    shown = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def element(name: str, content: str = "", /, **attributes: object) -> str:
    """One element. `kind` becomes class, underscores become hyphens, None is left out, text is escaped."""
    words = []
    for key, value in attributes.items():
        if value is None or value == "":
            continue
        shown = number(value) if isinstance(value, (int, float)) else escape(str(value))
        words.append(f' {"class" if key == "kind" else key.replace("_", "-")}="{shown}"')
    start = f"<{name}{''.join(words)}"
    return f"{start}>{content}</{name}>" if content else f"{start}/>"


def told(text: str) -> str:
    """What a shape says when pointed at or read aloud."""
    return element("title", escape(text))


def words(x: float, y: float, text: str, size: float = 15, **attributes: object) -> str:
    """Text at a point. anchor: start, middle or end; heavy: bold; kind and fill: the ink."""
    heavy = attributes.pop("heavy", False)
    anchor = attributes.pop("anchor", "start")
    given: dict[str, object] = {"kind": "d-ink", "fill": INK, **attributes}
    weight = 700 if heavy else None
    return element("text", escape(text), x=x, y=y, font_size=size, font_weight=weight, text_anchor=anchor, **given)


def line(x1: float, y1: float, x2: float, y2: float, **attributes: object) -> str:
    """A straight line: thick ink unless told otherwise."""
    given: dict[str, object] = {"kind": "d-line", "stroke": INK, "stroke_width": 2, **attributes}
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, **given)


def centre_line(x1: float, y1: float, x2: float, y2: float) -> str:
    """A chain line, as drawings mark an axis."""
    return line(x1, y1, x2, y2, kind="d-thin", stroke=FAINT, stroke_width=1, stroke_dasharray="22 4 4 4")


def circle(x: float, y: float, radius: float, **attributes: object) -> str:
    """A circle: thin ink, no fill, unless told otherwise."""
    given: dict[str, object] = {
        "kind": "d-line",
        "fill": "none",
        "stroke": INK,
        "stroke_width": 1.6,
        **attributes,
    }
    return element("circle", cx=x, cy=y, r=radius, **given)


def hatching(key: str) -> str:
    """Section hatching at 45 degrees; `key` keeps its id apart from other drawings on the page."""
    back = element("rect", width=8, height=8, fill=STOP_TINT, kind="d-hatchback")
    stripe = element("line", x1=0, y1=0, x2=0, y2=8, stroke=STOP, stroke_width=2.4, kind="d-hatchline")
    turned = {"patternUnits": "userSpaceOnUse", "patternTransform": "rotate(45)"}
    return element("defs", element("pattern", back + stripe, id=f"{key}-hatch", width=8, height=8, **turned))


def painted(state: str, key: str, weight: float = 1) -> dict[str, object]:
    """Attributes that draw a shape in a state; `weight` thickens lines of what is shown small."""
    stroke = STROKES[state]
    fill = f"url(#{key}-hatch)" if state == "stopped" else stroke.fill
    return {
        "kind": stroke.kind, "fill": fill, "stroke": stroke.stroke,
        "stroke_width": round(stroke.width * weight, 2),
        "stroke_dasharray": stroke.dash or None, "stroke_linejoin": "round",
    }  # fmt: skip


@dataclass(frozen=True)
class Frame:
    """The edges of a drawing and what a screen reader is told. `key` is an id, once per page."""

    key: str
    left: float
    top: float
    width: float
    height: float
    title: str
    said: str = ""
    linked: bool = False

    def holding(self, body: str, *, hatched: bool = False) -> Drawing:
        """The finished drawing. One with links is a group, else an image with a name."""
        names = f"{self.key}-title" + (f" {self.key}-desc" if self.said else "")
        said = element("title", escape(self.title), id=f"{self.key}-title")
        if self.said:
            said += element("desc", escape(self.said), id=f"{self.key}-desc")
        box = " ".join(number(v) for v in (self.left, self.top, self.width, self.height))
        look = "drawing wide" if self.width > WIDE else "drawing"
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="{look}" viewBox="{box}" '
            f'width="{number(self.width)}" '
            f'height="{number(self.height)}" role="{"group" if self.linked else "img"}" '
            f'aria-labelledby="{names}" font-family="{FACE}">'
        )
        return Drawing(head + said + (hatching(self.key) if hatched else "") + body + "</svg>")


def _stripes(left: float, right: float, top: float, bottom: float, step: float) -> str:
    """Lines at 45 degrees cut off at a rectangle's edges: hatching without an id."""
    path, total = "", left + top + step
    while total < right + bottom:
        start, end = max(left, total - bottom), min(right, total - top)
        path += f"M{number(start)},{number(total - start)}L{number(end)},{number(total - end)}"
        total += step
    return path


@lru_cache(maxsize=64)
def mark(word: str) -> Drawing:
    """The small mark of a state, to stand before its word. It needs no ids, so it may repeat on a page."""
    state = line_of(word)
    look = {**painted(state, ""), "stroke_linejoin": "miter"}
    width = {"done": 4.4, "in hand": 6.4, "ready": 1.6, "not yet": 2.2, "stopped": 3.0}[state]
    look |= {"stroke_width": width, "stroke_dasharray": "6 4" if state == "not yet" else None}
    if state == "stopped":
        look |= {"fill": STOP_TINT, "kind": "d-stopfill"}
    inset = width / 2
    body = element("rect", x=inset, y=inset, width=42 - width, height=20 - width, **look)
    if state == "stopped":
        body += element(
            "path", d=_stripes(3, 39, 3, 17, 7), fill="none", stroke=STOP, stroke_width=2, kind="d-stopline"
        )
    return Drawing(f'<svg class="mark" viewBox="0 0 42 20" aria-hidden="true">{body}</svg>')


_LIMITS = "M2,8 H26 M2,20 H26"
_VERDICTS = {
    "in": ("d-line", INK, "", "dot", 14), "low": ("d-stopline", STOP, "", "cross", 24.5),
    "high": ("d-stopline", STOP, "", "cross", 3.5), "out": ("d-stopline", STOP, "", "cross", 14),
    "missing": ("d-thin", FAINT, "4 3", "ring", 14), "ask": ("d-line", INK, "", "ring", 14),
    "stopped": ("d-stopline", STOP, "", "bars", 14),
}  # fmt: skip


@lru_cache(maxsize=64)
def verdict_mark(kind: str) -> Drawing:
    """Two limit lines and where the value lies: a dot between them, a cross above, below or across them."""
    style, ink, dash, shape, y = _VERDICTS.get(kind, _VERDICTS["out"])
    base = element("path", d=_LIMITS, fill="none", stroke=ink, stroke_width=2.2, stroke_dasharray=dash, kind=style)
    if shape == "dot":
        base += circle(14, y, 4, kind="d-ink", fill=INK, stroke="none")
    elif shape == "ring":
        base += circle(14, y, 3.6, kind=style, stroke=ink, stroke_width=2, stroke_dasharray="2 2" if dash else None)
    elif shape == "cross":
        d = f"M10,{number(y - 4)} L18,{number(y + 4)} M18,{number(y - 4)} L10,{number(y + 4)}"
        base += element("path", d=d, fill="none", stroke=ink, stroke_width=3.2, kind=style)
    else:
        base += element(
            "path",
            d="M7,20 L19,8 M13,20 L25,8 M3,18 L13,8",
            fill="none",
            stroke=ink,
            stroke_width=2.4,
            kind=style,
        )
    return Drawing(f'<svg class="verdict-mark" viewBox="0 -2 28 32" aria-hidden="true">{base}</svg>')


@cache
def house_mark() -> Drawing:
    """The sign of the book: an axle on its centre line, drawn in the fewest lines that still say axle."""
    bars = "M2,20 H38"
    body = element("path", d=bars, fill="none", stroke=FAINT, stroke_width=1, stroke_dasharray="6 2 2 2", kind="d-thin")
    shapes = "M5,9 H9 V31 H5 Z M31,9 H35 V31 H31 Z M9,17 H14 M9,23 H14 M26,17 H31 M26,23 H31"
    body += element("path", d=shapes, fill="none", stroke=INK, stroke_width=2.2, kind="d-line")
    body += circle(20, 20, 6.6, stroke_width=2.6, kind="d-sheetline", fill=SHEET)
    body += circle(20, 20, 1.8, kind="d-here", fill=HERE, stroke="none")
    return Drawing(f'<svg viewBox="0 0 40 40" aria-hidden="true">{body}</svg>')


_SIDE = (
    "M118,-26H256M118,26H256M266,-26H300M266,26H300"
    "M251,-31C258,-12 244,12 251,31M261,-31C268,-12 254,12 261,31M182,-40H236V40H182Z"
    "M300,-36H314V-24L344,-20V20L314,24V36H300Z"
    "M344,-36L356,-44V-76H368V-44L398,-32V32L368,44V76H356V44L344,36Z"
    "M332,-92H340V-54H356M332,92H340V54H356M332,-92V-45H356M332,92V45H356"
)
_MIDDLE = (
    "M36,132V106L62,78L84,36L118,31V-31L84,-36V-88H-84V-36L-118,-31V31L-84,36L-62,78L-36,106V132Z"
    "M-92,-88V-98H-74C-62,-138 62,-138 74,-98H92V-88Z"
    "M12,-38L26,-68H46V68H26L12,38ZM46,-46H60L82,-22V22L60,46H46M12,-34H-42L-60,-18H-84V18H-60L-42,34H12"
    "M-26,66L-12,38H12L26,66ZM-9,66V143M9,66V143M-28,143H28V156H-28Z"
)


@cache
def house_axle() -> Drawing:
    """An axle in thin lines, of no model and in no state: it greets, and says nothing."""
    thin: dict[str, object] = {"kind": "d-line", "fill": "none", "stroke": INK, "stroke_width": 2}
    body = centre_line(-416, 0, 416, 0) + centre_line(0, -138, 0, 164)
    body += element("path", d=_MIDDLE, **thin) + element("path", d=_SIDE, **thin)
    body += element("path", d=_SIDE, transform="scale(-1,1)", **thin)
    return Drawing(f'<svg class="drawing" viewBox="-420 -142 840 310" aria-hidden="true">{body}</svg>')
