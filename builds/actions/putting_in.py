"""A part taken out after an axle's record was closed, while the axle is still here: another one goes into its place.

The frozen record stays as it is; out and in are rows marked as written after closing, as of an exchange after the axle
has left, and file, check page and customer's page tell of both. Only what nothing was measured with may be put in so:
where the card's table names the part, readings of the record would speak of another one, and nobody reads any more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from builds.actions.choosing import locked_with
from builds.actions.exchanging import meant_for, part_in
from builds.actions.removing import causes_of
from builds.actions.reopening import LONGEST_REASON, named_by, side_of_fit
from builds.definitions.unit_plan import read_on_part
from builds.errors import MovedOn, NotReady
from builds.models import Axle, Fitted, Phase
from builds.reports.closing import lost_since
from shop import entries
from shop.clock import shop_day
from shop.models import Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who

#: The buy-off saw another part there, so somebody who may look puts this one on record.
PUTS_IN = (Role.INSPECTOR, Role.ENGINEER, Role.QUALITY)


@dataclass(frozen=True)
class Empty:
    """A place that was emptied since the closing: the part that came out, and, if none may be put in, why not."""

    was: Fitted
    words: str
    why_not: str

    @property
    def key(self) -> str:
        """What tells its form from another one on the same page."""
        return str(self.was.pk)


def empty_places(axle: Axle) -> list[Empty]:
    """Every place of a closed axle that was emptied since, in the order of the card."""
    return [Empty(was, need.words, _why_not(axle, was, need.words)) for need, was in lost_since(axle)]


def put_in(*, axle: Axle, was: Fitted, scan: str, reason: str, by: Who, now: datetime | None = None) -> Fitted:
    """The scanned part into the place of one that was taken out after closing. Of two that are put into one place in
    the same second the second one is refused: the axle is locked."""
    reason = entries.line(reason, "reason", longest=LONGEST_REASON)
    item = meant_for(was.part, scan)
    with act("part.put_in_since", subject=axle.subject, also=locked_with(item), by=by, now=now) as a:
        require_role(by, PUTS_IN, shop_day(a.now))
        axle = Axle.objects.select_related("item", "revision__model", "line").get(pk=axle.pk)
        _require_closed_and_here(axle)
        place = next((one for one in empty_places(axle) if one.was.pk == was.pk), None)
        if place is None:
            raise MovedOn(f"Nothing is missing there in {axle.serial} any more. Look at the page again.", field="scan")
        if place.why_not:
            raise NotReady(place.why_not)
        row = part_in(a, axle, place.was, item)
        a.note(role=row.role, out=was.part.mark, into=item.mark, reason=reason)
        return row


def _require_closed_and_here(axle: Axle) -> None:
    if axle.closed_at is None:
        raise NotReady(f"The record of {axle.serial} is open. Fit the part at its operation.")
    if axle.scrapped_at is not None:
        raise NotReady(f"{axle.serial} is scrapped. Nothing is put into it any more.")
    if axle.phase in (Phase.GONE, Phase.BACK):
        raise NotReady(f"{axle.serial} has left. What is changed on it since is an exchange, on its returns page.")


def _why_not(axle: Axle, was: Fitted, words: str) -> str:
    numbers = _to_do_again(axle, was)
    if not numbers:
        return ""
    return (
        f"{words}: with another one operation {', '.join(map(str, numbers))} of {axle.serial} would be to do again, and"
        " its record is closed, so nobody reads there any more. This axle does not leave: open a red tag, have it"
        " scrapped by the decision, and book its place anew. What is good in it comes out on its file."
    )


def _to_do_again(axle: Axle, was: Fitted) -> Sequence[int]:
    side = side_of_fit(was)
    named = {key for cause in causes_of(axle, was) for key in named_by(axle.plan, cause, side)}
    named |= read_on_part(axle.plan, was.role, side).keys()
    return sorted({axle.plan.slot(key).operation.number for key in named})
