"""Units: those of one axle, and the page of one: its life, out of its axle, into another one, to the scrap bin."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from builds.actions.fitting import TAKES_OUT
from builds.actions.joining import Spot, join_unit, rob_unit
from builds.actions.parting import GOES_TO, UnitOut, part_unit
from builds.actions.scrapping import PARTS_GO_TO, PartTo, asked_parts, scrap_unit
from builds.models import Axle, Joined, Unit
from builds.reports.facts import standing
from builds.reports.units import (
    again_with,
    formerly_in,
    inside_of,
    is_built_for_stock,
    is_untouched,
    offers,
    passes_of,
    stays_of,
)
from builds.views.station_found import the_axle
from builds.views.unit_asked import to_mend
from shop.codes import normalise_mark, parse_scan
from shop.errors import Refusal
from shop.http import Asked, Done, accept, find_or_404, methods, needs, new_submission
from shop.models import Where

INTO = "axle"


@methods("GET")
def axle_units(request: Asked, serial: str) -> HttpResponse:
    """The units that stand in it, how far each is, which of stock could stand there, and those that left."""
    axle = the_axle(serial)
    stands = standing(axle, timezone.now())
    rows = Unit.objects.filter(axle=axle).select_related("item").order_by("role", "side")
    found = []
    for unit in rows:
        slots = [view for view in stands.slots.values() if (view.slot.unit, view.slot.side) == (unit.role, unit.side)]
        free = is_untouched(unit) and axle.closed_at is None and axle.scrapped_at is None
        offered = offers(axle, unit.role, unit.side) if free else []
        done = sum(view.finished for view in slots)
        found.append({"unit": unit, "done": done, "slots": len(slots), "free": free, "offers": offered})
    context = {
        "axle": axle,
        "rows": found,
        "formerly": formerly_in([axle.pk]),
        "may": _may(request) and axle.scrapped_at is None,
    }
    return render(request, "builds/units.html", context)


@methods("GET")
def unit(request: Asked, pk: int) -> HttpResponse:
    return draw_unit(request, find_unit(pk))


@methods("POST")
@needs(*TAKES_OUT)
def unit_out(request: Asked, pk: int) -> HttpResponse:
    """Out of its axle: to stock, to the red-tag shelf, to the scrap bin, or straight into another axle."""
    found = find_unit(pk)
    was, asked = found.axle, request.POST
    to = asked.get("to", "")
    out = UnitOut(asked.get("reason", ""), to, asked.get("note", ""), _parts(request, found))

    def do() -> Any:
        if to != INTO:
            return part_unit(unit=found, out=out, by=request.who)
        return rob_unit(unit=found, out=out, spot=_spot(request), by=request.who)

    return act_on_unit(request, found, do, f"{found} is out of {was}.", "out", was)


@methods("POST")
@needs(*TAKES_OUT)
def unit_in(request: Asked, pk: int) -> HttpResponse:
    """From stock into an axle."""
    found, reason = find_unit(pk), request.POST.get("reason", "")
    return act_on_unit(
        request,
        found,
        lambda: join_unit(unit=found, spot=_spot(request), reason=reason, by=request.who),
        partial(_is_in, found),
        "in",
    )


@methods("POST")
@needs(*TAKES_OUT)
def unit_scrap(request: Asked, pk: int) -> HttpResponse:
    """From the shelf to the scrap bin, with a word for every part in it."""
    found, reason = find_unit(pk), request.POST.get("reason", "")
    parts = _parts(request, found)
    return act_on_unit(
        request,
        found,
        lambda: scrap_unit(unit=found, reason=reason, parts=parts, by=request.who),
        f"{found} is in the scrap bin.",
        "scrap",
    )


def _is_in(found: Unit, row: Joined) -> str:
    again = ", ".join(map(str, again_with(row)))
    return f"{found} is in. What was done on it counts there{f'; to do again: {again}' if again else ''}."


def act_on_unit(
    request: Asked,
    found: Unit,
    do: Callable[[], Any],
    said: str | Callable[[Any], str],
    form: str,
    axle: Axle | None = None,
) -> HttpResponse:
    back = reverse("axle_units", args=[axle.serial]) if axle is not None else reverse("unit", args=[found.pk])
    return accept(
        request,
        do,
        then=lambda done: Done(back, said if isinstance(said, str) else said(done)),
        draw=lambda refusal: draw_unit(request, found, refusal, form),
    )


def find_unit(pk: int) -> Unit:
    rows = Unit.objects.select_related("item__place", "axle__item", "axle__revision__model", "revision__model")
    return find_or_404(rows.defer("axle__revision__text", "revision__text"), pk=pk)


def _spot(request: Asked) -> Spot:
    """The axle that was scanned or typed, and the side."""
    typed = request.POST.get("into", "")
    if not typed.strip():
        raise Refusal("Say which axle it goes into: scan its plate, or type its serial.", field="into")
    scan = parse_scan(typed)
    mark = scan.mark if scan is not None else normalise_mark(typed)
    axle = Axle.objects.select_related("item").filter(item__mark=mark).first()
    if axle is None:
        raise Refusal(f"There is no axle {mark[:40]}. Read the serial from its plate.", field="into")
    return Spot(axle, request.POST.get("side", "")[:12])


def _parts(request: Asked, found: Unit) -> dict[int, PartTo]:
    """What was said of each part in it; nothing of those that were left open."""
    said = {}
    for row in inside_of(found):
        to = request.POST.get(f"part-{row.pk}", "")
        if to:
            said[row.pk] = PartTo(to, request.POST.get(f"note-{row.pk}", ""))
    return said


def draw_unit(
    request: Asked, found: Unit, refusal: Refusal | None = None, form: str = "", ask: tuple[str, str] | None = None
) -> HttpResponse:
    inside = inside_of(found)
    asked = {
        row.pk: (request.POST.get(f"part-{row.pk}", ""), request.POST.get(f"note-{row.pk}", ""))
        for row in asked_parts(inside)
    }
    place = getattr(found.item, "place", None)
    at_bench = found.axle is None and place is not None and place.where == Where.FLOOR and found.revision is not None
    slots = tuple(standing(found, timezone.now()).slots.values()) if at_bench else ()
    context = {
        **to_mend(request, found, inside, slots, ask),
        "unit": found,
        "slots": slots,
        "at_bench": at_bench and _may(request),
        "to_bench": _may(request) and is_built_for_stock(found) and place is not None and place.where == Where.STOCK,
        "inside": inside,
        "parts": [(row, *asked[row.pk]) for row in asked_parts(inside)],
        "stays": stays_of(found),
        "passes": passes_of(found),
        "sides": _sides(found),
        "destinations": [(word, Where(word).label) for word in GOES_TO],
        "part_destinations": [(word, Where(word).label) for word in PARTS_GO_TO],
        "out": found.axle is not None and _may(request),
        "shelf": found.axle is None and place is not None and place.where != Where.SCRAP and _may(request),
        "joins": place is not None and place.where != Where.FLOOR,
        "into": request.POST.get("into") or request.GET.get("into", "")[:40],
        "side": request.POST.get("side") or request.GET.get("side") or found.side or found.built_side,
        "posted": request.POST,
        "refusal": refusal,
        "form": form,
        "submissions": {name: new_submission() for name in ("out", "in", "scrap", "label", "stock", "bench")},
    }
    return render(request, "builds/unit.html", context)


def _sides(found: Unit) -> tuple[str, ...]:
    revision = found.revision or (found.axle.revision if found.axle is not None else None)
    return revision.card.unit(found.role).sides if revision is not None else ()


def _may(request: Asked) -> bool:
    return not request.roles.isdisjoint(TAKES_OUT)
