"""Deliveries: one packing slip after the other, and on each what came with it; the materials it is judged by."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from builds.actions.identities import TAKES_IN
from builds.actions.judging_heats import comes_by_heat, limits_words
from builds.actions.materials import load_material
from builds.actions.papers import NewDelivery, take_delivery
from builds.errors import BrokenDefinition
from builds.forms.heats import DeliveryForm, MaterialForm
from builds.models import Delivery, Material, Revision
from builds.reports.deliveries import came_with, deliveries
from builds.reports.heats import RULES
from builds.reports.stock import newest_cards
from measurements.engineering.limits import Limits
from shop.errors import Refusal
from shop.http import Asked, Done, accept, find_or_404, methods, needs, new_submission
from shop.models import PartKind, Role, Tracking

SEES = (*TAKES_IN, Role.MANAGER, Role.QUALITY, Role.LEAD_BUILDER, Role.ENGINEER)


@methods("GET", "POST")
@needs(*SEES)
def delivery_list(request: Asked) -> HttpResponse:
    """Every packing slip, and the form for the one that lies here now."""
    form = DeliveryForm(request.POST if request.method == "POST" else None)
    words = " ".join(request.GET.get("q", "").split())[:40]

    def draw(_refusal: Refusal | None = None) -> HttpResponse:
        context = {"rows": deliveries(words), "words": words, "form": form, "takes_in": takes_in(request)}
        return render(request, "builds/deliveries.html", context | {"submission": new_submission()})

    if request.method == "GET":
        return draw()
    return accept(
        request,
        lambda: take_delivery(delivery=NewDelivery(**form.cleaned_data), by=request.who),
        then=lambda made: Done(_page(made), f"Packing slip {made} is here. Take in what came with it."),
        draw=draw,
        form=form,
    )


@methods("GET")
@needs(*SEES)
def delivery(request: Asked, pk: int) -> HttpResponse:
    one = find_or_404(Delivery.objects.select_related("item", "supplier", "person"), pk=pk)
    context = {
        "delivery": one,
        "rows": came_with(one),
        "takes_in": takes_in(request),
        "steel": steel_taken_in(),
        "kinds": PartKind.objects.filter(tracking=Tracking.SERIAL),
        "with": f"?delivery={one.pk}",
    }
    return render(request, "builds/delivery.html", context)


@methods("GET", "POST")
@needs(*SEES)
def materials(request: Asked) -> HttpResponse:
    """Which materials certificates are judged by; an engineer loads another one."""
    form = MaterialForm(*((request.POST, request.FILES) if request.method == "POST" else (None,)))

    def do() -> Material:
        file = form.cleaned_data["file"]
        return load_material(content=file.read(), name=file.name or "file", by=request.who)

    def draw(refusal: Refusal | None = None) -> HttpResponse:
        context = {"rows": _shown(), "form": form, "engineer": Role.ENGINEER in request.roles}
        faults = refusal.faults if isinstance(refusal, BrokenDefinition) else ()
        return render(request, "builds/materials.html", context | {"faults": faults, "submission": new_submission()})

    if request.method == "GET":
        return draw()
    return accept(
        request, do, then=lambda made: Done(reverse("materials"), f"{made} is in force."), draw=draw, form=form
    )


def _shown() -> list[tuple[Material, str, list[tuple[Any, str]]]]:
    rows = Material.objects.select_related("loaded_by").order_by("code", "-pk")
    return [
        (row, RULES[row.definition.rounding],
         [(value, limits_words(Limits(value.low, value.high))) for value in row.definition.values])
        for row in rows
    ]  # fmt: skip


def delivery_of(request: Asked) -> Delivery | None:
    """The delivery that the address names, where it names one: what is taken in comes with it."""
    named = request.GET.get("delivery", "")
    if not named:
        return None
    pk = int(named) if named.isascii() and named.isdecimal() and len(named) < 19 else 0
    return find_or_404(Delivery.objects.select_related("item"), pk=pk)


def entry(request: Asked, form: Form, title: str, do: Callable[[], Any], then: Callable[[Any], Done]) -> HttpResponse:
    """A form of one thing to take in; afterwards back to the delivery it came with, where there is one."""
    came = delivery_of(request)

    def draw(_refusal: Refusal | None = None) -> HttpResponse:
        context = {"form": form, "title": title, "submission": new_submission(), "delivery": came}
        return render(request, "builds/stock_entry.html", context)

    def done(made: Any) -> Done:
        found = then(made)
        return found if came is None else Done(_page(came), found.said)

    return draw() if request.method == "GET" else accept(request, do, then=done, draw=draw, form=form)


def steel_taken_in() -> list[tuple[Revision, Any]]:
    """The kinds of steel whose heats the cards in force ask for."""
    return [(one, kind) for one in newest_cards() for kind in one.card.part_kinds if comes_by_heat(one.card, kind)]


def takes_in(request: Asked) -> bool:
    return not request.roles.isdisjoint(TAKES_IN)


def _page(one: Delivery) -> str:
    return reverse("delivery", args=[one.pk])
