"""Stations, their terminals and the shifts; registering makes this very browser a terminal."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from shop.actions import stations
from shop.errors import Refusal
from shop.forms import PlainForm, ReasonForm, ShiftForm, StationForm, TerminalForm
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.http.seat import bind_terminal, terminal_of
from shop.lists import CsvList
from shop.models import Role, Shift, Station, Terminal


@methods("GET")
@needs(Role.MANAGER)
def terminals(request: Asked) -> HttpResponse:
    if csv_asked(request):
        rows = Terminal.objects.order_by("code").values_list("code", "station__name", "registered_at", "revoked_at")
        return csv_answer(CsvList("terminals", ("terminal", "station", "registered", "revoked"), rows))
    return _draw(request)


@methods("POST")
@needs(Role.MANAGER)
def terminal_register(request: Asked) -> HttpResponse:
    """This browser becomes the terminal: the key goes into its cookie and nowhere else."""
    form, keys = TerminalForm(request.POST), []

    def do() -> None:
        keys.append(stations.register_terminal(by=request.who, **form.cleaned_data)[1])

    response = _change(request, form, do, "This browser is that terminal now. Sign out; it asks for a badge.")
    if keys and response.status_code < 400:
        bind_terminal(response, keys[0])
    return response


@methods("POST")
@needs(Role.MANAGER)
def terminal_revoke(request: Asked, code: str) -> HttpResponse:
    terminal, form = find_or_404(Terminal.objects.all(), code=code), ReasonForm(request.POST)

    def do() -> None:
        stations.revoke_terminal(terminal=terminal, by=request.who, **form.cleaned_data)

    return _change(request, form, do, f"Terminal {terminal.code} is revoked.", revoking=terminal.code)


@methods("POST")
@needs(Role.MANAGER)
def station_add(request: Asked) -> HttpResponse:
    form = StationForm(request.POST)

    def do() -> None:
        stations.add_station(by=request.who, **form.cleaned_data)

    return _change(request, form, do, "The station is added.")


@methods("POST")
@needs(Role.MANAGER)
def shift_set(request: Asked) -> HttpResponse:
    form = ShiftForm(request.POST)

    def do() -> None:
        stations.set_shift(by=request.who, **form.cleaned_data)

    return _change(request, form, do, "The shift is set.")


def _change(request: Asked, form: PlainForm, do: Callable[[], None], said: str, *, revoking: str = "") -> HttpResponse:
    def draw(_refusal: Refusal | None) -> HttpResponse:
        return _draw(request, form, revoking)

    done = Done(reverse("terminals"), said)
    return accept(request, do, then=lambda _made: done, draw=draw, form=form)


def _draw(request: Asked, bound: PlainForm | None = None, revoking: str = "") -> HttpResponse:
    forms: dict[str, PlainForm] = {
        form.ids: form for form in (TerminalForm(), StationForm(), ShiftForm(), ReasonForm())
    }
    if bound is not None:
        forms[bound.ids] = bound
    context: dict[str, Any] = {
        "here": terminal_of(request),
        "stations": Station.objects.all(),
        "standing": Terminal.objects.filter(revoked_at=None).select_related("station").order_by("code"),
        "revoked": Terminal.objects.exclude(revoked_at=None).order_by("code"),
        "shifts": Shift.objects.all(),
        "forms": forms,
        "revoking": revoking,
        "submission": new_submission(),
    }
    return render(request, "shop/terminals.html", context)
