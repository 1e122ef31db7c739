"""Kits: what is short on which axle, and one axle's kit, picked by scan."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from builds.actions.kitting import KITS, kit_part, return_part
from builds.models import Axle, KitLine
from builds.reports.kit import kit_state
from builds.reports.kits import kit_rows
from builds.reports.lists import kit_list
from builds.reports.marks import describe
from builds.reports.wording import date_words
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.models import Role

SEES = (*KITS, Role.MANAGER, Role.QUALITY, Role.INSPECTOR, Role.ASSEMBLER, Role.HUB_BENCH, Role.TUBE_PREP)


@methods("GET")
@needs(*SEES)
def kits(request: Asked) -> HttpResponse:
    rows = kit_rows()
    return csv_answer(kit_list(rows)) if csv_asked(request) else render(request, "builds/kits.html", {"rows": rows})


@methods("GET")
@needs(*SEES)
def kit(request: Asked, serial: str) -> HttpResponse:
    return _draw(request, _axle(serial))


@methods("POST")
@needs(*KITS)
def kit_scan(request: Asked, serial: str) -> HttpResponse:
    """One scan sets one thing aside; the page comes back with what is still short."""
    axle = _axle(serial)
    role, scan = request.POST.get("role", ""), request.POST.get("scan", "")

    def then(lines: list[KitLine]) -> Done:
        roles = " and ".join(line.role.replace("_", " ") for line in lines)
        return Done(_page_of(axle), f"{describe(lines[0].part)} is set aside as {roles}.")

    return accept(
        request,
        lambda: kit_part(axle=axle, scan=scan, role=role, by=request.who),
        then=then,
        draw=lambda refusal: _draw(request, axle, refusal),
        answer=lambda done: _draw(request, axle, said=done.said),
    )


@methods("POST")
@needs(*KITS)
def kit_return(request: Asked, serial: str, line: int) -> HttpResponse:
    axle = _axle(serial)
    row = find_or_404(KitLine.objects.select_related("axle__item", "part"), axle=axle, pk=line)
    return accept(
        request,
        lambda: return_part(line=row, by=request.who),
        then=lambda made: Done(_page_of(axle), f"{describe(made.part)} is returned."),
        draw=lambda refusal: _draw(request, axle, refusal),
        answer=lambda done: _draw(request, axle, said=done.said),
    )


def _axle(serial: str) -> Axle:
    rows = Axle.objects.select_related("item", "revision__model", "line__order__customer")
    return find_or_404(rows.defer("revision__text"), item__mark=serial)


def _page_of(axle: Axle) -> str:
    return reverse("kit", args=[axle.serial])


def _draw(request: Asked, axle: Axle, refusal: Refusal | None = None, said: str = "") -> HttpResponse:
    """The whole page, or what a script swaps in."""
    fresh = _axle(axle.serial)
    state = kit_state(fresh)
    posted = request.method == "POST" and refusal is not None
    context: dict[str, Any] = {
        "axle": fresh,
        "state": state,
        "role": (request.POST if posted else request.GET).get("role", ""),
        "picks": not request.roles.isdisjoint(KITS),
        "scan_url": reverse("kit_scan", args=[fresh.serial]),
        "scan_value": request.POST.get("scan", "") if posted else "",
        "scan_error": refusal.text if refusal else "",
        "said": [{"text": said, "tags": "success"}] if said else [],
        "submissions": {"scan": new_submission(), "return": new_submission()},
        "title_block": _title_block(request, fresh),
    }
    return render(request, "builds/_kit.html" if request.htmx else "builds/kit.html", context)


def _title_block(request: Asked, axle: Axle) -> dict[str, Any]:
    promised = [date_words(day) for day in (axle.line.promised_from, axle.line.promised_to)]
    return {
        "axle": axle.serial,
        "sheet": "Kit",
        "station": request.terminal.station.name if request.terminal else "",
        "build_card": str(axle.revision),
        "person": request.person.short_name,
        "more": [
            {"label": "state", "value": axle.get_phase_display()},
            {"label": "promised", "value": " to ".join(promised)},
        ],
    }
