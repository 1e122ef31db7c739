"""Take a fitted part out, and re-open by itself what the card's table says depended on it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from builds.actions.fitting import take_out
from builds.actions.reopening import ask_of_another, reopen, reopen_for_cause, side_of_fit
from builds.actions.standing_in import counts_as
from builds.models import Bench, Fitted, Removal
from builds.reports.kit import slot_of
from builds.reports.units import unit_alone
from shop.record.act import act
from shop.record.who import Who

#: What the record calls the cause when the heat that was looked at is taken out.
LOOK = "heat_looked_at"


@dataclass(frozen=True)
class Out:
    """Why a part comes out and where it goes."""

    reason: str
    to: str
    note: str = ""


def remove_part(*, fitted: Fitted, out: Out, by: Who, now: datetime | None = None) -> tuple[Removal, list[str]]:
    """The removal, and the keys of the operations it re-opened. A closed record re-opens nothing: what happens
    to a shipped axle is told by rows of its own."""
    axle = fitted.axle
    subject = axle.subject if axle is not None else fitted.host.subject
    with act("part.removed", subject=subject, by=by, now=now) as a:
        removal = take_out(fitted=fitted, reason=out.reason, to=out.to, note=out.note, by=by, now=a.now)
        reopened: list[str] = []
        if axle is not None:
            axle.refresh_from_db(fields=["closed_at", "phase"])  # now that its chain is locked
        bench = axle if axle is not None else unit_alone(fitted.host)
        if bench is not None and bench.closed_at is None:
            for cause in causes_of(bench, fitted):
                reopened += reopen_for_cause(
                    bench=bench, cause=cause, reason=out.reason, by=by, side=side_of_fit(fitted), now=a.now
                )
            reopened += ask_of_another(a, bench, fitted, out.reason)
            if key := _look_of(bench, fitted):
                reopened += reopen(a, bench, {key: []}, cause=LOOK, reason=out.reason)
        a.note(part=fitted.part.mark, to=out.to, reason=out.reason, reopened=reopened)
    return removal, reopened


def causes_of(bench: Bench, fitted: Fitted) -> list[str]:
    """The causes of the card's table that taking out this part is: by its kind, or by the operation it went in at,
    where that one opens what was sealed."""
    kinds = counts_as(bench.card_revision.card, fitted.part)
    number = fitted.visit.operation.number if fitted.visit is not None else None
    rules = bench.card_revision.card.invalidates
    return [rule.cause for rule in rules if kinds & set(rule.parts) or number in rule.opened_by]


def _look_of(bench: Bench, fitted: Fitted) -> str:
    """The slot whose look this was, when steel is cut by it: without its heat it is to do again. Empty for the rest."""
    looks = {planned.need.heat_from for slot in bench.plan.slots for planned in slot.needs} - {""}
    if fitted.visit is None or not any(fitted.role in (role, f"{role} {side_of_fit(fitted)}") for role in looks):
        return ""
    return slot_of(fitted.visit).key
