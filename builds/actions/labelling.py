"""Print a label; a second print of the same one says why."""

from __future__ import annotations

from datetime import datetime

from builds.models import LabelPrint
from builds.reports.labels import find_label
from shop.badges import code_hash
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Badge, Item, Person, Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who

LONGEST_REASON = 200


def print_label(*, item: Item, kind: str, reason: str, by: Who, now: datetime | None = None) -> LabelPrint:
    """Log the print. A reprint needs its reason: two labels of one mark may not lie about unnoticed."""
    reason = " ".join(reason.split())
    if len(reason) > LONGEST_REASON:
        raise Refusal(f"The reason is longer than {LONGEST_REASON} characters. Shorten it.", field="reason")
    if find_label(item, kind) is None:
        raise Refusal(f"There is no label “{kind[:40]}” for {item.mark}. Choose one from the list of its labels.")
    with act("label.printed", subject=item.subject, by=by, now=now) as a:
        number = LabelPrint.objects.filter(item=item, kind=kind).count() + 1
        if number > 1 and not reason:
            raise Refusal(f"This label was printed before. Say why it is printed again ({number}).", field="reason")
        assert by.person is not None
        a.note(kind=kind, number=number, reason=reason)
        return a.create(
            LabelPrint,
            item=item,
            kind=kind,
            number=number,
            person=by.person,
            at=a.now,
            reason=reason if number > 1 else "",
        )


def print_badge(*, person: Person, code: str, by: Who, now: datetime | None = None) -> None:
    """Log the print of a badge that was just issued. Only the badge that the person holds now can be printed; its
    code is kept nowhere, so it is proved by its hash and never noted."""
    with act("badge.printed", subject=f"person:{person.code}", by=by, now=now) as a:
        require_role(by, Role.MANAGER, shop_day(a.now))
        held = Badge.objects.filter(person=person, revoked_at=None, code_hash=code_hash(code)).first()
        if held is None:
            raise Refusal(f"This is not the badge that {person.name} holds now. Issue a new one and print that.")
        a.note(issued=shop_day(held.issued_at).isoformat())
