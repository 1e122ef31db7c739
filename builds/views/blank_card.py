"""A blank card of one operation, for work that is done on paper and entered afterwards."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from builds.models import Axle
from builds.reports.wording import limits
from shop.http import Asked, find_or_404, methods

#: Filled in by hand at the foot of the sheet.
CELLS = [{"label": label, "value": ""} for label in ("done by", "day and time", "entered by", "day and time")]


@methods("GET")
def blank_card(request: Asked, serial: str, number: int, side: str) -> HttpResponse:
    """Every characteristic with its limits and an empty box for each position."""
    rows = Axle.objects.select_related("item", "revision__model").defer("revision__text")
    axle = find_or_404(rows, item__mark=serial)
    key = f"{number}/{'' if side == '-' else side}"
    slot = axle.plan.by_key.get(key)
    if slot is None:
        find_or_404(Axle.objects.none(), pk=0)
    assert slot is not None
    asked = [(planned, limits(planned.characteristic)) for planned in slot.characteristics]
    shown = {"axle": axle, "slot": slot, "side": side, "asked": asked, "cells": CELLS, "notice": axle.plan.card.notice}
    return render(request, "builds/blank_card.html", shown)
