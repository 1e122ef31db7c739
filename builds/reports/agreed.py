"""For whom a concession was agreed. A unit that goes into another axle takes its red tags along with what was decided;
what one customer agreed to is no other customer's agreement, and is not shown to one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import datetime

from django.db.models import Q

from builds.models import Axle, Concession, Fitted, Parted, Unit, Visit, VisitState
from measurements.models import CharacteristicClass, Reading, Voiding


def concessions_of(axles: Collection[Axle], customer: int) -> list[Concession]:
    """Those that hold for these axles of one customer, by number. One of class S that was agreed to for somebody
    else's holds no more; of another one, which needs no agreement, that agreement is left out of the row, which is only
    shown."""
    rows = Concession.objects.filter(disposition__tag__axle__in=axles).select_related(
        "characteristic", "disposition__tag__reading__characteristic", "disposition__signature__person", "item"
    )
    found = list(rows.order_by("number"))
    strange = agreed_elsewhere(customer, found)
    for row in found:
        if row.pk in strange:
            row.agreed_by, row.agreed_on, row.agreed_how = "", None, ""
    return [row for row in found if not (row.pk in strange and is_safety(row))]


def to_agree(under: Q, customer: int) -> list[Concession]:
    """Of class S, one for each reading that still counts and that this customer has not agreed to. `under`: where the
    red tags stand."""
    safety = Concession.objects.filter(under, characteristic__class_code=CharacteristicClass.SAFETY)
    tag = "disposition__tag"
    rows = list(safety.select_related("characteristic", f"{tag}__item", f"{tag}__operation", f"{tag}__reading"))
    strange = agreed_elsewhere(customer, rows)
    agreed = {row.disposition.tag.reading_id for row in rows if row.pk not in strange}
    asked = {row.disposition.tag.reading_id: row for row in rows if row.disposition.tag.reading_id not in agreed}
    return [row for row in asked.values() if _still_counts(row.disposition.tag.reading)]


def _still_counts(reading: Reading | None) -> bool:
    """Whether a pass of it stands and no newer try took its place."""
    if reading is None:
        return False
    passes = Visit.objects.filter(sheet_links__sheet=reading.sheet_id).exclude(state=VisitState.REDO)
    newer = Reading.objects.filter(replaces=reading)
    return passes.exists() and not newer.exists() and not Voiding.objects.filter(reading=reading).exists()


def is_safety(row: Concession) -> bool:
    """Whether it is of a safety characteristic, which needs the customer's agreement."""
    return row.characteristic is not None and row.characteristic.class_code == CharacteristicClass.SAFETY


def agreed_elsewhere(customer: int, rows: Collection[Concession]) -> set[int]:
    """Keys of those that were decided while their unit was in an axle of another customer than this, or in none."""
    units = _units_of({row.disposition.tag.item_id for row in rows})
    if not units:
        return set()
    left: dict[int, list[Parted]] = defaultdict(list)
    rows_out = Parted.objects.filter(unit__in=set(units.values()), withdrawn=False).select_related("axle__line__order")
    for out in rows_out.order_by("at", "pk"):
        left[out.unit_id].append(out)
    found = set()
    for row in rows:
        unit = units.get(row.disposition.tag.item_id)
        if unit is None:  # it lies on the axle itself, and stays there
            continue
        was = _axle_then(unit, row.disposition.at, left[unit.pk])
        if was is None or was.line.order.customer_id != customer:
            found.add(row.pk)
    return found


def _units_of(items: Collection[int]) -> dict[int, Unit]:
    """The unit that each of these is, or that it is fitted in."""
    if not items:
        return {}
    found = {unit.pk: unit for unit in Unit.objects.filter(pk__in=items).select_related("axle__line__order")}
    inside = Fitted.objects.now().filter(part__in=items, host__unit__isnull=False)
    for row in inside.select_related("host__unit__axle__line__order"):
        found.setdefault(row.part_id, row.host.unit)
    return found


def _axle_then(unit: Unit, at: datetime, left: Sequence[Parted]) -> Axle | None:
    """The axle that it was in at that moment. `left`: when it left which one, oldest first."""
    for row in left:
        if row.at >= at:
            return row.axle if row.since is None or row.since <= at else None
    return unit.axle if unit.joined_at is None or unit.joined_at <= at else None
