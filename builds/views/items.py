"""The page of one part, piece, lot, drum, heat or unit, and the red tag that stops it."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from builds.actions.loose import tag_loose
from builds.reports.items import SHOWN, item_file
from shop.errors import Refusal
from shop.http import Asked, Done, accept, find_or_404, methods, new_submission
from shop.models import Item


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


def _find(pk: int) -> Item:
    rows = Item.objects.filter(kind__in=[str(kind) for kind in SHOWN]).select_related("place__host")
    return find_or_404(rows, pk=pk)


def _draw(request: Asked, found: Item, refusal: Refusal | None = None) -> HttpResponse:
    context = {
        "file": item_file(found),
        "refusal": refusal.text if refusal else "",
        "posted": request.POST,
        "submissions": {"tag": new_submission(), "label": new_submission()},
    }
    return render(request, "builds/item.html", context)
