"""Questions of one shape have one statement: its text is put together once, with blanks for what differs.

Putting it together took a quarter of the time of a small answer. A blank stands where a value of the question will
be; `asked.py` puts in those of one question.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from builds.reports.reach.cause import Between, Cause, CauseKind, Question, Together


class Blank(NamedTuple):
    """A value of the cause with this number, by what it is; `place` counts where a cause has several."""

    cause: int
    what: str
    place: int = 0


class ShapeOfCause(NamedTuple):
    """What the text of a statement depends on, of one cause."""

    kind: CauseKind
    is_one: bool
    steel: bool
    parts_of: int
    shifts: int
    begins: bool
    ends: bool


class Shape(NamedTuple):
    """And of a whole question."""

    together: Together
    causes: tuple[ShapeOfCause, ...]


def shape_of(question: Question) -> Shape:
    return Shape(question.together, tuple(_of_cause(cause) for cause in question.causes))


def _of_cause(cause: Cause) -> ShapeOfCause:
    begins, ends = cause.between.begin is not None, cause.between.end is not None
    is_one = len(cause.ids) == 1
    return ShapeOfCause(cause.kind, is_one, cause.steel, len(cause.parts_of), len(cause.shifts), begins, ends)


def blank_question(shape: Shape) -> Question:
    """A question of this shape with blanks for its values, of which a statement can be made but which asks nothing."""
    return Question([_blank_cause(number, one) for number, one in enumerate(shape.causes)], shape.together)


def _blank_cause(number: int, shape: ShapeOfCause) -> Cause:
    def blank(what: str, place: int = 0) -> Any:
        return Blank(number, what, place)

    between = Between(blank("begin") if shape.begins else None, blank("end") if shape.ends else None)
    shifts = tuple((blank("shift_begin", place), blank("shift_end", place)) for place in range(shape.shifts))
    kinds = tuple(blank("parts_of", place) for place in range(shape.parts_of))
    ids = (blank("id"),) * (1 if shape.is_one else 2)
    return Cause(shape.kind, ids, "", between, shifts, shape.steel, kinds)
