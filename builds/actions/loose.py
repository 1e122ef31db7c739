"""Red tags on what is in no axle: a part, a piece, a lot, a drum or a heat goes to the red-tag shelf until decided."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from builds.actions.choosing import KINDS, host_words, thing_of
from builds.actions.kitting import out_of_kit
from builds.actions.tagging import Wrong, open_tag
from builds.errors import Elsewhere, MovedOn, NotYours
from builds.models import Decision, KitLine, RedTag, Unit
from builds.reports.marks import describe
from shop.errors import Refusal
from shop.models import Heat, HeatStatus, Item, ItemKind, Place, Where
from shop.record.act import Act, act
from shop.record.who import Who

#: Where a thing may lie and still be stopped by moving it: what is gone, or in quarantine, stays where it is.
LIES = (Where.STOCK, Where.FLOOR)


def tag_loose(*, item: Item, cause: str, by: Who, now: datetime | None = None) -> RedTag:
    """Anybody at work may stop a thing: it leaves its kit and goes to the red-tag shelf, and nobody can use it.

    What is fitted, and a unit, is stopped with its axle. Race: the kit's axle is locked too, and the kit is read
    again under the lock, so a thing that is fitted in the same second is refused here.
    """
    axle = Unit.objects.filter(pk=item.pk).select_related("axle__item").first()
    lines = KitLine.objects.filter(part=item, returned_at=None).select_related("axle__item", "axle__revision__model")
    also = tuple({line.axle.subject for line in lines} if item.kind in (ItemKind.PART, ItemKind.PIECE) else ())
    subject = axle.axle.subject if axle is not None and axle.axle is not None else item.subject
    with act("wrong.reported", subject=subject, by=by, now=now, also=also) as a:
        if by.person is None or by.person.retired_at is not None:
            raise NotYours("Nobody is signed in. Sign in first; a red tag carries a name.")
        if axle is not None:
            return open_tag(wrong=Wrong(item, cause, axle.axle, stops_axle=axle.axle is not None), by=by, now=a.now)
        if item.kind not in KINDS:
            raise Refusal(f"{describe(item)} is stopped on its own page, not here.")
        _refuse_fitted(item)
        if item.kind in (ItemKind.PART, ItemKind.PIECE) and {line.axle.subject for line in lines.all()} - set(also):
            raise MovedOn(f"{describe(item)} was set aside for an axle meanwhile. Press again.", field="cause")
        tag = open_tag(wrong=Wrong(item, cause), by=by, now=a.now)
        to_shelf(a, item)
        return tag


def kits_with(items: Collection[Item]) -> list[str]:
    """The chains of the axles in whose kits these lie."""
    lines = KitLine.objects.filter(part__in=items, returned_at=None).select_related("axle__item")
    return sorted({line.axle.subject for line in lines})


def _refuse_fitted(item: Item) -> None:
    if Place.objects.filter(pk=item.pk, where=Where.FITTED).exists():
        raise Elsewhere(
            f"{describe(item)} is fitted in {host_words(item)}. Tag it on that axle's file, so that the axle stops.",
            field="cause",
        )


def to_shelf(a: Act, item: Item) -> None:
    """Out of its kit, and from where it lies, to the red-tag shelf."""
    thing = thing_of(item)
    if thing.has_one_place and thing.place is not None and thing.place.where == Where.KIT:
        for line in KitLine.objects.filter(part=item, returned_at=None).select_related("axle__revision__model"):
            out_of_kit(a, line, thing, Where.RED_TAG)
    elif thing.place is not None and thing.place.where in LIES:
        a.update(thing.place, where=Where.RED_TAG, host=None, note="", since=a.now)


def settle_loose(a: Act, item: Item, decision: str) -> None:
    """Carry out what was decided: kept things go back to stock, the others to the scrap bin or the supplier.

    A heat that is scrapped or sent back is refused from then on, with every bar of it.
    """
    place = Place.objects.filter(pk=item.pk).first()
    if decision in (Decision.SCRAP, Decision.RETURN):
        move(a, item, Where.SCRAP if decision == Decision.SCRAP else Where.SUPPLIER)
        heat = Heat.objects.filter(pk=item.pk).first()
        if heat is not None:
            a.update(heat, status=HeatStatus.REFUSED)
    elif place is not None and place.where == Where.RED_TAG and not _still_tagged(item):
        move(a, item, Where.STOCK)


def _still_tagged(item: Item) -> bool:
    """Another red tag lies on it: it stays on the shelf until that one is decided too."""
    return RedTag.objects.open().filter(item=item).exists()


def move(a: Act, item: Item, where: Where) -> None:
    place = Place.objects.filter(pk=item.pk).first()
    if place is None:
        a.create(Place, item=item, where=where, since=a.now)
    else:
        a.update(place, where=where, host=None, since=a.now)
