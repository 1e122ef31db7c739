"""Units that are in no axle: all of them, beginning some for stock, and between the bench and the shelf."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from builds.actions.building_units import BEGINS, NewUnit, begin_units, fetch_to_bench, put_in_stock
from builds.actions.fitting import TAKES_OUT
from builds.definitions.unit_plan import hands_alike
from builds.forms.units import BeginForm
from builds.models import Unit
from builds.reports.units import beginnable, units_alone
from builds.views.cards import revision_or_404
from builds.views.units import act_on_unit, find_unit
from shop.errors import Refusal
from shop.http import Asked, Done, accept, methods, needs, new_submission


@methods("GET")
def units(request: Asked) -> HttpResponse:
    """Those on the bench with how far they are, those on a shelf, and what may be begun."""
    begins = not request.roles.isdisjoint(BEGINS)
    context = {
        "rows": units_alone(timezone.now()),
        "beginnable": beginnable() if begins else [],
        "begins": begins,
    }
    return render(request, "builds/stock_units.html", context)


@methods("GET", "POST")
@needs(*BEGINS)
def unit_begin(request: Asked, model: str, letter: str, role: str) -> HttpResponse:
    """Begin units of one role, to one revision of a card."""
    revision = revision_or_404(model, letter)
    asked = next((unit for unit in revision.card.units if unit.role == role and unit.for_stock), None)
    if asked is None:
        raise Http404
    sides = () if hands_alike(revision.plan({}), role) else asked.sides
    form = BeginForm(revision.card, role, request.POST if request.method == "POST" else None, sides=sides)

    def draw(_refusal: Refusal | None = None) -> HttpResponse:
        context = {"revision": revision, "unit": asked, "form": form, "submission": new_submission()}
        return render(request, "builds/unit_begin.html", context)

    if request.method == "GET":
        return draw()

    def do() -> list[Unit]:
        new = NewUnit(revision, role, form.cleaned_data.get("side", ""), form.options)
        return begin_units(new=new, count=form.cleaned_data["count"], by=request.who)

    def then(made: list[Unit]) -> Done:
        marks = ", ".join(unit.serial for unit in made)
        return Done(reverse("units"), f"Begun: {marks}. Their first operations wait at their stations.")

    return accept(request, do, then=then, draw=draw, form=form)


@methods("POST")
@needs(*TAKES_OUT)
def unit_stock(request: Asked, pk: int) -> HttpResponse:
    """From the bench to the shelf."""
    found, note = find_unit(pk), request.POST.get("note", "")
    return act_on_unit(
        request, found, lambda: put_in_stock(unit=found, note=note, by=request.who), f"{found} is in stock.", "stock"
    )


@methods("POST")
@needs(*TAKES_OUT)
def unit_bench(request: Asked, pk: int) -> HttpResponse:
    """From the shelf back to the bench."""
    found, reason = find_unit(pk), request.POST.get("reason", "")
    return act_on_unit(
        request,
        found,
        lambda: fetch_to_bench(unit=found, reason=reason, by=request.who),
        f"{found} is at the bench. What is to do again waits at its stations.",
        "bench",
    )
