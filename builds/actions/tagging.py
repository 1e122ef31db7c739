"""Red tags: something is wrong, and everything that depends on it waits for a decision."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max

from builds.models import Axle, Operation, RedTag, Visit
from builds.permissions import require_hand
from measurements.models import Reading
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who

NUMBERS = "counter:red-tags"
LONGEST_CAUSE = 400
MAY_TAG_AXLES = (Role.INSPECTOR, Role.ENGINEER, Role.QUALITY, Role.LEAD_BUILDER, Role.MANAGER)


@dataclass(frozen=True)
class Wrong:
    """What a red tag lies on and why."""

    item: Item
    cause: str
    axle: Axle | None = None
    operation: Operation | None = None
    reading: Reading | None = None
    stops_axle: bool = False


def open_tag(*, wrong: Wrong, by: Who, now: datetime | None = None) -> RedTag:
    """Open a red tag. Numbers run on without a gap: the counter's chain is locked with the subject's."""
    cause = " ".join(wrong.cause.split())
    if not cause:
        raise Refusal("Say in a few words what is wrong.", field="cause")
    if len(cause) > LONGEST_CAUSE:
        raise Refusal(f"The text is longer than {LONGEST_CAUSE} characters. Shorten it.", field="cause")
    subject = wrong.axle.subject if wrong.axle is not None else wrong.item.subject
    with act("tag.opened", subject=subject, by=by, now=now, also=(NUMBERS,)) as a:
        number = (RedTag.objects.aggregate(last=Max("number"))["last"] or 0) + 1
        a.note(number=number, cause=cause, item=wrong.item.mark)
        assert by.person is not None, "a red tag is opened by a person"
        return a.create(
            RedTag,
            number=number,
            item=wrong.item,
            axle=wrong.axle,
            operation=wrong.operation,
            reading=wrong.reading,
            cause=cause,
            stops_axle=wrong.stops_axle,
            opened_by=by.person,
            opened_at=a.now,
            after_closing=wrong.axle is not None and _closed(wrong.axle),
        )


def _closed(axle: Axle) -> bool:
    """Read under the lock: the axle that a page was drawn from may have been closed meanwhile."""
    return Axle.objects.filter(pk=axle.pk, closed_at__isnull=False).exists()


def report_wrong(*, visit: Visit, cause: str, by: Who, now: datetime | None = None) -> RedTag:
    """A worker presses "something is wrong": the operation and all that depends on it stops."""
    with act("wrong.reported", subject=visit.subject, by=by, now=now) as a:
        require_hand(by, visit, a.now)
        return open_tag(wrong=Wrong(visit.item, cause, visit.axle, visit.operation), by=by, now=a.now)


def tag_axle(*, axle: Axle, cause: str, by: Who, now: datetime | None = None) -> RedTag:
    """Stop a whole axle, at whatever operation it is."""
    with act("wrong.reported", subject=axle.subject, by=by, now=now) as a:
        require_role(by, MAY_TAG_AXLES, shop_day(a.now))
        return open_tag(wrong=Wrong(axle.item, cause, axle, stops_axle=True), by=by, now=a.now)
