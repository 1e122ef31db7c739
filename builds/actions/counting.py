"""How much of a lot is left, what lies in quarantine, and what was not here yet on the day it is said to be fitted."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.db.models import Sum

from builds.actions.choosing import Thing
from builds.actions.identities import TAKES_IN
from builds.errors import NotFree, WrongKind
from builds.models import Delivered, Fitted, KitLine, LotCount, Visit
from builds.reports.kit import shown
from builds.reports.marks import describe
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Heat, HeatStatus, Item, ItemKind, Lot, Person, Piece, Place, Role, Tracking, Where
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who

LONGEST_REASON = 200
#: Below so many left, benches that take of one lot wait for each other; above it none can take the last.
NEARLY_OUT = 100
MOST = 1_000_000


def require_left(thing: Thing, count: Decimal) -> None:
    """Refuse more of a counted lot than came. A lot taken in without a count is not counted.

    Race: two benches that take the last parts of one lot. Near its end the lot's row is locked, and counted again."""
    lot = thing.lot
    if lot is None or thing.drum is not None or not lot.received or lot.kind.tracking != Tracking.LOT:
        return
    if lot.received - used_of(lot) - count < NEARLY_OUT:
        lot = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)
    left = lot.received - used_of(lot)
    if count > left:
        raise NotFree(
            f"Lot {lot.item.mark} has {shown(max(left, Decimal(0)))} left of {lot.received} that came; {shown(count)}"
            " are wanted. Take another lot, or have receiving count this one again.",
            field="scan",
        )


def used_of(lot: Lot) -> Decimal:
    """How many of it are in axles now, or came out of one and not back to its shelf."""
    total = Fitted.objects.used_up().filter(part=lot.item_id).aggregate(total=Sum("quantity"))["total"]
    return Decimal(total or 0)


def count_again(*, lot: Lot, received: int, reason: str, by: Who, now: datetime | None = None) -> LotCount:
    """A new count of what came of a lot; the old ones stay. Fewer than are used already cannot have come."""
    reason = _reason(reason)
    with act("lot.counted", subject=lot.item.subject, by=by, now=now) as a:
        require_role(by, TAKES_IN, shop_day(a.now))
        kept = Lot.objects.select_related("item", "kind").get(pk=lot.pk)
        if kept.kind.tracking != Tracking.LOT:
            raise WrongKind(f"{kept.kind} is not counted; its drums tell what is open.", field="received")
        used = used_of(kept)
        if not 0 < received <= MOST or received < used:
            raise Refusal(
                f"{received} cannot have come: {shown(used)} of lot {kept.item.mark} are used. Count again.",
                field="received",
            )
        a.note(was=kept.received, received=received, reason=reason)
        row = a.create(LotCount, lot=kept, received=received, reason=reason, person=_person(by), at=a.now)
        a.update(kept, received=received)
        return row


def quarantine(*, item: Item, inside: bool, reason: str, by: Who, now: datetime | None = None) -> Place:
    """Set a bar, lot, drum or part in quarantine, or let an inspector take it out again."""
    reason = _reason(reason)
    with act("item.quarantined" if inside else "item.let_out", subject=item.subject, by=by, now=now) as a:
        require_role(by, TAKES_IN if inside else Role.INSPECTOR, shop_day(a.now))
        place = Place.objects.filter(pk=item.pk).first()
        if item.kind not in (ItemKind.PIECE, ItemKind.LOT, ItemKind.DRUM, ItemKind.PART) or place is None:
            raise WrongKind(f"{describe(item)} is not set in quarantine. Stop it by a red tag.", field="reason")
        if inside and (place.where not in (Where.STOCK, Where.FLOOR) or _in_a_kit(item)):
            raise Refusal(f"{describe(item)} is not in stock. Stop it by a red tag where it is.", field="reason")
        if not inside:
            _may_leave(item, place)
        a.note(reason=reason)
        where = Where.QUARANTINE if inside else Where.FLOOR if item.kind == ItemKind.DRUM else Where.STOCK
        return a.update(place, where=where, host=None, note=reason[:120] if inside else "", since=a.now)


def _may_leave(item: Item, place: Place) -> None:
    if place.where != Where.QUARANTINE:
        raise Refusal(f"{describe(item)} is {place.get_where_display()}, not in quarantine.", field="reason")
    piece = Piece.objects.filter(pk=item.pk).select_related("heat").first()
    if piece is not None and piece.heat is None:
        raise Refusal(
            f"The heat of {item.mark} is not determinable, and stays so: it is never used in an axle.", field="reason"
        )
    part = getattr(item, "part", None) if item.kind == ItemKind.PART else None
    heat: Heat | None = piece.heat if piece is not None else part.heat if part is not None else None
    if heat is not None and heat.status == HeatStatus.REFUSED:
        raise NotFree(f"Heat {heat.item.mark} was refused. Nothing of it leaves quarantine; send it back.")


def _in_a_kit(item: Item) -> bool:
    return KitLine.objects.filter(part=item, returned_at=None).exists()


def require_was_here(thing: Thing, visit: Visit) -> None:
    """Refuse a late entry that fits a thing on a day before it came."""
    if visit.worked_at is None:
        return
    day, came = shop_day(visit.worked_at), _came_on(thing)
    if came is not None and day < came:
        raise NotFree(
            f"{describe(thing.item)} came on {came:%d %b %Y}; the work is said to be of {day:%d %b %Y}. Look at the"
            " label and at the day again: one of them is wrong.",
            field="scan",
        )


def _came_on(thing: Thing) -> date | None:
    """The day on its packing slip, else the day a lot came or a drum was opened; else nothing is known."""
    if thing.drum is not None:
        return shop_day(thing.drum.opened_at)
    items = [thing.item.pk, *([thing.piece.parent_id] if thing.piece is not None and thing.piece.parent_id else [])]
    slip = Delivered.objects.filter(item__in=items).select_related("delivery").first()
    if slip is not None:
        return slip.delivery.came_on
    return thing.lot.received_on if thing.lot is not None else None


def _reason(reason: str) -> str:
    found = " ".join(reason.split())
    if not found or len(found) > LONGEST_REASON:
        raise Refusal(f"Say why, in at most {LONGEST_REASON} characters.", field="reason")
    return found


def _person(by: Who) -> Person:
    if by.person is None:
        raise Refusal("Nobody is signed in. Sign in first.")
    return by.person
