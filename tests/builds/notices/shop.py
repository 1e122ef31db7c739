"""Axles with a bearing of a lot in them, on the floor or sent to a consignee."""

from __future__ import annotations

from django.utils import timezone

from builds.actions.fitting import fit_part
from builds.models import Axle, Phase, Revision, Shipment
from shop.models import Role
from shop.record.models import Signature
from shop.record.who import Who
from tests.builds.floor import axle, person, visit


def with_bearing(revision: Revision, mark: str) -> Axle:
    made = axle(revision)
    work = visit(made, 30)
    fit_part(visit=work, scan=mark, by=Who(work.claimed_by))
    Axle.objects.filter(pk=made.pk).update(phase=Phase.FLOOR)
    return Axle.objects.select_related("item", "line__order__customer").get(pk=made.pk)


def sent(made: Axle, consignee: str) -> None:
    """Rows, not actions: building and closing a whole axle has its own tests."""
    now = timezone.now()
    signed = Signature.objects.create(person=person(Role.SHIPPER).person, meaning="released", at=now)
    Shipment.objects.create(
        axle=made, consignee=consignee, address="1 Quarry Lane", carrier="Carrier", signature=signed, shipped_at=now
    )
    Axle.objects.filter(pk=made.pk).update(phase=Phase.GONE, closed_at=now)
    made.refresh_from_db()
