"""The material drawer: what is here and where it is; forms to take in what is needed to use it."""

from __future__ import annotations

from typing import Any

from django.forms import Form
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from builds.actions import receiving
from builds.actions.receiving_heats import NewHeat, comes_by_heat, free_heat, steel_values, take_in_heat
from builds.errors import FarOff
from builds.forms.stock import VALUE, BarForm, DrumForm, HeatForm, LotForm, PartForm
from builds.models import RedTag, Revision
from builds.reports.lists import stock_list
from builds.reports.stock import EVERY, drawer, facts_of, heat_values, newest_cards, pieces_of
from builds.views.cards import revision_or_404
from shop.clock import shop_day
from shop.errors import Refusal
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
from shop.models import Drum, Heat, PartKind, Role, Tracking

SEES = (*receiving.TAKES_IN, Role.MANAGER, Role.QUALITY, Role.LEAD_BUILDER, Role.ENGINEER)


@methods("GET")
@needs(*SEES)
def stock(request: Asked) -> HttpResponse:
    words = " ".join(request.GET.get("q", "").split())[:40]
    if csv_asked(request):
        return _list(request, words)
    steel = [(one, kind) for one in newest_cards() for kind in one.card.part_kinds if comes_by_heat(one.card, kind)]
    context = {
        "drawer": drawer(words, shop_day(timezone.now())),
        "words": words,
        "query": urlencode({"q": words}) if words else "",
        "takes_in": _takes_in(request),
        "steel": steel,
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
@needs(*receiving.TAKES_IN)
def heat_new(request: Asked, model: str, letter: str, kind: str) -> HttpResponse:
    """A mill certificate, value by value, judged by the limits of a card's revision."""
    revision, part_kind = revision_or_404(model, letter), find_or_404(PartKind.objects.all(), code=kind)
    form = HeatForm(_values_or_404(revision, kind), request.POST if request.method == "POST" else None)

    def do() -> Heat:
        facts = {
            name: form.cleaned_data[name] for name in ("mark", "supplier", "certificate", "certificate_type", "sure")
        }
        heat = NewHeat(kind=part_kind, values=form.typed, kept=form.kept, **facts)
        try:
            return take_in_heat(heat=heat, revision=revision, by=request.who)
        except Refusal as refusal:
            if isinstance(refusal, FarOff):
                form.keep_question(refusal.field)
            if refusal.field in form.codes:
                refusal.field = f"{VALUE}{refusal.field}"
            raise

    title = f"Heat of {part_kind.name.lower()}, judged by {revision}"
    return _entry(request, form, title, do, _heat_done)


def _heat_done(made: Heat) -> Done:
    said = "is refused and set in quarantine" if made.status == "refused" else "waits for the inspector's first look"
    return Done(_heat_page(made), f"Heat {made.item.mark} {said}.")


@methods("GET")
@needs(*SEES)
def heat(request: Asked, pk: int) -> HttpResponse:
    return _draw_heat(request, _heat(pk))


@methods("POST")
@needs(Role.INSPECTOR)
def heat_free(request: Asked, pk: int) -> HttpResponse:
    """The inspector's signature that frees the first use of a heat, shop-wide."""
    one = _heat(pk)

    def do() -> Heat:
        return free_heat(heat=one, grant=request.grant, by=request.who)

    return accept(
        request,
        do,
        then=lambda made: Done(_heat_page(made), f"Heat {made.item.mark} is free for use."),
        draw=lambda refusal: _draw_heat(request, one, refusal),
        meaning="released",
    )


@methods("GET", "POST")
@needs(*receiving.TAKES_IN)
def bar_new(request: Asked) -> HttpResponse:
    form = BarForm(request.POST if request.method == "POST" else None)
    return _entry(
        request,
        form,
        "A bar, or a remnant",
        lambda: receiving.take_in_bar(bar=receiving.NewBar(**form.cleaned_data), by=request.who),
        lambda made: _to_stock(f"{made.kind} {made.item.mark} is taken in."),
    )


@methods("GET", "POST")
@needs(*receiving.TAKES_IN)
def lot_new(request: Asked) -> HttpResponse:
    form = LotForm(request.POST if request.method == "POST" else None)
    return _entry(
        request,
        form,
        "A lot",
        lambda: receiving.take_in_lot(lot=receiving.NewLot(**form.cleaned_data), by=request.who),
        lambda made: _to_stock(f"Lot {made.item.mark} of {made.kind} is taken in."),
    )


@methods("GET", "POST")
@needs(*receiving.TAKES_IN)
def part_new(request: Asked, kind: str) -> HttpResponse:
    part_kind = find_or_404(PartKind.objects.filter(tracking=Tracking.SERIAL), code=kind)
    form = PartForm(facts_of(part_kind), request.POST if request.method == "POST" else None)

    def do() -> Any:
        names = ("mark", "supplier", "heat", "set_mark", "sure")
        new = receiving.NewPart(kind=part_kind, facts=form.facts, **{name: form.cleaned_data[name] for name in names})
        return receiving.take_in_part(part=new, by=request.who)

    return _entry(
        request,
        form,
        part_kind.name,
        do,
        lambda made: _to_stock(f"{made.kind} {made.item.mark} is taken in."),
    )


@methods("GET", "POST")
@needs(*receiving.OPENS_DRUMS)
def drum_new(request: Asked) -> HttpResponse:
    form = DrumForm(request.POST if request.method == "POST" else None)
    return _entry(
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
        then=lambda made: _to_stock(f"{made.item.mark} is shut."),
        draw=lambda refusal: plain_page(request, 422, refusal.text if refusal else ""),
    )


def _entry(request: Asked, form: Form, title: str, do: Any, then: Any) -> HttpResponse:
    def draw(_refusal: Refusal | None = None) -> HttpResponse:
        context = {"form": form, "title": title, "submission": new_submission()}
        return render(request, "builds/stock_entry.html", context)

    return draw() if request.method == "GET" else accept(request, do, then=then, draw=draw, form=form)


def _heat(pk: int) -> Heat:
    return find_or_404(Heat.objects.select_related("item__place", "supplier", "freed_by"), pk=pk)


def _heat_page(one: Heat) -> str:
    return reverse("heat", args=[one.pk])


def _draw_heat(request: Asked, one: Heat, refusal: Refusal | None = None) -> HttpResponse:
    context = {
        "heat": _heat(one.pk),
        "values": heat_values(one),
        "pieces": pieces_of(one),
        "tags": RedTag.objects.open().filter(item=one.item),
        "refusal": refusal.text if refusal else "",
        "frees": Role.INSPECTOR in request.roles,
        "submission": new_submission(),
    }
    return render(request, "builds/heat.html", context)


def _to_stock(said: str) -> Done:
    return Done(reverse("stock"), said)


def _takes_in(request: Asked) -> bool:
    return not request.roles.isdisjoint(receiving.TAKES_IN)


def _values_or_404(revision: Revision, kind: str) -> Any:
    """What the certificate must state; nothing for a forging or a casting whose heat is only written down."""
    kinds = [found for found in revision.card.part_kinds if found.code == kind]
    if not kinds or not comes_by_heat(revision.card, kinds[0]):
        raise Http404
    return steel_values(revision.card, kind)
