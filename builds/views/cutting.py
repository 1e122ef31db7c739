"""The cutting plan: which tube from which bar, with the list that goes to the saw."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from builds.drawings.sawn_bar import sawn_bar
from builds.forms.cutting import USUAL, SawForm
from builds.reports.planning.cutting import BarPlan, KindPlan, cutting_plan
from builds.reports.planning.nesting import Saw
from builds.views.deliveries import SEES
from shop.codes import running_number
from shop.drawing import Drawing
from shop.http import Asked, methods, needs
from shop.models import Role


@dataclass(frozen=True)
class ShownBar:
    plan: BarPlan
    drawing: Drawing


@dataclass(frozen=True)
class ShownKind:
    plan: KindPlan
    bars: tuple[ShownBar, ...]


@methods("GET")
@needs(*SEES, Role.TUBE_PREP)
def cutting(request: Asked) -> HttpResponse:
    form = SawForm({**USUAL, **{name: request.GET[name] for name in USUAL if name in request.GET}})
    now = timezone.now()
    context: dict[str, object] = {"form": form, "now": now}
    if form.is_valid():
        plan = cutting_plan(now, form.saw())
        context |= {"kinds": list(_shown(plan.kinds, form.saw())), "left_out": plan.left_out}
    return render(request, "builds/cutting.html", context)


def _shown(kinds: tuple[KindPlan, ...], saw: Saw) -> Iterator[ShownKind]:
    for number, kind in enumerate(kinds):
        bars = (ShownBar(bar, _drawn(bar, saw.trim, f"bar-{number}-{at}")) for at, bar in enumerate(kind.bars))
        yield ShownKind(kind, tuple(bars))


def _drawn(bar: BarPlan, trim: Decimal, key: str) -> Drawing:
    pieces = [(f"{running_number(one.tube.axle.serial)} {one.tube.side}", float(one.tube.length)) for one in bar.pieces]
    return sawn_bar(pieces, float(bar.cuts.bar.length), float(trim), float(bar.remnant), key=key)
