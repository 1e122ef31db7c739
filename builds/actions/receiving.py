"""What must be known of bars, lots, drums and parts before they can be used: maker, mark, heat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from builds.actions.identities import TAKES_IN, identity, put_down
from builds.actions.papers import bring
from builds.errors import AlreadyThere, NotFree, WrongKind
from builds.models import Delivery
from shop import entries
from shop.clock import shop_day
from shop.codes import normalise_mark
from shop.errors import Refusal
from shop.models import (
    Drum,
    Heat,
    HeatStatus,
    ItemKind,
    Lot,
    Part,
    PartKind,
    Piece,
    Place,
    Role,
    Supplier,
    Tracking,
    Where,
)
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who

OPENS_DRUMS = tuple(role for role in Role if role not in (Role.OFFICE, Role.MANAGER))
LONGEST_OWN_MARK = 14


@dataclass(frozen=True)
class NewBar:
    """A length of steel as it came, or a remnant. Without a heat it is not determinable for ever."""

    mark: str
    kind: PartKind
    heat: Heat | None = None
    length: Decimal | None = None
    mark_readable: bool = True
    sure: bool = False
    delivery: Delivery | None = None


@dataclass(frozen=True)
class NewLot:
    mark: str
    kind: PartKind
    supplier: Supplier
    received_on: date
    received: int = 0
    expires_on: date | None = None
    use_within_days: int | None = None
    sure: bool = False
    delivery: Delivery | None = None


@dataclass(frozen=True)
class NewPart:
    """A part with a serial. `facts` are what stands on it: pinion mark, etched backlash ..."""

    mark: str
    kind: PartKind
    supplier: Supplier
    heat: Heat | None = None
    set_mark: str = ""
    facts: Mapping[str, str] = field(default_factory=dict)
    sure: bool = False
    delivery: Delivery | None = None


def take_in_bar(*, bar: NewBar, by: Who, now: datetime | None = None) -> Piece:
    if bar.kind.tracking != Tracking.PIECE:
        raise WrongKind(f"{bar.kind} is kept {bar.kind.get_tracking_display()}, not by piece.", field="kind")
    if bar.length is not None and bar.length <= 0:
        raise Refusal("A bar is longer than nothing. Type its length in inches.", field="length")
    if bar.heat is None and bar.mark_readable:
        raise Refusal(
            "Name the heat that is stamped on the bar, or say that no mark can be read: then its heat stays"
            " not determinable.",
            field="heat",
        )
    who = identity(ItemKind.PIECE, bar.mark, sort=bar.kind.code, longest=LONGEST_OWN_MARK)
    also = (bar.heat.item.subject,) if bar.heat else ()
    with act("bar.taken_in", subject=who.item.subject, also=also, by=by, now=now) as a:
        require_role(by, TAKES_IN, shop_day(a.now))
        if bar.heat is not None:
            _not_refused(Heat.objects.select_related("item").get(pk=bar.heat.pk))
        a.note(heat=bar.heat.item.mark if bar.heat else "not determinable", length=bar.length)
        item = put_down(a, who, Where.STOCK if bar.heat else Where.QUARANTINE, sure=bar.sure)
        bring(a, bar.delivery, item)
        return a.create(
            Piece,
            item=item,
            kind=bar.kind,
            heat=bar.heat,
            length=bar.length,
            mark_readable=bar.mark_readable,
        )


def take_in_lot(*, lot: NewLot, by: Who, now: datetime | None = None) -> Lot:
    """Take in a lot of counted parts, or of a bulk good whose drums are opened later."""
    if lot.kind.tracking not in (Tracking.LOT, Tracking.BULK):
        raise WrongKind(f"{lot.kind} is kept {lot.kind.get_tracking_display()}, not by lot.", field="kind")
    if lot.received < 0:
        raise Refusal("The count is below nothing. Count what came, and type it.", field="received")
    who = identity(ItemKind.LOT, lot.mark, sort=lot.kind.code, maker=lot.supplier.code)
    with act("lot.taken_in", subject=who.item.subject, by=by, now=now) as a:
        today = shop_day(a.now)
        require_role(by, TAKES_IN, today)
        if lot.received_on > today:
            raise Refusal("The day it came lies ahead. Type the day on the packing slip.", field="received_on")
        entries.day(lot.received_on, "day it came", field="received_on")
        if lot.expires_on is not None and entries.day(lot.expires_on, "last day", field="expires_on") < today:
            raise NotFree(
                f"Lot {who.mark} expired on {lot.expires_on:%d %b %Y}. It is not taken in; send it back.",
                field="expires_on",
            )
        _check_open_days(lot)
        a.note(supplier=lot.supplier.code, received=lot.received)
        item = put_down(a, who, Where.STOCK, sure=lot.sure)
        bring(a, lot.delivery, item)
        return a.create(
            Lot,
            item=item,
            kind=lot.kind,
            supplier=lot.supplier,
            received_on=lot.received_on,
            received=lot.received,
            expires_on=lot.expires_on,
            use_within_days=lot.use_within_days,
        )


def _check_open_days(lot: NewLot) -> None:
    if lot.use_within_days is None:
        return
    if lot.kind.tracking != Tracking.BULK:
        raise Refusal(
            f"{lot.kind} is counted by lot and is not opened. Leave the days after opening empty.",
            field="use_within_days",
        )
    entries.whole(lot.use_within_days, "number of days after opening", least=0, most=3650, field="use_within_days")


def open_drum(*, lot: Lot, mark: str, by: Who, now: datetime | None = None) -> Drum:
    """Open a container of a bulk good; from now on it is what is scanned."""
    who = identity(ItemKind.DRUM, mark, sort=lot.kind.code, longest=LONGEST_OWN_MARK)
    with act("drum.opened", subject=who.item.subject, also=(lot.item.subject,), by=by, now=now) as a:
        require_role(by, OPENS_DRUMS, shop_day(a.now))
        kept = Lot.objects.select_related("kind", "item").get(pk=lot.pk)
        if kept.kind.tracking != Tracking.BULK:
            raise WrongKind(f"{kept.kind} is counted by lot; it has no drum to open.", field="lot")
        require_unexpired(kept, shop_day(a.now))
        a.note(lot=kept.item.mark)
        item = put_down(a, who, Where.FLOOR, sure=False)
        return a.create(Drum, item=item, lot=kept, opened_at=a.now)


def shut_drum(*, drum: Drum, by: Who, now: datetime | None = None) -> Drum:
    """Empty, or past use: nothing is taken from it any more."""
    with act("drum.shut", subject=drum.item.subject, by=by, now=now) as a:
        require_role(by, OPENS_DRUMS, shop_day(a.now))
        kept = Drum.objects.select_related("item").get(pk=drum.pk)
        if kept.shut_at is not None:
            raise Refusal(f"{kept.item.mark} was already shut on {shop_day(kept.shut_at):%d %b %Y}.")
        place = Place.objects.get(pk=kept.pk)
        a.update(place, where=Where.SCRAP, since=a.now)
        return a.update(kept, shut_at=a.now)


def take_in_part(*, part: NewPart, by: Who, now: datetime | None = None) -> Part:
    if part.kind.tracking != Tracking.SERIAL:
        raise WrongKind(f"{part.kind} is kept {part.kind.get_tracking_display()}, not by serial.", field="kind")
    set_mark = normalise_mark(part.set_mark)
    who = identity(ItemKind.PART, part.mark, sort=part.kind.code, maker=part.supplier.code)
    also = (part.heat.item.subject,) if part.heat else ()
    with act("part.taken_in", subject=who.item.subject, also=also, by=by, now=now) as a:
        require_role(by, TAKES_IN, shop_day(a.now))
        if part.heat is not None:
            _not_refused(Heat.objects.select_related("item").get(pk=part.heat.pk))
        same = Part.objects.filter(kind=part.kind, supplier=part.supplier, set_mark=set_mark)
        other = same.select_related("item").first()
        if set_mark and other is not None:
            raise AlreadyThere(
                f"Set {set_mark} of {part.supplier} already has its {part.kind}: {other.item.mark}."
                " Read the set number again.",
                field="set_mark",
            )
        a.note(supplier=part.supplier.code, set_mark=set_mark, facts=dict(part.facts))
        item = put_down(a, who, Where.STOCK, sure=part.sure)
        bring(a, part.delivery, item)
        return a.create(
            Part,
            item=item,
            kind=part.kind,
            supplier=part.supplier,
            heat=part.heat,
            set_mark=set_mark,
            facts={name: value.strip() for name, value in part.facts.items() if value.strip()},
        )


def require_unexpired(lot: Lot, day: date) -> None:
    """The day printed on a lot is the last on which it may be used (common practice, no source)."""
    if lot.expires_on is not None and lot.expires_on < day:
        raise NotFree(
            f"Lot {lot.item.mark} expired on {lot.expires_on:%d %b %Y}. Set it aside and take another lot.",
            field="scan",
        )


def require_not_past_use(drum: Drum, day: date) -> None:
    """What is opened keeps for so many days only, however long the lot would."""
    require_unexpired(drum.lot, day)
    if drum.last_day is not None and drum.last_day < day:
        raise NotFree(
            f"{drum.item.mark} was opened on {shop_day(drum.opened_at):%d %b %Y} and could be used to the end of"
            f" {drum.last_day:%d %b %Y}. Shut it and open another.",
            field="scan",
        )


def _not_refused(heat: Heat) -> None:
    if heat.status == HeatStatus.REFUSED:
        raise NotFree(f"Heat {heat.item.mark} was refused. Nothing of it is taken in; send it back.", field="heat")
