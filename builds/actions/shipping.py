"""Ship a certified axle: who receives it, by whom it goes, under which numbers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from builds.errors import NotReady
from builds.models import Axle, Phase, Shipment
from builds.reports.closing import against_leaving
from shop import entries
from shop.actions.signing import Grant, signature
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Place, Role, Where
from shop.permissions import require_role
from shop.record.act import act
from shop.record.models import Signature
from shop.record.who import Who


@dataclass(frozen=True)
class Going:
    """Where an axle goes. `control_numbers`: what the carrier's paper says."""

    consignee: str
    carrier: str
    address: str = ""
    control_numbers: str = ""


def ship(*, axle: Axle, going: Going, grant: Grant, by: Who, now: datetime | None = None) -> Shipment:
    """The shipping record. Refuses an axle that is not certified, carries an open red tag, or has lost a part since."""
    if not going.consignee.strip():
        raise Refusal("Say who receives it.", field="consignee")
    if not going.carrier.strip():
        raise Refusal("Say who carries it.", field="carrier")
    told = {
        "consignee": entries.line(going.consignee, "consignee", longest=120),
        "address": entries.paragraph(going.address, "address", longest=500),
        "carrier": entries.line(going.carrier, "carrier", longest=80),
        "control_numbers": entries.line(
            going.control_numbers, "control numbers", field="control_numbers", longest=120, may_be_empty=True
        ),
    }
    with act("axle.shipped", subject=axle.subject, by=by, now=now) as a:
        require_role(by, Role.SHIPPER, shop_day(a.now))
        axle = Axle.objects.select_related("item", "revision__model").get(pk=axle.pk)
        if axle.phase != Phase.CERTIFIED:
            raise NotReady(f"{axle.serial} is {axle.get_phase_display()}. Only a certified axle is shipped.")
        if why := against_leaving(axle):
            raise NotReady(why)
        row = a.create(
            Shipment,
            axle=axle,
            signature=signature(a, grant, Signature.Meaning.RELEASED),
            shipped_at=a.now,
            **told,
        )
        a.update(axle, phase=Phase.GONE)
        place = Place.objects.filter(pk=axle.item_id).first()
        if place is not None:
            a.update(place, where=Where.SHIPPED, host=None, note=row.consignee, since=a.now)
        a.note(consignee=row.consignee, carrier=row.carrier, control_numbers=row.control_numbers)
        return row
