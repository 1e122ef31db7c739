"""What a reach list touches, as a notice follows it: each thing under a key of its own, in the house or outside."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from builds.models import Axle, Phase
from builds.reports.reach.answer import Reached, Row, Spot
from builds.reports.reach.cause import Together
from builds.reports.reach.statements import Values, among, among_words, rows
from shop.models import Heat, HeatStatus, Item, Where

#: An axle in one of these phases is not in the house.
OUTSIDE = (Phase.GONE, Phase.RETIRED)
_AWAY = (Where.SCRAP, Where.SUPPLIER, Where.SHIPPED)
_IN_THE_HOUSE = (Spot.STOCK, Spot.REMNANTS, Spot.UNITS, Spot.FLOOR, Spot.CLOSED, Spot.BACK)
MELT = "the melt itself: nothing is cut or set aside of it"


@dataclass(frozen=True)
class Touched:
    """One row of the list. `inside`: in the house, so it is stopped; only then are the thing and its axle at hand.
    `axle_key`: the axle that it is or is in. `customer` and `address`: whose axle it is and where it was sent, for an
    axle that is touched itself."""

    key: str
    row: Row
    inside: bool
    item: Item | None = None
    axle: Axle | None = None
    axle_key: int | None = None
    customer: int | None = None
    address: str = ""

    @property
    def told(self) -> bool:
        """An axle at a consignee: there is a letter about it."""
        return self.row.is_axle and not self.inside and self.row.spot in (Spot.SHIPPED, Spot.UNKNOWN)


def touched_of(found: Reached) -> list[Touched]:
    """Every row of the answer, and the melts that were asked about: a bar of one may come in tomorrow."""
    every = [*_melts(found), *found.rows]
    known, ids = _axles(every), [row.item for row in every]
    places = dict(_asked('SELECT item_id, "where" FROM shop_place WHERE {}', among("item_id", ids)))
    refused = set(Heat.objects.filter(status=HeatStatus.REFUSED).values_list("pk", flat=True))
    addresses = _addresses([axle.pk for axle in known.values()])
    inside = {row.item for row in every if row.item not in refused and _inside(row, known, places)}
    items = Item.objects.in_bulk(list(inside))
    here = {known[row.axle].pk for row in every if row.item in inside and row.axle in known}
    axles = Axle.objects.select_related("item").in_bulk(list(here))
    made = []
    for key, row in _keyed(every):
        axle, stopped = known.get(row.axle, _NONE), row.item not in refused and _inside(row, known, places)
        thing, whole = (items[row.item], axles.get(axle.pk or 0)) if stopped else (None, None)
        sent_to = addresses.get(axle.pk or 0, "") if row.is_axle else ""
        made.append(Touched(key, row, stopped, thing, whole, axle.pk, axle.customer, sent_to))
    return made


class _Known(NamedTuple):
    """Of an axle that is named on the list: key, phase, customer."""

    pk: int | None
    phase: str
    customer: int | None


_NONE = _Known(None, "", None)


def _asked(sql: str, where: tuple[str, Values]) -> list[tuple[Any, ...]]:
    """A list of thousands goes to the server as one value: the models' own way takes a place for each."""
    return rows((sql.format(where[0]), where[1]))


def _melts(found: Reached) -> Iterator[Row]:
    if found.question.together is not Together.EITHER or not found.rows:
        return
    ids = [pk for cause in found.question.causes if cause.is_thing for pk in cause.ids]
    for item in Item.objects.filter(pk__in=ids, heat__isnull=False).order_by("mark"):
        what = f"heat of {item.sort.replace('_', ' ')}" if item.sort else "heat"
        yield Row(Spot.STOCK, what, item.mark, item.pk, "", MELT)


def _keyed(every: Sequence[Row]) -> Iterator[tuple[str, Row]]:
    """The same thing has the same key on every list. A thing that was in and out again is told by when it came out."""
    seen: Counter[str] = Counter()
    for row in every:
        out = row.spot is Spot.FORMERLY and not row.is_axle
        key = f"was/{row.item}/{row.axle}/{row.day:%Y%m%d%H%M%S%f}" if out and row.day else f"is/{row.item}"
        seen[key] += 1
        yield (key if seen[key] == 1 else f"{key}/{seen[key]}"), row


def _axles(every: Sequence[Row]) -> dict[str, _Known]:
    sql = (
        "SELECT i.mark, a.item_id, a.phase, o.customer_id FROM shop_item i JOIN builds_axle a ON a.item_id = i.id"
        " JOIN builds_line l ON l.id = a.line_id JOIN builds_order o ON o.id = l.order_id WHERE i.kind = 'axle' AND {}"
    )
    found = _asked(sql, among_words("i.mark", sorted({row.axle for row in every if row.axle})))
    return {mark: _Known(*facts) for mark, *facts in found}


def _addresses(axles: Sequence[int | None]) -> dict[int, str]:
    sql = "SELECT axle_id, address FROM builds_shipment WHERE {} ORDER BY shipped_at, id"
    return dict(_asked(sql, among("axle_id", [pk for pk in axles if pk is not None])))


def _inside(row: Row, known: Mapping[str, _Known], places: Mapping[int, str]) -> bool:
    if row.spot in _IN_THE_HOUSE:
        return True
    if row.spot is not Spot.UNKNOWN:
        return False
    if row.is_axle:
        return row.axle in known and known[row.axle].phase not in OUTSIDE
    return places.get(row.item, "") not in _AWAY
