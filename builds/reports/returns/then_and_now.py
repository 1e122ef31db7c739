"""One axle for whoever takes a return: what was in it as it left, and what is in it now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from builds.models import Axle, Concession, Fitted, Returned, Shipment


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


def then_and_now(axle: Axle) -> ThenAndNow:
    """Six queries, however many parts."""
    left = Shipment.objects.filter(axle=axle).order_by("shipped_at").first()
    rows = Fitted.objects.filter(axle=axle).select_related("part", "host", "removal").order_by("role", "pk")
    concessions = Concession.objects.filter(disposition__tag__axle=axle).select_related("disposition__tag")
    returns = Returned.objects.filter(axle=axle).select_related("person")
    returns = returns.prefetch_related("findings__person", "photos__person")
    return ThenAndNow(
        left.shipped_at if left else None,
        left.consignee if left else "",
        _places(list(rows)),
        list(concessions.order_by("number")),
        list(returns.order_by("number")),
    )


def _places(rows: list[Fitted]) -> list[Place]:
    """Parts of one role and host are laid beside each other in the order in which they came."""
    sides: dict[tuple[str, str], tuple[list[Fitted], list[Fitted]]] = {}
    for row in rows:
        then, now = sides.setdefault((row.role, row.host.mark), ([], []))
        out = getattr(row, "removal", None)
        if not row.after_closing and (out is None or out.after_closing):
            then.append(row)
        if out is None:
            now.append(row)
    return [
        Place(role, host, then[at] if at < len(then) else None, now[at] if at < len(now) else None)
        for (role, host), (then, now) in sides.items()
        for at in range(max(len(then), len(now)))
    ]
