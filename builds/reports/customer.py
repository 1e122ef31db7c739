"""What a customer may know of an order: their own axles, roles instead of names, no costs, nobody else's serials."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from builds.models import Axle, Certificate, Concession, Order, Shipment
from builds.reports.agreed import concessions_of
from builds.reports.facts import AxleStanding, standing_of
from builds.reports.looked_back import CustomerLookBack, for_customer
from builds.reports.notices.customer import CustomerNotice, notices_of
from builds.reports.returns.then_and_now import Place, places_of
from builds.reports.units import Ahead, begun_ahead


@dataclass(frozen=True)
class CustomerAxle:
    """One axle as its customer sees it."""

    serial: str
    model: str
    where: str
    done: int
    of: int
    waits: str
    concessions: tuple[Concession, ...]
    certificates: tuple[Certificate, ...]
    shipment: Shipment | None
    promised: tuple[str, str]
    stands: AxleStanding
    notices: tuple[CustomerNotice, ...] = ()
    looked_back: tuple[CustomerLookBack, ...] = ()
    exchanged: tuple[Place, ...] = ()
    ahead: tuple[Ahead, ...] = ()

    @property
    def latest(self) -> Certificate | None:
        return self.certificates[-1] if self.certificates else None


def axles_for(order: Order, now: datetime) -> list[CustomerAxle]:
    axles = list(
        Axle.objects.filter(line__order=order, scrapped_at=None)
        .select_related("item", "line", "revision__model")
        .defer("revision__text")
        .order_by("item__mark")
    )
    stands, papers = standing_of(axles, now), _papers(axles, order.customer_id)
    notices, again = notices_of(axles), for_customer(axles)
    ahead = begun_ahead([axle.pk for axle in axles])
    places = places_of([axle for axle in axles if axle.closed_at is not None])
    return [
        replace(
            _one(axle, stands[axle.pk], papers, notices.get(axle.pk, [])),
            looked_back=tuple(again[axle.pk]),
            exchanged=tuple(place for place in places.get(axle.pk, ()) if place.changed),
            ahead=tuple(ahead.get(axle.pk, {}).values()),
        )
        for axle in axles
    ]


@dataclass(frozen=True)
class _Papers:
    """Concessions, certificates and the newest shipment of some axles, by the axle."""

    concessions: dict[int, list[Concession]]
    certificates: dict[int, list[Certificate]]
    shipments: dict[int, Shipment]


def _papers(axles: Sequence[Axle], customer: int) -> _Papers:
    """Three queries, however many axles; three more where there are concessions."""
    found = _Papers(defaultdict(list), defaultdict(list), {})
    for concession in concessions_of(axles, customer):
        found.concessions[concession.disposition.tag.axle_id or 0].append(concession)
    for certificate in Certificate.objects.filter(axle__in=axles).order_by("issue"):
        found.certificates[certificate.axle_id].append(certificate)
    for shipment in Shipment.objects.filter(axle__in=axles).order_by("pk"):
        found.shipments[shipment.axle_id] = shipment
    return found


def _one(axle: Axle, stands: AxleStanding, papers: _Papers, notices: Sequence[CustomerNotice]) -> CustomerAxle:
    views = [view for view in stands.slots.values() if view.slot.operation.closing]
    stopped = bool(stands.facts.tags) and axle.closed_at is None
    line = axle.line
    return CustomerAxle(
        serial=axle.serial,
        model=axle.revision.model.name,
        where="stopped" if stopped else axle.get_phase_display(),
        done=sum(1 for view in views if view.finished),
        of=len(views),
        waits="A decision is being made about something that is not as the drawing asks." if stopped else "",
        concessions=tuple(papers.concessions[axle.pk]),
        certificates=tuple(papers.certificates[axle.pk]),
        shipment=papers.shipments.get(axle.pk),
        promised=(f"{line.promised_from:%d %b %Y}", f"{line.promised_to:%d %b %Y}"),
        stands=stands,
        notices=tuple(notices),
    )
