"""The first page of a person, and the touch that keeps a terminal awake."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect

from shop.http import Asked, methods
from shop.models import Role
from shop.views.around import address


@methods("GET")
def home(request: Asked) -> HttpResponse:
    """Each to their work: the station's waiting list, the holds, the floor, or what is theirs."""
    choices = []
    if request.terminal is not None:
        choices.append(address("waiting", request.terminal.station.code))
    if Role.MANAGER in request.roles:
        choices.append(address("floor"))
    if Role.INSPECTOR in request.roles:
        choices.append(address("holds"))
    choices.append(address("mine"))
    return redirect(next(choice for choice in choices if choice))


@methods("POST")
def extend(request: Asked) -> HttpResponse:
    """A key was touched; the gate notes it."""
    return HttpResponse(status=204)
