"""What waits for a second signature, and what a red tag stops: the inspector's and engineer's lists."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Q

from builds.definitions.naming import with_side
from builds.definitions.words import ANY_SECOND_PERSON
from builds.models import Disposition, RedTag, Visit, VisitState
from builds.permissions import role_words
from builds.reports.kit import side_of


@dataclass(frozen=True)
class HoldRow:
    """One pass that waits for a signature: whose, since when, and who did the work."""

    visit: Visit
    side: str
    waits_for: str
    since: datetime
    did: str

    @property
    def named(self) -> str:
        operation = self.visit.operation
        return f"{operation.number} {with_side(operation.name, self.side.strip('-'))}"


def holds() -> list[HoldRow]:
    """Oldest first."""
    visits = (
        Visit.objects.filter(state=VisitState.WAIT_SIGN)
        .select_related(
            "axle__item", "axle__revision__model", "operation__station", "item__unit__revision__model", "claimed_by"
        )
        .prefetch_related("done_signatures__signature")
        .defer("axle__revision__text", "item__unit__revision__text")
    )
    rows = [_row(visit) for visit in visits]
    return sorted(rows, key=lambda row: row.since)


def _row(visit: Visit) -> HoldRow:
    operation = visit.bench.card_revision.card.operation(visit.operation.number)
    roles = operation.hold.by if operation.hold is not None else operation.beside or operation.on_reject
    words = "a second person" if ANY_SECOND_PERSON in roles else role_words(roles)
    signed = [done.signature.at for done in visit.done_signatures.all()]
    return HoldRow(
        visit, side_of(visit) or "-", words, max(signed, default=visit.claimed_at), visit.claimed_by.short_name
    )


@dataclass(frozen=True)
class TagRow:
    tag: RedTag
    disposition: Disposition | None


def count_tags() -> tuple[int, int]:
    """How many red tags wait for a decision, and how many there are. One query."""
    counted = RedTag.objects.aggregate(still=Count("pk", filter=Q(disposition=None)), every=Count("pk"))
    return counted["still"], counted["every"]


def red_tags(*, open_only: bool, first: int = 0, end: int | None = None) -> list[TagRow]:
    """Open ones first, oldest first; then the decided ones, newest first. Of that list the rows from `first` to before
    `end`. At most three queries."""
    tags = RedTag.objects.select_related(
        "item",
        "axle__item",
        "operation",
        "opened_by",
        "disposition__signature__person",
        "disposition__concession",
    )
    still = list(tags.filter(disposition=None).order_by("opened_at", "pk")[first:end])
    if open_only or (end is not None and len(still) == end - first):
        return [TagRow(tag, None) for tag in still]
    before = first + len(still) if still or not first else count_tags()[0]
    decided = tags.exclude(disposition=None).order_by("-opened_at", "-pk")
    over = decided[max(first - before, 0) : None if end is None else end - before]
    return [*(TagRow(tag, None) for tag in still), *(TagRow(tag, tag.disposition) for tag in over)]
