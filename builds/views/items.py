"""The page of one part, piece, lot, drum, heat or unit, and the red tag that stops it."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from builds.actions.counting import count_again, quarantine
from builds.actions.identities import TAKES_IN
from builds.actions.loose import tag_loose
from builds.actions.sawing import MEASURES, Measure, measure_bar
from builds.forms.cutting import MeasureForm
from builds.forms.stock import CountForm
from builds.models import BarMeasure
from builds.reports.items import SHOWN, item_file
from shop.errors import Refusal
from shop.http import Asked, Done, accept, find_or_404, methods, needs, new_submission
from shop.models import Item, Lot, Piece, Role


@methods("GET")
def item(request: Asked, pk: int) -> HttpResponse:
    return _draw(request, _find(pk))


@methods("POST")
def item_tag(request: Asked, pk: int) -> HttpResponse:
    """Something is wrong with it: whoever sees it may stop it."""
    found, cause = _find(pk), request.POST.get("cause", "")
    return accept(
        request,
        lambda: tag_loose(item=found, cause=cause, by=request.who),
        then=lambda tag: Done(reverse("red_tag", args=[tag.number]), f"Red tag {tag.number} is open."),
        draw=lambda refusal: _draw(request, found, refusal),
    )


@methods("POST")
@needs(*MEASURES)
def item_measure(request: Asked, pk: int) -> HttpResponse:
    """A length of a bar, taken on the rack: the bar put right, its remnant, a scrapped end."""
    found = _find(pk)
    bar = find_or_404(Piece.objects.select_related("item"), pk=pk)
    form = MeasureForm(request.POST)

    def do() -> BarMeasure:
        try:
            return measure_bar(bar=bar, measure=Measure(**form.cleaned_data), by=request.who)
        except Refusal as refusal:
            refusal.field = "length" if refusal.field == "value" else refusal.field
            raise

    return accept(
        request,
        do,
        then=lambda made: Done(reverse("item", args=[pk]), f"{made.get_what_display().capitalize()}: written down."),
        draw=lambda _refusal: _draw(request, found, measure=form),
        form=form,
    )


@methods("POST")
@needs(*TAKES_IN)
def item_quarantine(request: Asked, pk: int) -> HttpResponse:
    """Into quarantine, by whoever takes in; out of it, by an inspector."""
    found, inside = _find(pk), request.POST.get("to", "") != "stock"
    return accept(
        request,
        lambda: quarantine(item=found, inside=inside, reason=request.POST.get("reason", ""), by=request.who),
        then=lambda made: Done(reverse("item", args=[pk]), f"It is {made.get_where_display()} now."),
        draw=lambda refusal: _draw(request, found, refusal),
    )


@methods("POST")
@needs(*TAKES_IN)
def item_count(request: Asked, pk: int) -> HttpResponse:
    """A lot counted again; the count before stays on record."""
    found = _find(pk)
    lot = find_or_404(Lot.objects.select_related("item"), pk=pk)
    form = CountForm(request.POST)
    return accept(
        request,
        lambda: count_again(lot=lot, **form.cleaned_data, by=request.who),
        then=lambda made: Done(reverse("item", args=[pk]), f"{made.received} came: written down."),
        draw=lambda _refusal: _draw(request, found, count=form),
        form=form,
    )


def _find(pk: int) -> Item:
    rows = Item.objects.filter(kind__in=[str(kind) for kind in SHOWN]).select_related("place__host")
    return find_or_404(rows, pk=pk)


def _draw(
    request: Asked,
    found: Item,
    refusal: Refusal | None = None,
    measure: MeasureForm | None = None,
    count: CountForm | None = None,
) -> HttpResponse:
    context = {
        "count": count or CountForm(),
        "takes_in": not request.roles.isdisjoint(TAKES_IN),
        "lets_out": Role.INSPECTOR in request.roles,
        "measure": measure or MeasureForm(),
        "measures": not request.roles.isdisjoint(MEASURES),
        "file": item_file(found),
        "refusal": refusal.text if refusal else "",
        "posted": request.POST,
        "submissions": {
            name: new_submission() for name in ("tag", "label", "remnant", "measure", "count", "quarantine")
        },
    }
    return render(request, "builds/item.html", context)
