"""A question as it was typed: kept with a notice, so that the same question can be asked again on a later day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime

from builds.reports.reach.asking import between_days, cause_of
from builds.reports.reach.cause import Cause, Question, Together


@dataclass(frozen=True)
class Typed:
    """The fields of the reach list's form."""

    cause: str
    kind: str = ""
    day_from: date | None = None
    day_to: date | None = None
    other: str = ""
    other_kind: str = ""
    together: str = ""
    shift: str = ""

    def kept(self) -> dict[str, str]:
        """As plain text, for a row of the record; days as year-month-day, empty for none."""
        return {name: "" if value is None else str(value) for name, value in asdict(self).items()}


def typed_again(kept: Mapping[str, str]) -> Typed:
    """What was kept, as it was typed."""
    first, last = (date.fromisoformat(kept[name]) if kept[name] else None for name in ("day_from", "day_to"))
    return Typed(
        kept["cause"], kept["kind"], first, last, kept["other"], kept["other_kind"], kept["together"], kept["shift"]
    )


def question_of(typed: Typed, now: datetime) -> Question:
    """What the words name as things stand now. Raises Refusal, with its field, for what names nothing."""
    days = typed.day_from, typed.day_to
    between = between_days(*days, now)

    def one(words: str, kind: str, field: str) -> Cause:
        return cause_of(words, kind, between, days, typed.shift, field)

    causes = [one(typed.cause, typed.kind, "cause")]
    if typed.other.strip():
        causes.append(one(typed.other, typed.other_kind, "other"))
    return Question(causes, Together(typed.together or Together.SAME_WORK))
