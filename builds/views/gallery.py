"""Every component and drawing on one page, to look at; open only where the demo or debugging is on."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from builds.views import gallery_pieces, gallery_station
from shop.views.gallery_form import GalleryForm

WORDS = (
    ("done", "full thick line"),
    ("in hand", "extra thick line, tinted"),
    ("ready", "thin full line"),
    ("not yet", "dashed line; also waiting"),
    ("stopped", "section hatching"),
)
VERDICTS = (
    ("in", "In: 104 ft-lb"),
    ("low", "Out: 98, 2 ft-lb under"),
    ("high", "Out: 113, 3 ft-lb over"),
    ("missing", "Position 7 has no reading"),
    ("ask", "Far off: is it 8.0?"),
    ("stopped", "Stopped: red tag 57"),
)
COLUMNS = [
    {"label": "Axle"},
    {"label": "At operation"},
    {"label": "State"},
    {"label": "Why"},
    {"label": "Since", "n": True},
    {"label": "Promised for"},
]


def _row(serial: str, at: str, state: str, why: str, since: str, promised: str) -> dict[str, object]:
    cells = [{"text": serial, "url": "#", "serial": True}, at, {"state": state}, why, since, promised]
    return {"cells": cells, "stopped": state == "stopped"}


ROWS = [
    _row("TBK-26-0139-A", "300 Final backlash", "stopped", "backlash out, red tag 57", "2 h 10", "4–6 Dec"),
    _row(
        "TBK-26-0140-O",
        "165 Second look, welds",
        "waiting for time",
        "48 h after last weld",
        "45 h",
        "8–10 Dec",
    ),
    _row("TBK-26-0148-8", "220 Ring-gear bolts", "in hand", "Rusk Adeholm", "35 min", "2–3 Dec"),
    _row("TBK-26-0144-G", "410 Leak test", "ready", "", "1 h 05", "1–2 Dec"),
    _row("TBK-26-0137-E", "420 Plate", "done", "", "3 d 4 h", "gone"),
]


def _open() -> None:
    if not (settings.DEBUG or settings.DEMO):
        raise Http404


@require_GET
def gallery(request: HttpRequest) -> HttpResponse:
    """All components and drawings."""
    _open()
    form = GalleryForm({"name": "", "width": "61,5", "paper": "a4"})
    form.is_valid()
    ways = [
        {"label": word, "url": "#"} for word in ("Waiting", "Floor", "Axles", "Orders", "Holds", "Red tags", "Kits")
    ]
    ways[1] = {**ways[1], "current": "page", "count": "11"}
    shown = {
        "words": WORDS,
        "verdicts": VERDICTS,
        "columns": COLUMNS,
        "rows": ROWS,
        "form": form,
        "navigation": ways,
    }
    facts = [
        {"label": "Customer", "value": "Lumen Ridge Rescue Cooperative", "url": "#"},
        {"label": "Build card", "value": "Sorrel 960, revision D"},
        {"label": "Ring and pinion", "value": "set AG-10431, mark +2"},
        {"label": "Replaces", "value": None},
    ]
    kinds = gallery_station.KINDS
    return render(request, "gallery.html", {**shown, **gallery_pieces.drawings(), "facts": facts, "kinds": kinds})


@require_GET
def gallery_page(request: HttpRequest, kind: str) -> HttpResponse:
    """A station page filled with invented values."""
    _open()
    if kind not in gallery_station.KINDS:
        raise Http404
    return render(request, "builds/station.html", gallery_station.station(kind))
