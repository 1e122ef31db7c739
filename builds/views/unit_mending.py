"""What is put right on a unit that is in no axle: a part taken out, a reading declared void, a hold not given."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpResponse
from django.urls import reverse

from builds.actions.adding import void_reading, withdraw_signature
from builds.actions.fitting import TAKES_OUT
from builds.actions.removing import Out, remove_part
from builds.models import Fitted, Unit
from builds.views import units
from builds.views.reading_rows import void_said
from builds.views.station_found import At, the_pass
from measurements.models import Reading
from shop.errors import Refusal
from shop.http import Asked, Done, accept, find_or_404, methods, needs

#: What is said of an act that went well, where it depends on what was made also as a function of that.
Said = str | Callable[[Any], str]


def _act(request: Asked, found: Unit, do: Callable[[], Any], said: Said, ask: tuple[str, str]) -> HttpResponse:
    """A refusal draws the page again with the same form open and what was typed in it."""
    return accept(
        request,
        do,
        then=lambda made: Done(reverse("unit", args=[found.pk]), said if isinstance(said, str) else said(made)),
        draw=lambda refusal: units.draw_unit(request, found, refusal, ask=ask),
    )


@methods("POST")
@needs(*TAKES_OUT)
def unit_part_out(request: Asked, pk: int, fitted: int) -> HttpResponse:
    """Take a part out of it: why, and where it goes; what depended on it is opened again by itself."""
    found = units.find_unit(pk)
    rows = Fitted.objects.filter(host=found.item_id, axle=None).select_related("part", "host", "axle__item")
    row = find_or_404(rows, pk=fitted)
    out = Out(request.POST.get("reason", ""), request.POST.get("to", ""), request.POST.get("note", ""))

    def do() -> Any:
        return remove_part(fitted=row, out=out, by=request.who)

    return _act(request, found, do, f"{row.part.mark} is out.", ("out-part", str(fitted)))


@methods("POST")
def unit_void(request: Asked, pk: int, reading: int) -> HttpResponse:
    """Declare a reading void: it stays visible and its value stands no longer."""
    found, reason = units.find_unit(pk), request.POST.get("reason", "")
    of_unit = Reading.objects.filter(
        sheet__visit_links__visit__item=found.item_id, sheet__visit_links__visit__axle=None
    )
    row = find_or_404(of_unit.select_related("characteristic").distinct(), pk=reading)

    def do() -> Any:
        return void_reading(reading=row, reason=reason, by=request.who)

    return _act(request, found, do, void_said, ("void", str(reading)))


@methods("POST")
def unit_send_back(request: Asked, pk: int, number: int) -> HttpResponse:
    """The second signature is not given: the pass goes back to its doer, with what must be done first."""
    found, reason = units.find_unit(pk), request.POST.get("reason", "")

    def do() -> Any:
        visit = the_pass(At(found.serial, number, alone=True))
        if visit is None:
            raise Refusal(f"Operation {number} of {found.serial} waits for no signature.")
        return withdraw_signature(visit=visit, reason=reason, by=request.who)

    return _act(request, found, do, f"Operation {number} is with its doer again.", ("back", str(number)))
