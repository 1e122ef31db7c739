"""Which thing was scanned, which need it fits, whether it may be used: rules that kit and station share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache, reduce
from operator import or_

from django.db.models import Q

from builds.actions.receiving import require_not_past_use, require_unexpired
from builds.actions.receiving_heats import require_free
from builds.definitions.words import Tracking
from builds.errors import Elsewhere, NotFree, OtherSet, UnknownMark, WrongKind
from builds.models import Axle, Bench, Fitted, KitLine, Phase, RedTag
from builds.reports.kit import NeedState
from builds.reports.marks import describe, find_items
from shop.clock import shop_day
from shop.codes import normalise_mark, parse_scan
from shop.errors import Refusal
from shop.models import Drum, Heat, Item, ItemKind, Lot, Part, PartKind, Piece, Place, Where
from shop.models.prepared import Prepared, number

KINDS = (ItemKind.PART, ItemKind.PIECE, ItemKind.LOT, ItemKind.DRUM, ItemKind.HEAT)


@dataclass(frozen=True)
class Thing:
    """Something that can go into an axle. A heat is of the kind of stock that it was taken in as."""

    item: Item
    kind: PartKind | None
    place: Place | None
    heat: Heat | None = None
    lot: Lot | None = None
    part: Part | None = None
    piece: Piece | None = None
    drum: Drum | None = None

    @property
    def set_mark(self) -> str:
        return self.part.set_mark if self.part else ""

    @property
    def has_one_place(self) -> bool:
        """A part or a cut piece is used up by one axle; a bar, a lot, a drum or a heat serves many."""
        return self.part is not None or (self.piece is not None and not self.is_bar)

    @property
    def is_bar(self) -> bool:
        return self.piece is not None and self.piece.parent_id is None


_PLACE = Prepared(lambda: Place.objects.filter(pk=number("item")).select_related("host"))
_PART = Prepared(lambda: Part.objects.filter(pk=number("item")).select_related("kind", "heat__item"))
_LOT = Prepared(lambda: Lot.objects.filter(pk=number("item")).select_related("kind", "item"))


@lru_cache(maxsize=4)
def _tags(count: int) -> Prepared[RedTag]:
    """The oldest open red tag on one of so many items."""
    asked = reduce(or_, (Q(item=number(f"item{place}")) for place in range(count)))
    return Prepared(lambda: RedTag.objects.open().filter(asked).select_related("item").order_by("pk")[:1])


def thing_of(item: Item) -> Thing:
    """Read the item afresh; call it under the lock before deciding anything."""
    place = _PLACE.first(item=item.pk)
    if item.kind == ItemKind.PART:
        part = _PART.one(item=item.pk)
        return Thing(item, part.kind, place, heat=part.heat, part=part)
    if item.kind == ItemKind.PIECE:
        piece = Piece.objects.select_related("kind", "heat__item").get(pk=item.pk)
        return Thing(item, piece.kind, place, heat=piece.heat, piece=piece)
    if item.kind == ItemKind.LOT:
        lot = _LOT.one(item=item.pk)
        return Thing(item, lot.kind, place, lot=lot)
    if item.kind == ItemKind.DRUM:
        drum = Drum.objects.select_related("lot__kind", "lot__item").get(pk=item.pk)
        return Thing(item, drum.lot.kind, place, lot=drum.lot, drum=drum)
    heat = Heat.objects.select_related("item").get(pk=item.pk)
    return Thing(item, PartKind.objects.filter(code=item.sort).first(), place, heat=heat)


def locked_with(item: Item) -> tuple[str, ...]:
    """What is locked beside the axle: a thing that is in one place only. A lot or a drum serves many axles at once,
    and a lock on it would make every bench wait for every other."""
    return (item.subject,) if item.kind in (ItemKind.PART, ItemKind.PIECE) else ()


def scanned(scan: str) -> list[Item]:
    """What carries this mark, or this set mark. Raises UnknownMark when nothing does."""
    found = find_items(scan, kinds=KINDS)
    if not found:
        read = parse_scan(scan)
        mark = read.mark if read is not None else normalise_mark(scan)
        found = [part.item for part in Part.objects.filter(set_mark=mark).select_related("item").order_by("pk")]
    if not found:
        shown = " ".join(scan.split())[:40]
        raise UnknownMark(f"Nothing here carries the mark “{shown}”. Scan it again, or take it in first.", field="scan")
    return found


def pick(items: Sequence[Item], needs: Sequence[NeedState]) -> tuple[Item, NeedState]:
    """The scanned item and the first need it fits, in the order of the card.

    Raises WrongKind when nothing fits, UnknownMark when two things of one kind carry the mark.
    """
    return pick_of([thing_of(item) for item in items], needs)


def pick_of(things: Sequence[Thing], needs: Sequence[NeedState]) -> tuple[Item, NeedState]:
    """As `pick`, of things that were read already."""
    pairs = [(thing.item, need) for need in needs for thing in things if fits(thing, need)]
    if not pairs:
        raise WrongKind(_why_not([thing.item for thing in things], needs), field="scan")
    first, need = pairs[0]
    rivals = [item for item, other in pairs if other is need and item != first]
    if rivals:
        names = ", ".join(describe(item) for item in (first, *rivals))
        raise UnknownMark(f"More than one thing carries this mark: {names}. Scan our own label.", field="scan")
    return first, need


def fits(thing: Thing, need: NeedState) -> bool:
    return thing.kind is not None and need.planned.takes(thing.kind.code)


def _why_not(items: Sequence[Item], needs: Sequence[NeedState]) -> str:
    what = " or ".join(describe(item) for item in items[:3])
    wanted = ", ".join(dict.fromkeys(need.kind_name for need in needs))
    return f"{what} is not what is needed. " + (f"Wanted: {wanted}." if wanted else "Nothing is open here.")


def require_usable(thing: Thing, day: date, *, held_too: bool = False) -> None:
    """Refuse what may go into no axle: refused or held steel, an expired lot, a shut drum, an open red tag.

    `held_too`: at the operation whose hold is the first look at a heat, held steel is what is looked at.
    """
    items = _stands_on(thing)
    tag = _tags(len(items)).first(**{f"item{place}": item.pk for place, item in enumerate(items)})
    if tag is not None:
        raise NotFree(f"{describe(tag.item)} has {tag} open: {tag.cause}. It waits for a decision.", field="scan")
    if thing.drum is not None and thing.drum.shut_at is not None:
        raise NotFree(
            f"{thing.item.mark} was shut on {shop_day(thing.drum.shut_at):%d %b %Y}. Open another.", field="scan"
        )
    if thing.kind is not None and thing.kind.tracking == Tracking.BULK and thing.drum is None:
        raise WrongKind(
            f"{thing.item.mark} is a lot. Scan the open drum of it, or open one in the material drawer.",
            field="scan",
        )
    if thing.drum is not None:
        require_not_past_use(thing.drum, day)
    elif thing.lot is not None:
        require_unexpired(thing.lot, day)
    if thing.heat is not None:
        require_free(thing.heat, held_too=held_too)


def _stands_on(thing: Thing) -> list[Item]:
    """The thing, and what it comes from: a red tag on a lot or a heat stops every drum and piece of it."""
    return [thing.item, *(found.item for found in (thing.lot, thing.heat) if found is not None)]


def require_at_hand(thing: Thing, bench: Bench) -> None:
    """Refuse what lies elsewhere, and name the place; what is set aside for this axle is at hand."""
    if thing.drum is not None and thing.lot is not None:
        _require_kept(thing.lot)
    place = thing.place
    if place is None or place.where in (Where.STOCK, Where.FLOOR):
        return
    if place.where == Where.KIT and place.host_id == bench.pk:
        return
    name = describe(thing.item)
    if place.where == Where.KIT:
        raise Elsewhere(f"{name} is already in the kit of {place.host}. Return it there first.", field="scan")
    if place.where == Where.FITTED:
        raise Elsewhere(f"{name} is already fitted in {host_words(thing.item)}.", field="scan")
    note = f" ({place.note})" if place.note else ""
    raise NotFree(f"{name} is {place.get_where_display()}{note} and cannot be used.", field="scan")


def _require_kept(lot: Lot) -> None:
    """A drum is no better than its lot: one that was set aside or sent away takes its open drums along."""
    place = Place.objects.filter(pk=lot.pk, where__in=(Where.SCRAP, Where.SUPPLIER, Where.QUARANTINE)).first()
    if place is not None:
        raise NotFree(f"Its {describe(lot.item)} is {place.get_where_display()} and cannot be used.", field="scan")


def host_words(item: Item) -> str:
    """What it is fitted in, and which axle that is of."""
    row = Fitted.objects.now().filter(part=item).select_related("host", "axle__item").first()
    if row is None:
        return "another axle"
    if row.axle is None or row.axle.item_id == row.host_id:
        return row.host.mark
    return f"{row.host.mark} of axle {row.axle.serial}"


def require_same_set(thing: Thing, need: NeedState, needs: Iterable[NeedState]) -> None:
    """Ring and pinion were lapped together: parts of one matched set carry one set mark of one maker."""
    name = need.planned.need.matched_set
    if not name:
        return
    if not thing.set_mark:
        raise OtherSet(
            f"{describe(thing.item)} has no set mark on record. It is part of a matched set: enter its mark.",
            field="scan",
        )
    for other in needs:
        if other is need or other.planned.need.matched_set != name:
            continue
        for item in _there(other):
            mate = Part.objects.select_related("supplier").filter(pk=item.pk).first()
            if mate is None or thing.part is None or _set_of(mate) == _set_of(thing.part):
                continue
            own, its = thing.set_mark, mate.set_mark
            if own == its:
                own, its = f"{own} of {thing.part.supplier}", f"{its} of {mate.supplier}"
            raise OtherSet(
                f"{describe(thing.item)} is of set {own}; the {other.kind_name} here is of set {its}."
                " Fetch the mate of one of them.",
                field="scan",
            )


def _set_of(part: Part) -> tuple[str, int | None]:
    """A set is known by its mark and its maker: two makers may well number their sets alike."""
    return part.set_mark, part.supplier_id


def _there(need: NeedState) -> list[Item]:
    rows: list[KitLine | Fitted] = [*need.aside, *need.fitted]
    return [row.part for row in rows]


def require_being_built(axle: Axle) -> None:
    if axle.scrapped_at is not None or axle.phase not in (Phase.BOOKED, Phase.KITTED, Phase.FLOOR):
        raise Refusal(f"Axle {axle.serial} is not being built any more: it is {axle.get_phase_display()}.")
