"""The statement of a question, its text kept by the question's shape."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from django.db import connection

from builds.reports.reach.blanks import Blank, Shape, blank_question, shape_of
from builds.reports.reach.cause import Question
from builds.reports.reach.listing import statement
from builds.reports.reach.statements import Values, as_ids, moment


def asked(question: Question) -> tuple[str, Values]:
    """As `listing.statement` gives it."""
    sql, values = _kept(connection.vendor, shape_of(question))
    return sql, [_value(question, value) if isinstance(value, Blank) else value for value in values]


@lru_cache(maxsize=256)
def _kept(_vendor: str, shape: Shape) -> tuple[str, Values]:
    return statement(blank_question(shape))


def _value(question: Question, blank: Blank) -> Any:
    cause = question.causes[blank.cause]
    match blank.what:
        case "id":
            return cause.ids[0]
        case "ids":
            return as_ids(cause.ids)
        case "begin":
            return moment(cause.between.begin)
        case "end":
            return moment(cause.between.end)
        case "parts_of":
            return cause.parts_of[blank.place]
        case "shift_begin" | "shift_end" as end:
            return moment(cause.shifts[blank.place][end == "shift_end"])
    raise ValueError(f"No value of a cause is called {blank.what}.")
