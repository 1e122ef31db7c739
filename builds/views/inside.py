"""What is in one axle on a chosen day: the reach list read backwards. Read-only."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from builds.models import Axle
from builds.reports.reach.backwards import as_csv, contents, on_day
from shop.errors import Refusal
from shop.http import Asked, csv_answer, csv_asked, find_or_404, methods


@methods("GET")
def axle_inside(request: Asked, serial: str) -> HttpResponse:
    axle = find_or_404(Axle.objects.select_related("item"), item__mark=serial)
    typed, now = request.GET.get("day", "")[:20], timezone.now()
    try:
        found = contents(axle, on_day(typed, axle, now))
    except Refusal as refusal:
        return render(request, "builds/inside.html", {"axle": axle, "typed": typed, "refusal": refusal}, status=422)
    if csv_asked(request):
        return csv_answer(as_csv(found))
    return render(request, "builds/inside.html", {"axle": axle, "typed": typed or str(found.day), "found": found})
