"""Deliveries: what came on which slip, what of it is used and left, and which papers cover it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q, Sum

from builds.models import Delivered, Delivery, Fitted, PaperFor
from builds.reports.kit import shown
from builds.reports.marks import describe
from shop.models import Item, ItemKind, Piece, Tracking, Where

#: Rows of the list; older ones are found by their slip.
MOST = 200


@dataclass(frozen=True)
class Came:
    """One thing of a delivery. Counts are empty where nothing is counted."""

    item: Item
    what: str
    state: str
    received: str
    used: str
    left: str
    papers: str
    is_heat: bool


def deliveries(words: str) -> list[Delivery]:
    """The newest first; those whose slip, supplier or goods carry the words."""
    rows = Delivery.objects.select_related("item", "supplier", "person").annotate(things=Count("brought"))
    if words:
        found = Delivered.objects.filter(item__mark__icontains=words).values("delivery")
        rows = (
            rows.filter(item__mark__icontains=words)
            | rows.filter(supplier__name__icontains=words)
            | rows.filter(pk__in=found)
        )
    return list(rows.order_by("-came_on", "-pk")[:MOST])


def came_with(delivery: Delivery) -> list[Came]:
    """A constant number of queries, however much came."""
    rows = Delivered.objects.filter(delivery=delivery).order_by("pk")
    joined = rows.select_related(
        "item__place__host", "item__lot__kind", "item__heat", "item__piece__heat__item", "item__part__kind"
    )
    items = [row.item for row in joined]
    used = _used(items)
    papers: dict[int, list[str]] = {}
    for link in PaperFor.objects.filter(item__in=items).select_related("paper").order_by("pk"):
        papers.setdefault(link.item_id, []).append(str(link.paper))
    bars = _bars(items)
    return [_came(item, used, bars, ", ".join(papers.get(item.pk, ()))) for item in items]


def _used(items: Sequence[Item]) -> dict[int, Decimal]:
    """Of a lot what is not on its shelf; a part is used where it is in something."""
    of_lots = [item.pk for item in items if item.kind == ItemKind.LOT]
    here = Fitted.objects.used_up().filter(part__in=items).filter(Q(removal=None) | Q(part__in=of_lots))
    rows = here.values_list("part").annotate(Sum("quantity")).order_by()
    return {part: Decimal(total or 0) for part, total in rows}


def _bars(items: Sequence[Item]) -> dict[int, tuple[int, int]]:
    """Of each heat: how many bars came, and how many of them lie in stock."""
    rows = Piece.objects.filter(heat__in=[item.pk for item in items if item.kind == ItemKind.HEAT], parent=None)
    found: dict[int, tuple[int, int]] = {}
    for heat, where in rows.values_list("heat", "item__place__where"):
        came, left = found.get(heat or 0, (0, 0))
        found[heat or 0] = (came + 1, left + (where == Where.STOCK))
    return found


def _came(item: Item, used: dict[int, Decimal], bars: dict[int, tuple[int, int]], papers: str) -> Came:
    place = item.place.get_where_display() if hasattr(item, "place") else ""
    received = gone = left = ""
    if item.kind == ItemKind.HEAT:
        came, there = bars.get(item.pk, (0, 0))
        received, gone, left = f"{came} bars", f"{came - there}", f"{there}"
        place = f"{item.heat.get_status_display()}, {place}"
    elif item.kind == ItemKind.LOT and item.lot.received and item.lot.kind.tracking == Tracking.LOT:
        count = used.get(item.pk, Decimal(0))
        received, gone, left = f"{item.lot.received}", shown(count), shown(item.lot.received - count)
    elif item.kind == ItemKind.PART:
        inside = used.get(item.pk, Decimal(0)) > 0
        received, gone, left = "1", "1" if inside else "0", "0" if inside else "1"
    return Came(item, describe(item), place, received, gone, left, papers, item.kind == ItemKind.HEAT)
