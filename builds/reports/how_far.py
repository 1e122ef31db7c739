"""How far a pass is: what is asked of the person at it, how much of that is entered, and what comes next.

Counted here and nowhere else, so that the floor, the waiting list, the axle file and the operation's own page say the
same of one and the same pass.
"""

from __future__ import annotations

from dataclasses import dataclass

from builds.definitions.words import Kind
from builds.reports.work import Work


@dataclass(frozen=True)
class HowFar:
    """`done` of `of` places are entered; `following`: the place that comes next, empty where none is left."""

    done: int
    of: int
    following: str = ""

    def __str__(self) -> str:
        """ "12 of 14, next 7"; empty where nothing is asked."""
        if not self.of:
            return ""
        return f"{self.done} of {self.of}" + (f", next {self.following}" if self.following else "")


def how_far(work: Work) -> HowFar:
    """Over the places that this axle needs and that a person fills: what is computed follows by itself, and what may
    stay blank (ticks, a row that this piece is not sampled for, a position more than asked) neither waits for anybody
    nor says that the work is further."""
    asked = [place for place in work.places if work.is_wanted(place) and place.asked.kind is not Kind.COMPUTED]
    following = work.next_place
    return HowFar(
        done=sum(place.last is not None for place in asked),
        of=len(asked),
        following=(following.position or following.asked.name) if following is not None else "",
    )
