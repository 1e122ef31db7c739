"""What the steel of an axle is: the values of the mill's certificate, judged when the heat came in."""

from __future__ import annotations

from builds.certificates.record_parts import Piece, certificate_of, fitted_rows, reading_facts
from builds.models import Axle
from builds.reports.wording import limits, limits_other
from builds.reports.work import heat_of
from measurements.models import Reading
from shop.models import Item


def heat_facts(axle: Axle) -> list[Piece]:
    """Each heat that is in the axle now, once, with what the card asks its mill certificate to state."""
    heats: dict[int, Item] = {}
    for fitted in fitted_rows(axle):
        if not hasattr(fitted, "removal") and (found := heat_of(fitted.part)) is not None:
            heats[found.pk] = found
    return [_heat(heat, axle) for heat in sorted(heats.values(), key=lambda item: item.mark)]


def _heat(item: Item, axle: Axle) -> Piece:
    rows = Reading.objects.standing().filter(item=item).order_by("pk")
    joined = rows.select_related("characteristic", "gauge__item", "ring__item", "calibration", "person")
    last = {row.characteristic.code: row for row in joined}
    asked = {
        found.code: found
        for operation in axle.revision.card.operations
        for found in operation.characteristics
        if found.given is not None and found.given.source == "heat"
    }
    results = [
        {
            "code": code,
            "name": found.name,
            "unit": found.unit,
            "decimals": found.decimals,
            "limits": limits(found),
            "limits_other": limits_other(found),
            "readings": [reading_facts(last[code])],
        }
        for code, found in asked.items()
        if code in last
    ]
    return {"mark": item.mark, "certificate": certificate_of(item), "results": results}
