"""What a reach list is asked: causes, and how several of them go together. Pure; ids come from whoever looked them up.

A thing (a heat, a bar, a lot ...) touches what was made of it and what it was fitted into, for ever. Work (a gauge, a
person ...) touches what was worked on or measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class CauseKind(StrEnum):
    """The value stands in the page's address."""

    ITEM = "item"
    MATCHED_SET = "set"
    SUPPLIER = "supplier"
    GAUGE = "gauge"
    PERSON = "person"
    PROCEDURE = "procedure"
    TERMINAL = "terminal"
    STATION_SHIFT = "shift"
    REVISION = "revision"


#: Causes that are things: their way to an axle leads over the parts tree.
THINGS = (CauseKind.ITEM, CauseKind.MATCHED_SET, CauseKind.SUPPLIER)


class Together(StrEnum):
    """How several causes are taken together."""

    EITHER = "either"
    BOTH = "both"  # touched by every one of them, whenever and wherever
    SAME_WORK = "same"  # by every one of them at one and the same piece of work


@dataclass(frozen=True)
class Between:
    """From the beginning of one day up to, not including, the beginning of another; None: without that end."""

    begin: datetime | None = None
    end: datetime | None = None

    def holds(self, at: datetime) -> bool:
        return (self.begin is None or at >= self.begin) and (self.end is None or at < self.end)

    @property
    def is_open(self) -> bool:
        return self.begin is None and self.end is None


@dataclass(frozen=True)
class Cause:
    """One cause. `ids`: of the items, or of the one gauge, person, procedure, terminal, station or revision.

    `between` is when it was fitted, measured or worked on. `shifts`: begin and end of each shift asked about.
    `steel`: whether bar stock of unknown melt may be of it; `parts_of`: the kinds of serial parts whose melts are asked
    about. `typed`, `day_from` and `day_to` are the words of the question.
    """

    kind: CauseKind
    ids: tuple[int, ...]
    words: str
    between: Between = Between()
    shifts: tuple[tuple[datetime, datetime], ...] = ()
    steel: bool = False
    parts_of: tuple[str, ...] = ()
    typed: str = ""
    day_from: date | None = None
    day_to: date | None = None

    @property
    def is_thing(self) -> bool:
        return self.kind in THINGS


@dataclass(frozen=True)
class Question:
    causes: Sequence[Cause]
    asked: Together = Together.BOTH

    @property
    def together(self) -> Together:
        """One cause alone goes together with nothing."""
        return self.asked if len(self.causes) > 1 else Together.EITHER
