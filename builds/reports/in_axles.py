"""In which axle a thing is now, and which units came into one after its record was closed: what was read and done
stands under the axle that it was made at, and the thing may have moved since."""

from __future__ import annotations

from collections.abc import Collection

from django.db.models import Q, QuerySet

from builds.models import Axle, Fitted, Joined, Unit

_WITH = ("axle__item", "axle__revision__model")


def axles_holding(items: Collection[int]) -> dict[int, list[Axle]]:
    """By item, the axles that it is in now: a unit by itself, a part by its fit there or by the unit that it is in; a
    lot may be in many. Two statements."""
    found: dict[int, list[Axle]] = {}
    for one in Unit.objects.filter(pk__in=items).exclude(axle=None).select_related(*_WITH):
        _note(found, one.pk, one.axle)
    fits = Fitted.objects.now().filter(part_id__in=items).filter(~Q(axle=None) | ~Q(host__unit__axle=None))
    for row in fits.select_related(*_WITH, *(f"host__unit__{path}" for path in _WITH)):
        # What was fitted in a unit that stands elsewhere by now keeps the axle of a closed record.
        unit: Unit | None = getattr(row.host, "unit", None)
        _note(found, row.part_id, row.axle if unit is None else unit.axle)
    return found


def _note(found: dict[int, list[Axle]], item: int, axle: Axle | None) -> None:
    if axle is not None and axle not in found.setdefault(item, []):
        found[item].append(axle)


def came_into(axle: Axle) -> QuerySet[Joined]:
    """The rows of the units that came into it after its record was closed: what was done on them stands under none."""
    return Joined.objects.filter(axle=axle, after_closing=True)
