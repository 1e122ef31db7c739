"""What was read and photographed when the part that is said to have failed went in, for each return of an axle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from builds.models import Axle, Fitted, Photo, Returned
from builds.reports.axle_file import readings_at

Row = dict[str, Any]


@dataclass(frozen=True)
class AsBuilt:
    """`operations`: where the part went in. `photos`: of these; of the whole axle where no part is named."""

    operations: tuple[int, ...]
    readings: list[Row]
    photos: list[Photo]


def as_built(axle: Axle, returns: Sequence[Returned]) -> dict[int, AsBuilt]:
    """By the return's key. Four queries, however many returns."""
    fits = Fitted.objects.filter(axle=axle, role__in={row.role for row in returns}, visit__isnull=False)
    went_in: dict[str, set[int]] = {}
    for role, number in fits.values_list("role", "visit__operation__number"):
        went_in.setdefault(role, set()).add(number)
    photos = list(Photo.objects.filter(visit__axle=axle).select_related("visit__operation", "person").order_by("pk"))
    every = {number for numbers in went_in.values() for number in numbers}
    readings = readings_at(axle, every) if every else []
    return {row.pk: _of(tuple(sorted(went_in.get(row.role, ()))), readings, photos) for row in returns}


def _of(numbers: tuple[int, ...], readings: list[Row], photos: list[Photo]) -> AsBuilt:
    return AsBuilt(
        numbers,
        [row for row in readings if row["operation"] in numbers],
        [row for row in photos if not numbers or row.visit.operation.number in numbers],
    )
