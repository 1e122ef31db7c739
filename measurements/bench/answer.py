"""The shape of an answer: one sentence, its figures, its reasons, what it assumed and where it comes from.

An answer is plain data. It is stored as JSON beside the try it was given for, printed, read by a script and shown on
a page, always the same.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any, Self

#: press band: the pair's force inside the card's window, and the peak; thermometer and window: what is read on a scale
#: with what is needed and what is too much; film: the spots of a paint film between its limits; round: backlash points
#: with the once-per-turn fit; bolts: the order on the circle; teeth: the mark on the drive and the coast flank;
#: section: a tube cut across; turn: a figure over one turn.
PICTURES = ("press band", "thermometer", "window", "film", "round", "bolts", "teeth", "section", "turn")


class Tone(StrEnum):
    """What the answer asks of the hands; the page shows it as word and sign, never as colour alone."""

    GO = "go"  # go on
    DO = "do"  # do this first: move a shim, warm, set the wrench
    WAIT = "wait"
    STOP = "stop"
    KNOW = "know"  # a figure to know, nothing to decide
    UNKNOWN = "unknown"  # not to be told from what is there; the answer says what is missing


@dataclass(frozen=True, slots=True)
class Line:
    """One figure of an answer, rounded for show: "8.4 tons", in the other unit, and what it is."""

    name: str
    value: str
    other: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Picture:
    """What to draw and from which figures; the drawing itself is made where pages are made.

    `kind` is one of PICTURES; `data` holds strings, numbers, and lists and mappings of them.
    """

    kind: str
    data: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer.

    says     one sentence in plain words, with the figure in it
    reason   why, a sentence each
    worked   the formula with the numbers put in, a line each
    assumed  what was taken as given and could be wrong, a sentence each
    source   where the formula and the fixed figures come from
    validity the range it holds in
    caution  the usual caution of this work
    """

    says: str
    tone: Tone = Tone.KNOW
    lines: tuple[Line, ...] = ()
    reason: tuple[str, ...] = ()
    worked: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    source: str = ""
    validity: str = ""
    caution: tuple[str, ...] = ()
    picture: Picture | None = None

    def as_json(self) -> str:
        """The same text for the same answer."""
        return json.dumps(asdict(self), ensure_ascii=False, sort_keys=True, separators=(",", ":"))

    @classmethod
    def from_json(cls, text: str) -> Self:
        """The answer as it was given; a text that is no answer is a ValueError."""
        told = json.loads(text)
        if not isinstance(told, dict):
            raise ValueError("An answer is a JSON object.")
        told["tone"] = Tone(told["tone"])
        told["lines"] = tuple(Line(**line) for line in told["lines"])
        told["picture"] = Picture(**told["picture"]) if told["picture"] else None
        for name in ("reason", "worked", "assumed", "caution"):
            told[name] = tuple(told[name])
        return cls(**told)


def unknown(says: str, *missing: str) -> Answer:
    """The answer that is none: what it would need, by name."""
    return Answer(says, Tone.UNKNOWN, reason=missing)
