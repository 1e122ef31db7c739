"""Which units and parts in no axle, at the bench, in a kit or on a shelf, a look-back over a gauge touches."""

from __future__ import annotations

from collections.abc import Iterable

from builds.models import Fitted, Unit
from builds.reports.lookback import Again
from shop.models import Item, ItemKind, Where

#: Where a part lies that is in nothing and could still go into something.
_LOOSE = (Where.STOCK, Where.FLOOR, Where.KIT, Where.RED_TAG, Where.QUARANTINE)


def units_touched(rows: Iterable[Again]) -> dict[Unit, list[Again]]:
    """By unit that is in none now, what counts and changed its verdict: read on it, wherever it was then, or of a part
    that is in it. One that left an axle after its record was closed has its passes in that record."""
    changed = [row for row in rows if row.counts and row.changed]
    hosts: dict[int, set[int]] = {}
    for row in changed:
        for visit in row.visits:
            hosts.setdefault(visit.item_id, set()).add(row.reading.pk)
    items = {row.reading.item_id for row in changed}
    parts = Fitted.objects.now().filter(part_id__in=items, host__unit__isnull=False, host__unit__axle=None)
    for part, host in parts.values_list("part_id", "host_id"):
        hosts.setdefault(host, set()).update(row.reading.pk for row in changed if row.reading.item_id == part)
    units = Unit.objects.filter(pk__in=hosts, axle=None).select_related("item__place").order_by("item__mark")
    return {unit: [row for row in changed if row.reading.pk in hosts[unit.pk]] for unit in units}


def parts_touched(rows: Iterable[Again]) -> dict[Item, list[Again]]:
    """By part that is in no axle and no unit now, what was read on it, counts and changed its verdict: its own readings
    go with it into whatever it is fitted in."""
    found: dict[int, list[Again]] = {}
    for row in rows:
        if row.counts and row.changed:
            found.setdefault(row.reading.item_id, []).append(row)
    loose = Item.objects.filter(pk__in=found, kind=ItemKind.PART, place__where__in=_LOOSE).select_related("place")
    return {item: found[item.pk] for item in loose.order_by("mark", "pk")}
