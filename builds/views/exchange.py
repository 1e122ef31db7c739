"""A service: parts and units of an axle that has left, exchanged by serial on its returns page."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.urls import reverse

from builds.actions.exchanging import SERVES, Swap, exchange
from builds.actions.returning import roles_in
from builds.forms.returning import ReturnForm
from builds.models import Axle, Fitted, Unit
from builds.views.returns import draw_returns
from shop.errors import Refusal
from shop.http import Asked, Done, accept, find_or_404, methods, needs

#: The form has places for a part and its mate: ring and pinion go together.
PLACES = ("1", "2")


@methods("POST")
@needs(*SERVES)
def returns_exchange(request: Asked, serial: str) -> HttpResponse:
    """What comes out, what goes in, and where the old one goes."""
    rows = Axle.objects.select_related("item", "line__order__customer", "revision__model").defer("revision__text")
    axle: Axle = find_or_404(rows, item__mark=serial)

    def do() -> Any:
        swaps = [swap for place in PLACES if (swap := _swap(request, axle, place)) is not None]
        return exchange(axle=axle, swaps=swaps, reason=request.POST.get("reason", ""), by=request.who)

    return accept(
        request,
        do,
        then=lambda made: Done(
            reverse("returns_of", args=[serial]), f"{', '.join(item.mark for item in made)} is in it now."
        ),
        draw=lambda refusal: draw_returns(request, axle, ReturnForm(roles=roles_in(axle)), refusal),
    )


def _swap(request: Asked, axle: Axle, place: str) -> Swap | None:
    """One line of the form; None where nothing was said in it."""
    asked = {name: request.POST.get(f"{name}{place}", "").strip() for name in ("old", "scan", "to", "note")}
    if not asked["old"] and not asked["scan"]:
        return None
    if not asked["old"]:
        raise Refusal("Say what comes out.", field="old")
    if not asked["scan"]:
        raise Refusal("Scan what goes in, or type its mark.", field="scan")
    return Swap(_old(axle, asked["old"]), asked["scan"][:80], asked["to"], asked["note"])


def _old(axle: Axle, word: str) -> Fitted | Unit:
    kind, _, key = word.partition("-")
    found: Fitted | Unit | None = None
    if key.isascii() and key.isdigit() and len(key) < 18:
        if kind == "unit":
            found = Unit.objects.filter(axle=axle, pk=int(key)).select_related("item").first()
        else:
            found = Fitted.objects.now().filter(pk=int(key)).select_related("part", "host").first()
    if found is None:
        raise Refusal(f"What comes out is not in {axle.serial} any more. Look at the page again.", field="old")
    return found
