"""A blank card of one operation, for work that is done on paper and entered afterwards."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render

from builds.models import Axle
from builds.reports.wording import limits
from builds.views.station_found import At, key_of, the_bench
from shop.http import Asked, find_or_404, methods

#: Filled in by hand at the foot of the sheet.
CELLS = [{"label": label, "value": ""} for label in ("done by", "day and time", "entered by", "day and time")]


@methods("GET")
def blank_card(request: Asked, /, **address: Any) -> HttpResponse:
    """Every characteristic with its limits and an empty box for each position."""
    at = At(**address)
    bench = the_bench(at)
    slot = bench.plan.by_key.get(key_of(bench, at))
    if slot is None:
        find_or_404(Axle.objects.none(), pk=0)
    assert slot is not None
    asked = [(planned, limits(planned.characteristic)) for planned in slot.characteristics]
    shown = {
        "bench": bench,
        "slot": slot,
        "here": at.url(),
        "asked": asked,
        "cells": CELLS,
        "notice": bench.plan.card.notice,
    }
    return render(request, "builds/blank_card.html", shown)
