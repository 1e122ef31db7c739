"""A scan at the bench, understood by what it says, in any order, wherever the focus is."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse
from django.utils import timezone

from builds.models import Visit
from builds.reports.work import work_of
from builds.views.chosen_gauges import choose as keep_chosen
from measurements.gauges import good_gauge
from measurements.models import Gauge
from shop.codes import ScanKind, parse_scan
from shop.errors import Refusal
from shop.http import Asked
from shop.models import ItemKind
from shop.models.finding import find_item
from shop.views.sign_in import after_badge


@dataclass(frozen=True)
class Scanned:
    """What a scan leads to: another page, a part to fit, or a gauge that is now chosen."""

    url: str = ""
    part: str = ""
    gauge: str = ""


def read_scan(request: Asked, visit: Visit, scan: str, *, choose: bool = True) -> Scanned:
    """Refuses what makes no sense here, and says what would."""
    read = parse_scan(scan)
    if read is None:
        raise Refusal("Scan a gauge, a part of this operation, or an axle's plate.", field="scan")
    if read.kind is ScanKind.BADGE:
        return Scanned(url=after_badge(request, scan))
    if read.kind is ScanKind.AXLE or (read.kind is None and _is_axle(read.mark)):
        axle = find_item(ItemKind.AXLE, read)
        return Scanned(url=reverse("axle_here", args=[axle.mark]))
    gauge = Gauge.objects.filter(item__mark=read.mark).select_related("item").first()
    if read.kind is ScanKind.GAUGE or (gauge is not None and read.kind is None):
        if gauge is None:
            raise Refusal(f"No gauge carries the mark “{read.mark[:40]}”. Scan the gauge's own label.", field="scan")
        _choose(request, visit, gauge, choose=choose)
        return Scanned(gauge=gauge.item.mark)
    return Scanned(part=scan)


def _is_axle(mark: str) -> bool:
    return mark.count("-") == 3


def _choose(request: Asked, visit: Visit, gauge: Gauge, *, choose: bool) -> None:
    """A gauge of a kind that this operation asks for, good when the work was done, stays chosen at this browser."""
    kinds = {planned.characteristic.gauge_kind for planned in work_of(visit).planned}
    if any(planned.characteristic.needs_setting for planned in work_of(visit).planned):
        kinds.add("setting_ring")
    if gauge.kind not in kinds:
        asked = ", ".join(sorted(kind.replace("_", " ") for kind in kinds if kind)) or "no gauge"
        raise Refusal(
            f"{gauge.item.mark} is a {gauge.kind.replace('_', ' ')}. This operation asks for: {asked}.",
            field="scan",
        )
    good_gauge(gauge.item.mark, gauge.kind, visit.worked_at or timezone.now())
    if choose:
        keep_chosen(request, gauge)
