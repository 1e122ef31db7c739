"""The readings of a look-back with what stands around them: thousands of rows, so each neighbour is loaded once.

Joined to each row they would be built anew for each: five objects a reading, where a shop has a dozen characteristics
and a few hundred passes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.db.models import BigIntegerField, Exists, ExpressionWrapper, F, OuterRef, QuerySet

from builds.models import Axle, Operation, Revision, Visit, VisitSheet
from measurements.models import Characteristic, Reading, Voiding
from shop.models import Item
from shop.models.fields import SCALE


def _raw(name: str) -> ExpressionWrapper[F]:
    """An exact figure as the whole number of billionths that is stored: most are judged and never shown."""
    return ExpressionWrapper(F(name), output_field=BigIntegerField())


_EXACT = ("value", "low", "high", "never_above")
_PLAIN = (
    "pk", "sheet_id", "item_id", "characteristic_id", "position", "typed", "verdict", "gauge_id", "ring_id",
)  # fmt: skip


class Read:
    """What is judged, shown and kept of one reading, as lean as a row can be."""

    __slots__ = (
        "characteristic", "exact", "gauge_id", "is_replaced", "is_voided", "item", "item_id", "pk", "position",
        "ring_id", "sheet_id", "typed", "verdict",
    )  # fmt: skip

    def __init__(
        self, row: tuple[Any, ...], characteristics: Mapping[int, Characteristic], items: Mapping[int, Item]
    ) -> None:
        (self.pk, self.sheet_id, self.item_id, asked, self.position, self.typed, self.verdict, self.gauge_id,
         self.ring_id, *exact, self.is_voided, self.is_replaced) = row  # fmt: skip
        self.characteristic, self.item = characteristics[asked], items[self.item_id]
        self.exact: tuple[int | None, ...] = tuple(exact)

    @property
    def value(self) -> Decimal | None:
        return decimal_of(self.exact[0])

    @property
    def low(self) -> Decimal | None:
        return decimal_of(self.exact[1])

    @property
    def high(self) -> Decimal | None:
        return decimal_of(self.exact[2])

    @property
    def never_above(self) -> Decimal | None:
        return decimal_of(self.exact[3])


def decimal_of(billionths: int | None) -> Decimal | None:
    """The figure behind the whole number that is stored of it."""
    return None if billionths is None else Decimal(billionths).scaleb(-SCALE)


def whole(readings: QuerySet[Reading]) -> list[Read]:
    """By their keys, oldest first, with characteristic and item, and whether they were voided or replaced. Three
    statements."""
    later = Reading.objects.filter(replaces=OuterRef("pk"), voiding=None)
    rows = list(
        readings.order_by("pk").values_list(
            *_PLAIN, *map(_raw, _EXACT), Exists(Voiding.objects.filter(reading=OuterRef("pk"))), Exists(later)
        )
    )
    characteristics = Characteristic.objects.in_bulk({row[3] for row in rows})
    items = Item.objects.select_related("unit").in_bulk({row[2] for row in rows})
    return [Read(row, characteristics, items) for row in rows]


def visits_of(readings: Iterable[Read]) -> dict[int, tuple[Visit, ...]]:
    """The passes that each sheet of these readings belongs to, by the sheet's key. Five statements; one more where some
    were of a unit in no axle."""
    links = VisitSheet.objects.filter(sheet_id__in={row.sheet_id for row in readings})
    pairs = list(links.order_by("pk").values_list("sheet_id", "visit_id"))
    rows = Visit.objects.in_bulk({visit for _, visit in pairs})
    operations = Operation.objects.in_bulk({row.operation_id for row in rows.values()})
    axles = _axles({row.axle_id for row in rows.values() if row.axle_id is not None})
    alone = {row.item_id for row in rows.values() if row.axle_id is None}
    units = Item.objects.select_related("unit").in_bulk(alone) if alone else {}
    for row in rows.values():
        kept = row._state.fields_cache
        if row.axle_id is None:
            kept["item"] = units[row.item_id]
        kept["operation"] = operations[row.operation_id]
        kept["axle"] = axles[row.axle_id] if row.axle_id is not None else None
    found: dict[int, tuple[Visit, ...]] = {}
    for sheet, visit in pairs:
        found[sheet] = (*found.get(sheet, ()), rows[visit])
    return found


def _axles(keys: set[int]) -> dict[int, Axle]:
    """With their revisions, whose text of a hundred kilobytes stays where it is."""
    axles = Axle.objects.select_related("item").in_bulk(keys)
    known = Revision.objects.select_related("model").defer("text")
    revisions = known.in_bulk({axle.revision_id for axle in axles.values()})
    for axle in axles.values():
        axle._state.fields_cache["revision"] = revisions[axle.revision_id]
    return axles
