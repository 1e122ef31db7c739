"""Invented station pages for the gallery: one for each kind of entry and the states that matter."""

from __future__ import annotations

from builds.drawings.axle import small_axle
from builds.drawings.bore import bore
from builds.drawings.limit_window import limit_window
from builds.drawings.polar import Point
from builds.views import gallery_pieces as pieces
from builds.views.station_tooth import tooth_of

Piece = dict[str, object]
GAUGE = {"id": "G-042", "name": "20–150 ft-lb", "step": "1", "due": "in 23 days"}
KINDS = ("bolts", "bore", "choice", "tooth", "yes", "text", "photo", "passes", "ask", "refused", "stopped", "sign")

MARKS = (
    "centre", "centre slanted", "toe", "heel", "high toe", "high heel", "high middle", "low toe", "low heel",
    "low middle", "edge line or double mark",
)  # fmt: skip

FEATURES = [
    {
        "code": "220.1",
        "name": "Final torque",
        "url": "#",
        "current": True,
        "state": "in hand",
        "count": "6 of 12",
    },
    {"code": "220.2", "name": "Back-face runout", "url": "#", "state": "not yet", "count": "0 of 1"},
    {"code": "220.a", "name": "Thread adhesive", "url": "#", "state": "done", "count": "1 of 1"},
]
FRAME: Piece = {
    "urls": dict.fromkeys(("reading", "again", "set_down", "wrong", "finish", "scan", "here"), "#"),
    "submissions": dict.fromkeys(("entry", "again", "set_down", "wrong", "finish", "scan"), "0" * 8),
    "features": FEATURES,
    "scan_label": "Gauge, part, plate or badge",
    "set_down": {"may": True},
    "wrong": {},
    "progress": "6 of 12, next 3",
    "finish": {"may": False, "missing": ["3", "5", "6", "9", "11", "12 have no reading"]},
    "parts": [
        {"name": "Ring bolts, 12", "state": "done", "fitted": "RG-40"},
        {"name": "Thread adhesive", "state": "done", "fitted": "TA-3"},
    ],
}
TORQUE: Piece = {
    "kind": "figure",
    "code": "220.1",
    "name": "Final torque",
    "pass_text": "pass 3 of 3, 100 %",
    "noun": "Bolt",
    "position": "3",
    "of": 12,
    "attempt": 1,
    "place": "220.1:3",
    "unit": "ft-lb",
    "limits": "100 to 110 ft-lb",
    "limits_other": "135.6 to 149.1 N·m",
    "digits": 3,
    "decimals": 0,
    "gauge": GAUGE,
    "value": "10",
    "units": [{"value": "ft-lb", "label": "ft-lb", "chosen": True}, {"value": "N·m", "label": "N·m"}],
    "caution": "Clamp the case, or engage the locking differential with air, before you pull. "
    "Site rules and guards come first.",
}


def _latest() -> Piece:
    strip = limit_window(98, "98", low=(100, "100"), high=(110, "110"), verdict="low", key="latest")
    again = {"label": "Repeat bolt 8", "characteristic": "220.1", "position": "8"}
    reaction = "Loosen, new thread adhesive, tighten again. Second time out: new bolt."
    return {
        "kind": "low",
        "words": "Bolt 8 is out: 98, 2 ft-lb under",
        "reaction": reaction,
        "window": strip,
        "again": again,
    }


def _block() -> Piece:
    return {
        "axle": "TBK-26-0148-8",
        "axle_url": "#",
        "operation": "220 Tighten ring-gear bolts",
        "station": "Gear bench",
        "build_card": "Sorrel 960, rev D",
        "person": "Rusk Adeholm",
        "drawing": small_axle(pieces.picture(pieces.AT_GEARS), key="here"),
    }


def _bore() -> Piece:
    entry = {
        "kind": "figure",
        "code": "50.3",
        "name": "Spindle-end bore, left",
        "noun": "Reading",
        "position": "B",
        "of": 2,
        "unit": "in",
        "limits": "3.0625 to 3.0637 in",
        "limits_other": "77.788 to 77.818 mm",
        "fixed": "3.06",
        "digits": 1,
        "decimals": 4,
        "gauge": {"id": "G-017", "name": "bore 2–6 in", "step": ".0001", "due": "in 9 days"},
        "ring": {"id": "G-015", "size": "3.0630"},
        "place": "50.3:left B",
        "caution": TORQUE["caution"],
    }
    shown = ("3.0625", "3.0637")
    points = (*pieces.BORE[:1], Point("B", 90, None, verdict="next"))
    drawn = bore(points, limits=(3.0625, 3.0637), shown=shown, title="Bore, left", key="bore-left")
    computed = [{"code": "50.4", "name": "Out of round", "shown": "", "limits": "≤ .0005"}]
    strip = limit_window(3.0631, "", low=(3.0625, "3.0625"), high=(3.0637, "3.0637"), verdict="in", key="latest")
    latest = {"kind": "in", "words": "A is in: 3.0631", "window": strip}
    return {
        "entry": entry,
        "picture": {"drawing": drawn},
        "latest": latest,
        "computed": computed,
        "features": [],
    }


def _list() -> Piece:
    places = [
        {"name": "left 1", "shown": "no-go", "verdict": "in", "word": "in", "who": "Noor Estevane, 10:42"},
        {
            "name": "left 2",
            "shown": "go",
            "verdict": "out",
            "word": "out",
            "who": "Noor Estevane, 10:43",
            "stopped": True,
        },
        {"name": "left 3", "turn": "next"},
        {"name": "left 4", "turn": "then"},
        {"name": "right 1"},
    ]
    return {"picture": {"places": places, "as_list": True}}


def _simple(kind: str, code: str, name: str, **more: object) -> Piece:
    entry = {"kind": kind, "code": code, "name": name, "noun": "Stud", "position": "left 3", "of": 16, **more}
    return {"entry": entry, **_list()}


def _tooth(cut: str) -> Piece:
    drawn = tooth_of(MARKS, "drive", cut)
    return _simple("choice", "270.b", "Where the mark lies", noun="Position", position="drive", of=2, tooth=drawn)


def _variants() -> dict[str, Piece]:
    go = [{"value": "go", "label": "Goes in"}, {"value": "no-go", "label": "Does not go"}]
    yes = [{"value": "yes", "label": "Yes"}, {"value": "no", "label": "No"}]
    ask = {"words": "8 is far from .0060 to .0100. Does the dial read 8.0000?", "value": "8"}
    stop = {
        "why": "backlash out, red tag 57",
        "who": "Calla Brightnell or Wenzel Orbach can decide.",
        "url": "#",
    }
    sign = {
        "may": True,
        "meaning": "I did this work, and every figure on this sheet is as I read it.",
        "kind": "did",
        "who": "Rusk Adeholm",
        "open": True,
    }
    return {
        "bolts": {},
        "bore": _bore(),
        "choice": _simple("go", "350.1", "Seat of the stud", choices=go, limits="must not go"),
        "tooth": _tooth("face-hobbed"),
        "yes": _simple("yes_no", "270.c", "Lock tab bent", choices=yes),
        "text": _simple("text", "160.b", "Heat pattern"),
        "photo": _simple("photo", "220.p", "Bolt circle with torque stripe", hint="The stripe must cross every bolt."),
        "passes": {
            "entry": {
                **TORQUE,
                "code": "80.2",
                "name": "Arc current",
                "noun": "Pass",
                "of": None,
                "position": "4",
                "unit": "A",
                "units": [],
                "limits": "190 to 230 A",
                "limits_other": "",
                "open_ended": True,
                "last_words": "That was the last pass",
            },
            **_list(),
        },
        "ask": {"entry": {**TORQUE, "value": "8", "ask": ask}},
        "refused": {
            "entry": {
                **TORQUE,
                "value": "10.55",
                "error": "10.55 is finer than G-042 reads: its step is 1 ft-lb.",
            }
        },
        "stopped": {
            "stopped": [stop],
            "entry": {
                "kind": "done",
                "code": "220.1",
                "name": "Final torque",
                "words": "Nothing may be entered",
                "then": "Set it down, or wait here.",
            },
        },
        "sign": {"finish": sign, "progress": "12 of 12"},
    }


def station(kind: str) -> Piece:
    """The whole context of a station page of this kind."""
    ring = {
        "drawing": pieces.ring(),
        "places": [{"name": "1", "shown": "104", "verdict": "in"}],
        "under": "Rusk Adeholm",
    }
    base: Piece = {**FRAME, "title_block": _block(), "entry": TORQUE, "latest": _latest(), "picture": ring}
    return base | _variants()[kind]
