"""Can this axle close, and if not why: exactly what is missing, each with the place where it is mended."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from django.db.models import Max

from builds.models import Axle, Certificate, Closing, Fitted, RedTag
from builds.reports.facts import standing
from builds.reports.kit import NeedState, needs_of
from shop.record.models import Job


@dataclass(frozen=True)
class Missing:
    """One thing that is missing. `number` and `side` name an operation, `tag` a red tag."""

    text: str
    number: int | None = None
    side: str = "-"
    tag: int | None = None


@dataclass(frozen=True)
class Making:
    """An issue that was signed and is not there yet."""

    issue: int
    error: str
    given_up: bool
    job: int = field(default=0, compare=False)


def render_key(axle: Axle, issue: int) -> str:
    """The key of the job that makes one issue: the same issue is never asked for twice."""
    return f"certificate:{axle.pk}:{issue}"


def being_made(axle: Axle) -> Making | None:
    """The issue that is asked for and not made yet; at most one."""
    made = Certificate.objects.filter(axle=axle).aggregate(last=Max("issue"))["last"] or 0
    job = Job.objects.filter(key=render_key(axle, made + 1)).first()
    if job is None:
        return None
    return Making(made + 1, job.error, job.state == Job.State.GIVEN_UP, job.pk)


def against_leaving(axle: Axle) -> str:
    """What happened since the record was closed that keeps the axle from being certified and from leaving; empty where
    nothing did: an open red tag, or a part that was taken out."""
    tag = RedTag.objects.open().filter(axle=axle).order_by("number").first()
    if tag is not None:
        return f"Red tag {tag.number} is open on {axle.serial}: {tag.cause}"
    if axle.scrapped_at is not None:
        return f"{axle.serial} is scrapped. It has left the build and goes nowhere."
    out = [need.words for need in _missing(axle)]
    if out:
        return (
            f"{out[0]} is not in {axle.serial} any more: it was taken out after the record was closed, which tells of"
            " it as fitted. An axle from which a part is missing does not leave. On its closing page another one is put"
            " in, or it says why none may be."
        )
    return ""


def _missing(axle: Axle) -> list[NeedState]:
    return [need for need in needs_of(axle) if need.to_fit and need.slot.operation.closing]


def lost_since(axle: Axle) -> list[tuple[NeedState, Fitted]]:
    """Of an axle whose record is closed, what is missing in it and the fit that was taken out there since; the newest
    first, as many as were taken out."""
    found = []
    for need in _missing(axle) if axle.closed_at is not None else ():
        gone = Fitted.objects.filter(host=need.host, role=need.role, removal__after_closing=True)
        rows = gone.select_related("part", "host", "visit__operation").order_by("-removal__at", "-pk")
        left = need.to_fit
        for row in rows:
            if left > 0:
                found.append((need, row))
                left -= row.quantity or Decimal(1)
    return found


def missing_for_closing(axle: Axle, now: datetime) -> list[Missing]:
    """Empty: the axle can close. Operations up to the buy-off, red tags, and parts that are not in."""
    if Closing.objects.filter(axle=axle).exists():
        return [Missing("The record of this axle is closed already.")]
    if axle.scrapped_at is not None:
        return [Missing("This axle is scrapped. It has no certificate.")]
    stands = standing(axle, now)
    found = [Missing(f"Red tag {tag.number} is open: {tag.cause}", tag=tag.number) for tag in stands.facts.tags]
    for view in stands.slots.values():
        operation = view.slot.operation
        if operation.closing and not view.finished:
            why = f" ({view.why})" if view.why else ""
            words = f"Operation {view.slot.named} is {view.state}{why}."
            found.append(Missing(words, operation.number, view.slot.side or "-"))
    done = {key for key, view in stands.slots.items() if view.finished}
    for need in needs_of(axle):
        if need.slot.key in done and need.to_fit:
            number = need.slot.operation.number
            words = f"Operation {number}: {need.words} is not in the axle."
            found.append(Missing(words, number, need.slot.side or "-"))
    return found
