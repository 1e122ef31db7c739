"""One axle for whoever takes a return: what was in it as it left, and what is in it now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from builds.models import Axle, Concession, Fitted, Returned, Shipment, Unit


@dataclass(frozen=True)
class Place:
    """One role: what was there as the axle left, and what is there now."""

    role: str
    host: str
    then: Fitted | None
    now: Fitted | None

    @property
    def changed(self) -> bool:
        return self.then != self.now


@dataclass(frozen=True)
class ThenAndNow:
    left: datetime | None
    consignee: str
    places: list[Place]
    concessions: list[Concession]
    returns: list[Returned]

    @property
    def changed(self) -> list[Place]:
        return [place for place in self.places if place.changed]

    @property
    def same(self) -> list[Place]:
        return [place for place in self.places if not place.changed]


def places_of(axles: Sequence[Axle]) -> dict[int, list[Place]]:
    """What was in each as it left, and what is in it now; an exchanged unit takes its parts along. One query."""
    keys = {axle.pk for axle in axles}
    rows = Fitted.objects.filter(Q(axle__in=keys) | Q(host__unit__axle__in=keys))
    found: dict[int, list[Fitted]] = {key: [] for key in keys}
    for row in rows.select_related("part", "host__unit__item", "removal").order_by("role", "pk"):
        for key in {row.axle_id, _axle_now(row)} & keys:
            found[key or 0].append(row)
    return {key: _places(key, some) for key, some in found.items()}


def _axle_now(row: Fitted) -> int | None:
    """The axle that it is in by its host."""
    unit: Unit | None = getattr(row.host, "unit", None)
    return unit.axle_id if unit is not None else row.host_id


def then_and_now(axle: Axle) -> ThenAndNow:
    """Six queries, however many parts."""
    left = Shipment.objects.filter(axle=axle).order_by("shipped_at").first()
    concessions = Concession.objects.filter(disposition__tag__axle=axle).select_related("disposition__tag")
    returns = Returned.objects.filter(axle=axle).select_related("person")
    returns = returns.prefetch_related("findings__person", "photos__person")
    return ThenAndNow(
        left.shipped_at if left else None,
        left.consignee if left else "",
        places_of([axle])[axle.pk],
        list(concessions.order_by("number")),
        list(returns.order_by("number")),
    )


def _places(axle: int, rows: list[Fitted]) -> list[Place]:
    """Parts of one role and place are laid beside each other in the order in which they came."""
    sides: dict[tuple[str, str], tuple[list[Fitted], list[Fitted]]] = {}
    for row in rows:
        unit: Unit | None = getattr(row.host, "unit", None)
        then, now = sides.setdefault((row.role, unit.words if unit is not None else row.host.mark), ([], []))
        out = getattr(row, "removal", None)
        if row.axle_id == axle and not row.after_closing and (out is None or out.after_closing):
            then.append(row)
        if out is None and _axle_now(row) == axle:
            now.append(row)
    return [
        Place(role, host, then[at] if at < len(then) else None, now[at] if at < len(now) else None)
        for (role, host), (then, now) in sides.items()
        for at in range(max(len(then), len(now)))
    ]
