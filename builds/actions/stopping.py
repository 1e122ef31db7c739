"""Red tags on many things at once, for one reason: everything of a notice that is in the house.

The same rules as for one thing (`tag_loose`, `open_tag`), looked at for all together, because everybody at a bench
waits meanwhile. Who calls holds the things and every axle in the house still (`noticing.the_list`). What is set aside
in a kit goes the long way: its kit may be short afterwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max

from builds.actions.choosing import KINDS
from builds.actions.loose import LIES, tag_loose
from builds.actions.tagging import NUMBERS
from builds.errors import Elsewhere, NotYours
from builds.models import Axle, KitLine, RedTag, Unit
from builds.reports.marks import describe
from shop.errors import Refusal
from shop.models import Item, Place, Where
from shop.record.act import Act
from shop.record.each import held_for, tell_each

#: Rows that one statement moves to the shelf.
MOVED_AT_ONCE = 100


@dataclass(frozen=True)
class Bad:
    """A thing that is to be stopped; `axle` where it is one, which is then stopped whole."""

    item: Item
    axle: Axle | None = None


def stop_all(a: Act, every: Sequence[Bad], cause: str) -> list[RedTag]:
    """A red tag on each of these, in this order, within the act. Refuses what cannot be stopped here. The cause is
    words that fit a red tag."""
    if a.by.person is None or a.by.person.retired_at is not None:
        raise NotYours("Nobody is signed in. Sign in first; a red tag carries a name.")
    items = [one.item.pk for one in every]
    inside = {unit.pk: unit.axle for unit in Unit.objects.filter(pk__in=items).select_related("axle__item")}
    in_kit = set(KitLine.objects.filter(part__in=items, returned_at=None).values_list("part", flat=True))
    places = Place.objects.in_bulk(items)
    quick = [one for one in every if one.axle is not None or one.item.pk not in in_kit]
    for one in quick:
        if one.axle is None:
            _refuse(one.item, places.get(one.item.pk), in_axle=one.item.pk in inside)
    tags = dict(zip((one.item.pk for one in quick), _tagged(a, quick, inside, cause), strict=True))
    _to_the_shelf(a, [places[one.item.pk] for one in quick if _lies(one, places, inside)])
    slow = [one.item for one in every if one.item.pk not in tags]
    tags |= {item.pk: tag_loose(item=item, cause=cause, by=a.by, now=a.now) for item in slow}
    return [tags[one.item.pk] for one in every]


def _refuse(item: Item, place: Place | None, *, in_axle: bool) -> None:
    if in_axle:
        return
    if item.kind not in KINDS:
        raise Refusal(f"{describe(item)} is stopped on its own page, not here.")
    if place is not None and place.where == Where.FITTED:
        raise Elsewhere(
            f"{describe(item)} is fitted. Tag it on its axle's file, so that the axle stops.", field="cause"
        )


def _lies(one: Bad, places: dict[int, Place], inside: dict[int, Axle | None]) -> bool:
    place = places.get(one.item.pk)
    return one.axle is None and one.item.pk not in inside and place is not None and place.where in LIES


def _tagged(a: Act, every: Sequence[Bad], inside: dict[int, Axle | None], cause: str) -> list[RedTag]:
    """The chain of what is tagged is its axle's where it is one or is in one, else its own."""
    stands = [one.axle if one.axle is not None else inside.get(one.item.pk) for one in every]
    chains = [axle.subject if axle is not None else one.item.subject for one, axle in zip(every, stands, strict=True)]
    at = held_for([*chains, NUMBERS])
    # Read under the lock, as every number is.
    last = RedTag.objects.aggregate(last=Max("number"))["last"] or 0
    closed = set(
        Axle.objects.filter(pk__in=[x.pk for x in stands if x], closed_at__isnull=False).values_list("pk", flat=True)
    )
    tags = a.create_many(
        RedTag, [_row(a, one, axle, number, (cause, at, closed))
                 for number, (one, axle) in enumerate(zip(every, stands, strict=True), last + 1)],
    )  # fmt: skip
    told: dict[str, list[dict[str, object]]] = {NUMBERS: []}
    for one, chain, tag in zip(every, chains, tags, strict=True):
        told[NUMBERS].append({"number": tag.number, "item": one.item.mark})
        told.setdefault(chain, []).append({"number": tag.number, "cause": cause, "item": one.item.mark})
    tell_each(a, "tag.opened", {chain: rows[0] if len(rows) == 1 else {"tags": rows} for chain, rows in told.items()})
    return tags


def _row(a: Act, one: Bad, axle: Axle | None, number: int, why: tuple[str, datetime, set[int]]) -> dict[str, object]:
    cause, at, closed = why
    return {
        "number": number, "item": one.item, "axle": axle, "operation": None, "reading": None, "cause": cause,
        "stops_axle": axle is not None, "opened_by": a.by.person, "opened_at": at,
        "after_closing": axle is not None and axle.pk in closed,
    }  # fmt: skip


def _to_the_shelf(a: Act, places: Sequence[Place]) -> None:
    for begin in range(0, len(places), MOVED_AT_ONCE):
        some = places[begin : begin + MOVED_AT_ONCE]
        a.update_each(*((place, {"where": Where.RED_TAG, "host": None, "note": "", "since": a.now}) for place in some))
