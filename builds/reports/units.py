"""Units: what is in one, where it was from when to when, and which may join an axle."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, F, Min, Q

from builds.definitions.card import UnitRole
from builds.models import (
    Axle,
    Fitted,
    Joined,
    KitLine,
    Parted,
    RedTag,
    Reopening,
    Revision,
    Unit,
    Visit,
    VisitState,
    role_and_side,
)
from builds.reports.facts import AxleStanding, standing_of_units
from builds.reports.interchange import may_join
from builds.reports.orders import for_sale
from shop.models import Item, Where


def inside_of(unit: Unit) -> list[Fitted]:
    """What is fitted in it now, in the order in which it went in."""
    rows = Fitted.objects.now().filter(host=unit.item_id)
    return list(rows.select_related("part__place", "host", "axle__item", "visit__operation").order_by("pk"))


def unit_alone(item: Item) -> Unit | None:
    """The unit that this item is, where it is in none and has a card of its own; None otherwise."""
    rows = Unit.objects.filter(pk=item.pk, axle=None, revision__isnull=False).select_related("item", "revision__model")
    return rows.defer("revision__text").first()


def is_untouched(unit: Unit) -> bool:
    """Nothing was ever done on it, fitted in it or stopped on it."""
    return not (
        Visit.objects.filter(item=unit.item_id).exists()
        or Fitted.objects.filter(host=unit.item_id).exists()
        or RedTag.objects.filter(item=unit.item_id).exists()
    )


def set_aside_for(unit: Unit) -> list[KitLine]:
    """What the kit holds for it and is not fitted yet."""
    rows = KitLine.objects.filter(host=unit.item_id, returned_at=None).select_related("part").order_by("pk")
    fitted = set(Fitted.objects.now().filter(host=unit.item_id).values_list("role", "part_id"))
    return [row for row in rows if (row.role, row.part_id) not in fitted]


@dataclass(frozen=True)
class Stay:
    """A unit in an axle, from when until when (None: it is there still)."""

    axle: Axle
    side: str
    since: datetime | None
    until: datetime | None
    came: Joined | None
    left: Parted | None


def stays_of(unit: Unit) -> list[Stay]:
    """Where it was, the newest first. Three queries."""
    came = {(row.axle_id, row.at): row for row in Joined.objects.filter(unit=unit).select_related("person")}
    left = Parted.objects.filter(unit=unit).select_related("axle__item", "person").order_by("-pk")
    over = [
        Stay(row.axle, row.side, row.since, row.at, came.get((row.axle_id, row.since or row.at)), row) for row in left
    ]
    if unit.axle is None:
        return over
    now = Stay(unit.axle, unit.side, unit.joined_at, None, None, None)
    joined = came.get((unit.axle.pk, unit.joined_at)) if unit.joined_at is not None else None
    return [Stay(now.axle, now.side, now.since, None, joined, None), *over]


def again_with(row: Joined) -> list[int]:
    """The numbers of the operations that are to do again with this unit's coming, on it and in the axle, rising."""
    opened = Reopening.objects.filter(visit__axle=row.axle, at=row.at)
    own = Visit.objects.filter(item=row.unit.item_id).order_by("number").values_list("operation__number", "state")
    again = {number for number, state in dict(own).items() if state == VisitState.REDO}
    return sorted(again.union(opened.values_list("visit__operation__number", flat=True)))


@dataclass(frozen=True)
class Ahead:
    """A unit in an axle, and when its first pass was taken up: before that axle was booked."""

    mark: str
    words: str
    on: datetime


def begun_ahead(axles: Collection[int]) -> dict[int, dict[int, Ahead]]:
    """Of each of these axles the units whose work is older than the axle, by the unit. One query, however many."""
    rows = Visit.objects.filter(axle__in=axles, claimed_at__lt=F("axle__booked_at")).order_by("item")
    unit = ("item__mark", "item__unit__role", "item__unit__side")
    found: dict[int, dict[int, Ahead]] = {}
    for axle, item, mark, role, side, on in rows.values_list("axle", "item", *unit).annotate(on=Min("claimed_at")):
        found.setdefault(axle or 0, {})[item] = Ahead(mark, role_and_side(role, side), on)
    return found


@dataclass(frozen=True)
class Formerly:
    """A unit that was in an axle, and what was in it as it left."""

    parted: Parted
    unit: Unit
    parts: tuple[Fitted, ...]


def formerly_in(axles: Collection[int]) -> list[Formerly]:
    """The units that left these axles, with the parts they took along. Two queries, however many."""
    rows = Parted.objects.filter(axle__in=axles, withdrawn=False).select_related(
        "unit__item__place", "unit__axle__item", "person", "axle__item"
    )
    found = list(rows.order_by("pk"))
    if not found:
        return []
    inside = Fitted.objects.filter(host__in=[row.unit_id for row in found]).select_related(
        "part__place", "removal", "visit__operation", "person", "host__unit", "part__part__kind", "part__piece__kind",
        "part__lot__kind", "part__drum__lot__kind", "part__drum__lot__item",
    )  # fmt: skip
    parts = list(inside.order_by("pk"))
    return [Formerly(row, row.unit, tuple(part for part in parts if _went_along(part, row))) for row in found]


def _went_along(part: Fitted, row: Parted) -> bool:
    out = getattr(part, "removal", None)
    return part.host_id == row.unit_id and part.at <= row.at and (out is None or out.at > row.at)


def free_units(role: str) -> list[Unit]:
    """The units of this role in stock, oldest first."""
    rows = Unit.objects.filter(axle=None, role=role, item__place__where=Where.STOCK)
    return list(rows.select_related("item__place", "revision__model").defer("revision__text").order_by("pk"))


@dataclass(frozen=True)
class Offer:
    """A unit in stock, and why it may not join; empty when it may."""

    unit: Unit
    why_not: str


def offers(axle: Axle, role: str, side: str) -> list[Offer]:
    """What lies in stock for this place of the axle, those that may join first."""
    found = [Offer(unit, may_join(unit, axle, side).why_not) for unit in free_units(role)]
    return sorted(found, key=lambda offer: bool(offer.why_not))


def tagged_in(unit: Unit) -> RedTag | None:
    """The oldest open red tag on it, on a part in it, or on the steel or lot of one."""
    inside = Fitted.objects.now().filter(host=unit.item_id)
    items: set[int | None] = {unit.item_id}
    for path in ("part", "part__part__heat", "part__piece__heat", "part__drum__lot"):
        items |= set(inside.values_list(path, flat=True))
    return RedTag.objects.open().filter(Q(item__in=items - {None})).select_related("item").order_by("number").first()


def place_words(item: Item) -> str:
    """Where it lies, for a sentence."""
    place = getattr(item, "place", None)
    if place is None:
        return "given up"
    return f"{place.get_where_display()}{f' ({place.note})' if place.note else ''}"


@dataclass(frozen=True)
class Passed:
    """One pass of an operation on it."""

    visit: Visit
    readings: int


def passes_of(unit: Unit) -> list[Passed]:
    """Everything that was ever done on it, wherever it was, in the order of the work. One query."""
    rows = (
        Visit.objects.filter(item=unit.item_id)
        .select_related("operation", "claimed_by", "axle__item")
        .annotate(readings=Count("sheet_links__sheet__readings", distinct=True))
    )
    return [Passed(row, row.__dict__["readings"]) for row in rows.order_by("claimed_at", "pk")]


def is_built_for_stock(unit: Unit) -> bool:
    """Whether the card that it was built to works on such a unit outside an axle."""
    return unit.axle is None and unit.revision is not None and unit.revision.card.unit(unit.role).for_stock


@dataclass(frozen=True)
class Alone:
    """A unit that is in no axle. `next`: what is to be done on it now, empty on a shelf; `done` of `slots`."""

    unit: Unit
    done: int
    slots: int
    next: str


def units_alone(now: datetime) -> list[Alone]:
    """Every unit in no axle that is in the house: those at the bench first, then by their place. Three queries, however
    many."""
    gone = (Where.SCRAP, Where.SUPPLIER)
    rows = Unit.objects.filter(axle=None, revision__isnull=False, item__place__isnull=False)
    units = list(
        rows.exclude(item__place__where__in=gone)
        .select_related("item__place", "revision__model", "begun_by")
        .defer("revision__text")
        .order_by("pk")
    )
    stands = standing_of_units(units, now) if units else {}
    found = [_alone(unit, stands[unit.pk]) for unit in units]
    return sorted(found, key=lambda row: (row.unit.item.place.where != Where.FLOOR, row.unit.item.place.where))


def _alone(unit: Unit, stands: AxleStanding) -> Alone:
    views = list(stands.slots.values())
    left = [view for view in views if not view.finished] if unit.item.place.where == Where.FLOOR else []
    said = f"{left[0].slot.operation.number} {left[0].slot.operation.name}: {left[0].state}" if left else ""
    return Alone(unit, sum(view.finished for view in views), len(views), said)


def beginnable() -> list[tuple[Revision, UnitRole]]:
    """What may be begun for stock: of the newest released revision of each model."""
    return [(row, unit) for row in for_sale() for unit in row.card.units if unit.for_stock]
