"""The foot of the station page: set down, something is wrong, the way back, progress, the signature."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from builds.actions.finishing import second_signatures
from builds.definitions.words import ANY_SECOND_PERSON, Kind
from builds.models import VisitState
from builds.permissions import role_words
from builds.reports.how_far import how_far
from builds.reports.pending import Pending, not_signable, ticks_left_out
from builds.reports.work import Work
from builds.views.station_frame import Refused
from shop.http import Asked

SENTENCES = {
    "did": "I did this work, and every figure on this sheet is as I read it.",
    "hold": "I looked at this work, I did none of it, and it may go on.",
    "beside": "I did this work together with the first signer.",
    "on reject": "I looked at the rejected value and agree with what was decided.",
}


def foot(request: Asked, work: Work, out: Sequence[Pending], refused: Refused | None) -> dict[str, Any]:
    operation, visit = work.slot.operation, work.visit
    in_hand = visit.state == VisitState.IN_HAND
    missing = not_signable(work, out) if in_hand else []
    posted = refused.posted if refused else {}
    foot: dict[str, Any] = {
        "set_down": {
            "may": in_hand and operation.may_set_down,
            "why_not": "" if operation.may_set_down else f"May not be set down: {operation.set_down_reason}",
            "note": posted.get("note", ""),
            "error": refused.text("set_down") if refused else "",
            "open": bool(refused and refused.form == "set_down"),
        },
        "wrong": {
            "text": posted.get("what", ""),
            "error": refused.text("wrong") if refused else "",
            "open": bool(refused and refused.form == "wrong"),
        },
        "progress": str(how_far(work)) or "nothing to enter",
        "finish": _finish(request, work, missing, refused),
        "back": _back(work, out if in_hand else []),
    }
    return foot


def _finish(request: Asked, work: Work, missing: Sequence[str], refused: Refused | None) -> dict[str, Any]:
    error = refused.text("finish") if refused else ""
    kept = {"who": request.person.name, "error": error, "open": bool(error), "left_out": ticks_left_out(work)}
    if work.visit.state == VisitState.WAIT_SIGN:
        part = next(iter(second_signatures(work)), "hold")
        kind = "did" if part == "beside" else "checked"
        press = {"hold": "Sign the hold", "beside": "Sign beside"}.get(part, "Sign")
        return kept | {
            "may": True,
            "meaning": SENTENCES[part],
            "kind": kind,
            "press": press,
            "part": part,
            "waits_for": _waits_for(work, part),
        }
    may = work.visit.state == VisitState.IN_HAND and not missing
    hold = work.slot.operation.hold
    sentence = SENTENCES["hold"] if hold is not None and hold.is_the_work else SENTENCES["did"]
    shown_missing = _short(work, missing)
    return kept | {"may": may, "missing": shown_missing, "meaning": sentence, "kind": "did", "part": ""}


def _short(work: Work, missing: Sequence[str]) -> list[str]:
    """What is missing, short enough for the foot: blanks by characteristic, then how much else there is."""
    blank: dict[str, list[str]] = {}
    for place in work.places:
        if place.last is None and work.is_wanted(place) and place.asked.kind is not Kind.COMPUTED:
            blank.setdefault(place.asked.code, []).append(place.position)
    lines = [f"{code}: {', '.join(filter(None, positions)) or 'no reading'}" for code, positions in blank.items()]
    others = len(missing) - sum(map(len, blank.values()))
    if not blank:
        return list(missing[:2])
    shown = [line if len(line) < 40 else f"{line[:37]} ..." for line in lines[:2]]
    more = len(lines) - len(shown) + others
    return [*shown, f"and {more} more"] if more else shown


def _waits_for(work: Work, part: str) -> str:
    operation = work.slot.operation
    if part == "beside":
        return role_words(operation.beside)
    if part == "on reject":
        return role_words(operation.on_reject)
    assert operation.hold is not None
    if ANY_SECOND_PERSON in operation.hold.by:
        return "a second person who did none of it"
    return role_words(operation.hold.by)


def _back(work: Work, out: Sequence[Pending]) -> dict[str, str] | None:
    """The way back that the card sets for an out-of-limit value: the end of this try."""
    sent = [found for found in out if found.consequence.kind == "back"]
    if not sent:
        return None
    target = min(found.consequence.back_to or 0 for found in sent)
    own = work.visit.operation.number
    press = f"End this try, begin {own} again" if target == own else f"End this try, back to {target}"
    return {"press": press}
