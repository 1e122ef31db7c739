"""What a customer reads of notices on the page of an order: for their own axle only, no cause, no name, no note."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from builds.models import Axle, NoticeLine, RedTag, StepKind
from builds.reports.notices.standing import still_open
from builds.reports.reach.answer import Spot
from shop.clock import shop_day

_SAYS = {
    StepKind.TOLD: "You were told on {on:%d %b %Y}.",
    StepKind.ANSWERED: "You answered on {on:%d %b %Y}.",
    StepKind.INSPECTED: "It was inspected on {on:%d %b %Y}.",
    StepKind.EXCHANGED: "It was exchanged on {on:%d %b %Y}.",
    StepKind.CLOSED: "Closed for this axle on {on:%d %b %Y}.",
}


@dataclass(frozen=True)
class CustomerNotice:
    """`so_far`: sentences, the oldest first. `asks`: whether anything is still asked of the customer."""

    number: int
    at: datetime
    found: str
    ask: str
    so_far: tuple[str, ...]
    is_open: bool
    asks: bool


def notices_of(axles: Sequence[Axle]) -> dict[int, list[CustomerNotice]]:
    """By axle; three statements for any number. An axle that once had a part of it and has it no more is in none."""
    lines = (
        NoticeLine.objects.filter(axle__in=axles, is_axle=True)
        .exclude(spot=Spot.FORMERLY.key)
        .select_related("notice")
        .prefetch_related("stops__tag__disposition", "steps")
        .order_by("notice__number")
    )
    found: dict[int, list[CustomerNotice]] = defaultdict(list)
    for line in lines:
        tags = [stop.tag for stop in line.stops.all()]
        steps = sorted(line.steps.all(), key=lambda step: step.pk)
        notice, is_open = line.notice, still_open(tags, steps)
        so_far = (*_of_tags(tags), *(_SAYS[StepKind(step.kind)].format(on=step.on) for step in steps))
        asks = is_open and not tags
        assert line.axle_id is not None
        found[line.axle_id].append(
            CustomerNotice(notice.number, notice.opened_at, notice.found, notice.ask, so_far, is_open, asks)
        )
    return found


def _of_tags(tags: Sequence[RedTag]) -> list[str]:
    if any(not hasattr(tag, "disposition") for tag in tags):
        return ["It is in our house, and nothing is done with it until our engineer or inspector has decided."]
    return [f"Our engineer or inspector decided on {shop_day(tag.disposition.at):%d %b %Y}." for tag in tags]
