"""The material drawer: what is here and where it is; forms to take in what is needed to use it."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from builds.actions import receiving
from builds.actions.identities import TAKES_IN
from builds.forms.stock import BarForm, DrumForm, LotForm, PartForm
from builds.reports.lists import stock_list
from builds.reports.stock import EVERY, FEW, LISTS, MOST, drawer, facts_of
from builds.views.deliveries import SEES, delivery_of, entry, steel_taken_in, takes_in
from shop.clock import shop_day
from shop.http import (
    Asked,
    Done,
    accept,
    csv_answer,
    csv_asked,
    find_or_404,
    methods,
    needs,
    new_submission,
    plain_page,
)
from shop.models import Drum, PartKind, Tracking


@methods("GET")
@needs(*SEES)
def stock(request: Asked) -> HttpResponse:
    words = " ".join(request.GET.get("q", "").split())[:40]
    if csv_asked(request):
        return _list(request, words)
    only = request.GET.get("only", "")
    only = only if only in LISTS else ""
    context = {
        "drawer": drawer(words, shop_day(timezone.now()), most=MOST if only or words else FEW, only=only),
        "words": words,
        "only": only,
        "query": urlencode({"q": words}) if words else "",
        "takes_in": takes_in(request),
        "steel": steel_taken_in(),
        "kinds": PartKind.objects.filter(tracking=Tracking.SERIAL),
        "submission": new_submission(),
    }
    return render(request, "builds/stock.html", context)


def _list(request: Asked, words: str) -> HttpResponse:
    name = request.GET.get("list", "") or "-"
    found = stock_list(drawer(words, shop_day(timezone.now()), most=EVERY, only=name), name)
    if found is None:
        raise Http404
    return csv_answer(found)


@methods("GET", "POST")
@needs(*TAKES_IN)
def bar_new(request: Asked) -> HttpResponse:
    came = delivery_of(request)
    form = BarForm(request.POST if request.method == "POST" else None)
    return entry(
        request,
        form,
        "A bar, or a remnant",
        lambda: receiving.take_in_bar(bar=receiving.NewBar(**form.cleaned_data, delivery=came), by=request.who),
        lambda made: _taken(f"{made.kind} {made.item.mark} is taken in."),
    )


@methods("GET", "POST")
@needs(*TAKES_IN)
def lot_new(request: Asked) -> HttpResponse:
    came = delivery_of(request)
    form = LotForm(request.POST if request.method == "POST" else None)
    return entry(
        request,
        form,
        "A lot",
        lambda: receiving.take_in_lot(lot=receiving.NewLot(**form.cleaned_data, delivery=came), by=request.who),
        lambda made: _taken(f"Lot {made.item.mark} of {made.kind} is taken in."),
    )


@methods("GET", "POST")
@needs(*TAKES_IN)
def part_new(request: Asked, kind: str) -> HttpResponse:
    part_kind = find_or_404(PartKind.objects.filter(tracking=Tracking.SERIAL), code=kind)
    came = delivery_of(request)
    form = PartForm(facts_of(part_kind), request.POST if request.method == "POST" else None)

    def do() -> Any:
        named = {name: form.cleaned_data[name] for name in ("mark", "supplier", "heat", "set_mark", "sure")}
        new = receiving.NewPart(kind=part_kind, facts=form.facts, delivery=came, **named)
        return receiving.take_in_part(part=new, by=request.who)

    return entry(
        request,
        form,
        part_kind.name,
        do,
        lambda made: _taken(f"{made.kind} {made.item.mark} is taken in."),
    )


@methods("GET", "POST")
@needs(*receiving.OPENS_DRUMS)
def drum_new(request: Asked) -> HttpResponse:
    form = DrumForm(request.POST if request.method == "POST" else None)
    return entry(
        request,
        form,
        "Open a drum, can or spool",
        lambda: receiving.open_drum(**form.cleaned_data, by=request.who),
        lambda made: Done(reverse("drum_new"), f"{made.item.mark} is open."),
    )


@methods("POST")
@needs(*receiving.OPENS_DRUMS)
def drum_shut(request: Asked, pk: int) -> HttpResponse:
    one = find_or_404(Drum.objects.select_related("item"), pk=pk)
    return accept(
        request,
        lambda: receiving.shut_drum(drum=one, by=request.who),
        then=lambda made: _taken(f"{made.item.mark} is shut."),
        draw=lambda refusal: plain_page(request, 422, refusal.text if refusal else ""),
    )


def _taken(said: str) -> Done:
    return Done(reverse("stock"), said)
