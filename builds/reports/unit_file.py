"""Every try of every reading on a unit while it stands in no axle; in an axle that axle's file tells of it."""

from __future__ import annotations

from typing import Any

from builds.models import Unit
from builds.reports.axle_file import READING, told_readings
from measurements.models import Reading
from shop.models.prepared import PreparedValues, number

_READINGS = PreparedValues(
    lambda: (
        Reading.objects.filter(sheet__visit_links__visit__item=number("unit"), sheet__visit_links__visit__axle=None)
        .order_by("sheet__visit_links__visit__operation__number", "pk")
        .values_list(*READING)
    )
)


def unit_readings(unit: Unit) -> list[dict[str, Any]]:
    """In the order of the card, the newest pass of an operation last. One query."""
    return told_readings(_READINGS.all(unit=unit.pk), {unit.pk: unit.built_side})
