"""The waiting list of a station, and where a scanned plate leads."""

from __future__ import annotations

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from builds.models import Axle, RedTag
from builds.progress import SlotState
from builds.reports.facts import standing
from builds.reports.lists import waiting_list
from builds.reports.waiting import waiting_at
from builds.views.house_rows import can_start_rows, not_yet_rows
from shop.codes import Scan, ScanKind, parse_scan
from shop.errors import Refusal
from shop.http import (
    Asked,
    csv_answer,
    csv_asked,
    find_or_404,
    methods,
    new_submission,
    refused,
    stamp_of,
    unless_unchanged,
)
from shop.models import ItemKind, Station
from shop.models.finding import find_item
from shop.views.sign_in import after_badge

#: Labels that lead to a page of their own from wherever no operation is open.
_PAGES = frozenset(ScanKind) - {ScanKind.AXLE, ScanKind.BADGE, ScanKind.WELD_PROCEDURE}
_FIRST = (SlotState.SET_DOWN, SlotState.IN_HAND, SlotState.WAIT_SIGN, SlotState.REDO, SlotState.READY)


@methods("GET")
def waiting(request: Asked, code: str) -> HttpResponse:
    """What this station can start now, oldest promise first; for the rest, why not."""
    found = find_or_404(Station.objects.all(), code=code)
    if csv_asked(request):
        return csv_answer(waiting_list(code, waiting_at(code, timezone.now())))
    return _draw(request, found)


def _draw(request: Asked, station: Station, refusal: Refusal | None = None) -> HttpResponse:
    rows = waiting_at(station.code, timezone.now())
    stamp = stamp_of(*((row.bench.pk, row.view.slot.key, row.view.state, row.why) for row in (*rows.now, *rows.later)))
    context = {
        "station": station,
        "rows": rows,
        "can_start": lambda: can_start_rows(rows.now),
        "not_yet": lambda: not_yet_rows(rows.later),
        "stations": Station.objects.all() if request.terminal is None else (),
        "stamp": stamp,
        "scan_url": reverse("scan"),
        "scan_label": "Scan an axle's plate",
        "scan_error": refusal.text if refusal else "",
        "scan_value": request.POST.get("scan", "") if refusal else "",
        "submissions": {"scan": new_submission()},
        "title_block": {
            "axle": "Waiting list",
            "operation": f"{len(rows.now)} to start or go on with",
            "station": station.name,
            "person": request.person.short_name,
        },
    }
    template = "builds/_waiting.html" if request.htmx else "builds/waiting.html"
    return unless_unchanged(request, stamp, lambda: render(request, template, context))


@methods("POST")
def scan(request: Asked) -> HttpResponse:
    """A scan where no operation is open: a plate leads to the axle's operation at this station."""
    try:
        read = parse_scan(request.POST.get("scan", "")[:200])
        if read is not None and read.kind is ScanKind.BADGE:
            return _to(request, after_badge(request, request.POST["scan"][:200]))
        if read is not None and not read.typed and read.kind in _PAGES:
            return _to(request, _page_of(read))
        axle = find_item(ItemKind.AXLE, read if read is not None else "")
    except Refusal as refusal:
        station = request.terminal.station if request.terminal is not None else Station.objects.first()
        assert station is not None
        kept = refusal
        return refused(kept, lambda _: _draw(request, station, kept))
    return _to(request, reverse("axle_here", args=[axle.mark]))


def _page_of(read: Scan) -> str:
    """The page of a thing whose own label was scanned: where it is, where it was, what is wrong with it."""
    assert read.kind is not None
    if read.kind is ScanKind.RED_TAG:
        tag = RedTag.objects.filter(number=int(read.mark)).first() if read.mark.isdecimal() else None
        if tag is None:
            raise Refusal(f"There is no red tag {read.mark[:20]}. Scan it again, or look at the list of red tags.")
        return reverse("red_tag", args=[tag.number])
    found = find_item(ItemKind(read.kind.value), read)
    return reverse("gauge", args=[found.mark]) if read.kind is ScanKind.GAUGE else reverse("item", args=[found.pk])


def _to(request: Asked, url: str) -> HttpResponse:
    if request.htmx:
        return HttpResponse(headers={"HX-Redirect": url})
    return HttpResponseRedirect(url)


@methods("GET")
def axle_here(request: Asked, serial: str) -> HttpResponse:
    """The operation of this axle that belongs to this terminal's station now; its file where there is none."""
    rows = Axle.objects.select_related("item", "line", "revision__model").defer("revision__text")
    axle = find_or_404(rows, item__mark=serial)
    if request.terminal is not None:
        here = [
            view
            for view in standing(axle, timezone.now()).slots.values()
            if view.slot.operation.station == request.terminal.station.code and view.state in _FIRST
        ]
        here.sort(key=lambda view: _FIRST.index(view.state))
        if here:
            slot = here[0].slot
            return HttpResponseRedirect(reverse("station", args=[serial, slot.operation.number, slot.side or "-"]))
    return HttpResponseRedirect(reverse("axle", args=[serial]))
