"""What the bench advises at the pass in hand: the newest answer to each advice, as it was kept."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from builds.drawings.answers import drawn
from builds.reports.wording import clock
from builds.reports.work import Work
from measurements.bench.advice import ADVICE
from measurements.bench.answer import Answer, Tone
from measurements.models import Advised
from shop.models.prepared import Prepared, number

#: The sign beside the sentence, from the family of verdict signs.
SIGN = {Tone.GO: "in", Tone.DO: "ask", Tone.WAIT: "missing", Tone.STOP: "stopped", Tone.KNOW: "", Tone.UNKNOWN: "ask"}
WORD = {
    Tone.GO: "Go",
    Tone.DO: "Do this",
    Tone.WAIT: "Wait",
    Tone.STOP: "Stop",
    Tone.KNOW: "To know",
    Tone.UNKNOWN: "Not known",
}


_GIVEN = Prepared(lambda: Advised.objects.filter(sheet__visit_links__visit=number("visit")).order_by("pk"))


def advices(work: Work) -> list[dict[str, Any]]:
    """One query, and none at an operation whose card names no advice.

    What the next entry feeds stands first and whole; the others are brief, and undrawn as long as it has a drawing.
    """
    if not work.slot.operation.advice:
        return []
    rows = _GIVEN.all(visit=work.visit.pk)
    newest = {(row.name, row.side): row for row in rows}
    first = leading(work) or _last(list(newest.values()))
    rows_in_order = sorted(newest.values(), key=lambda row: row.name != first)
    found = [_shown(row, place) | {"brief": row.name != first} for place, row in enumerate(rows_in_order)]
    if any(one["drawing"] and not one["brief"] for one in found):
        found = [one | ({"drawing": None} if one["brief"] else {}) for one in found]
    return [one | ({"drawing": None} if _drawn_before(found[:number], one) else {}) for number, one in enumerate(found)]


def _drawn_before(earlier: Sequence[dict[str, Any]], one: dict[str, Any]) -> bool:
    """The same figures on the other side are the same picture."""
    return any(other["answer"].picture == one["answer"].picture for other in earlier)


def leading(work: Work) -> str:
    """The advice that the next entry feeds; empty where it feeds none."""
    place = work.next_place
    for call in work.slot.operation.advice:
        if place is not None and any(code == place.asked.code for _, code in call.inputs):
            return call.name
    return ""


def _last(rows: Sequence[Advised]) -> str:
    return max(rows, key=lambda row: row.pk).name if rows else ""


def _shown(row: Advised, number: int) -> dict[str, Any]:
    answer = Answer.from_json(row.answer)
    return shown(answer, key=f"advice-{number}") | {
        "title": f"{ADVICE[row.name].title}{f', {row.side}' if row.side else ''}" if row.name in ADVICE else row.name,
        "given": clock(row.at),
    }


def shown(answer: Answer, *, key: str) -> dict[str, Any]:
    """What components/answer.html takes."""
    return {
        "answer": answer,
        "sign": SIGN[answer.tone],
        "word": WORD[answer.tone],
        "drawing": drawn(answer.picture, key),
    }
