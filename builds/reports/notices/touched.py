"""What a reach list touches, as a notice follows it: each thing under a key of its own, in the house or outside."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from builds.models import Axle, Phase, Shipment
from builds.reports.reach.answer import Reached, Row, Spot
from builds.reports.reach.cause import Together
from shop.models import Heat, HeatStatus, Item, Place, Where

#: An axle in one of these phases is not in the house.
OUTSIDE = (Phase.GONE, Phase.RETIRED)
_AWAY = (Where.SCRAP, Where.SUPPLIER, Where.SHIPPED)
_IN_THE_HOUSE = (Spot.STOCK, Spot.REMNANTS, Spot.UNITS, Spot.FLOOR, Spot.CLOSED, Spot.BACK)
MELT = "the melt itself: nothing is cut or set aside of it"


@dataclass(frozen=True)
class Touched:
    """One row of the list. `inside`: in the house, so it is stopped. `customer` and `address`: whose axle it is and
    where it was sent, for an axle that is touched itself."""

    key: str
    row: Row
    item: Item
    inside: bool
    axle: Axle | None = None
    customer: int | None = None
    address: str = ""

    @property
    def told(self) -> bool:
        """An axle at a consignee: there is a letter about it."""
        return self.row.is_axle and not self.inside and self.row.spot in (Spot.SHIPPED, Spot.UNKNOWN)


def touched_of(found: Reached) -> list[Touched]:
    """Every row of the answer, and the melts that were asked about: a bar of one may come in tomorrow."""
    rows = [*_melts(found), *found.rows]
    axles = _axles(rows)
    items = Item.objects.in_bulk([row.item for row in rows])
    places = dict(Place.objects.filter(pk__in=[row.item for row in rows]).values_list("pk", "where"))
    refused = set(Heat.objects.filter(status=HeatStatus.REFUSED).values_list("pk", flat=True))
    addresses = _addresses(axles.values())
    made = []
    for key, row in _keyed(rows):
        axle = axles.get(row.axle)
        inside = row.item not in refused and _inside(row, axle, places.get(row.item, ""))
        sent_to = addresses.get(axle.pk, "") if axle is not None and row.is_axle else ""
        customer = axle.line.order.customer_id if axle is not None else None
        made.append(Touched(key, row, items[row.item], inside, axle, customer, sent_to))
    return made


def _melts(found: Reached) -> Iterator[Row]:
    if found.question.together is not Together.EITHER or not found.rows:
        return
    ids = [pk for cause in found.question.causes if cause.is_thing for pk in cause.ids]
    for item in Item.objects.filter(pk__in=ids, heat__isnull=False).order_by("mark"):
        what = f"heat of {item.sort.replace('_', ' ')}" if item.sort else "heat"
        yield Row(Spot.STOCK, what, item.mark, item.pk, "", MELT)


def _keyed(rows: Sequence[Row]) -> Iterator[tuple[str, Row]]:
    """The same thing has the same key on every list. A thing that was in and out again is told by when it came out."""
    seen: Counter[str] = Counter()
    for row in rows:
        out = row.spot is Spot.FORMERLY and not row.is_axle
        key = f"was/{row.item}/{row.axle}/{row.day:%Y%m%d%H%M%S%f}" if out and row.day else f"is/{row.item}"
        seen[key] += 1
        yield (key if seen[key] == 1 else f"{key}/{seen[key]}"), row


def _axles(rows: Sequence[Row]) -> dict[str, Axle]:
    serials = {row.axle for row in rows if row.axle}
    found = Axle.objects.filter(item__mark__in=serials).select_related("item", "line__order")
    return {axle.serial: axle for axle in found}


def _addresses(axles: Iterable[Axle]) -> dict[int, str]:
    sent = Shipment.objects.filter(axle__in=[axle.pk for axle in axles]).order_by("shipped_at", "pk")
    return dict(sent.values_list("axle_id", "address"))


def _inside(row: Row, axle: Axle | None, where: str) -> bool:
    if row.spot in _IN_THE_HOUSE:
        return True
    if row.spot is not Spot.UNKNOWN:
        return False
    if row.is_axle:
        return axle is not None and axle.phase not in OUTSIDE
    return where not in _AWAY
