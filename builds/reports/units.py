"""Units: what is in one, where it was from when to when, and which may join an axle."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Q

from builds.models import Axle, Fitted, Joined, KitLine, Parted, RedTag, Unit, Visit
from builds.reports.interchange import may_join
from shop.models import Item, Where


def inside_of(unit: Unit) -> list[Fitted]:
    """What is fitted in it now, in the order in which it went in."""
    rows = Fitted.objects.now().filter(host=unit.item_id)
    return list(rows.select_related("part__place", "host", "axle__item", "visit__operation").order_by("pk"))


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
