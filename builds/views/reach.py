"""The reach list: pick a cause, and see every touched thing by place. Read-only, linkable, printable."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone

from builds.actions.noticing import MAY_PUT
from builds.forms.reach import ReachForm
from builds.reports.reach.answer import Row, Spot, as_csv
from builds.reports.reach.found import reach
from builds.views.paper import pdf_answer
from shop.http import Asked, csv_answer, csv_asked, methods, needs
from shop.models import Role

#: So many rows of a place stand on a page; the others on further pages. CSV and PDF have them all.
ON_A_PAGE = 200
SEES = (Role.MANAGER, Role.QUALITY, Role.INSPECTOR, Role.ENGINEER, Role.OFFICE, Role.LEAD_BUILDER)


@methods("GET")
@needs(*SEES)
def reach_list(request: Asked) -> HttpResponse:
    if "cause" not in request.GET:
        return render(request, "builds/reach.html", {"form": ReachForm()})
    form = ReachForm(request.GET)
    question = form.question(timezone.now())
    if question is None:
        return render(request, "builds/reach.html", {"form": form})
    found = reach(question)
    if csv_asked(request):
        return csv_answer(as_csv(found))
    if request.GET.get("as") == "pdf":
        return pdf_answer(render_to_string("builds/reach_pdf.html", {"found": found}), "reach-list")
    query = request.GET.copy()
    for word in ("as", "at", "page"):
        query.pop(word, None)
    may_put = not request.roles.isdisjoint(MAY_PUT)
    at, page = request.GET.get("at", ""), request.GET.get("page", "")
    places = [_place(spot, rows, page if spot.key == at else "") for spot, rows in found.spots]
    context = {"form": form, "found": found, "places": places, "query": query.urlencode(), "may_put": may_put}
    return render(request, "builds/reach.html", context)


@dataclass(frozen=True)
class Place:
    """The rows of one place that stand on this page: page `number` of so many, from row `first` of `count` on."""

    spot: Spot
    rows: Sequence[Row]
    count: int
    number: int
    pages: int

    @property
    def first(self) -> int:
        return (self.number - 1) * ON_A_PAGE + 1

    @property
    def last(self) -> int:
        return self.first + len(self.rows) - 1


def _place(spot: Spot, rows: Sequence[Row], page: str) -> Place:
    """A page that there is not is the nearest one that there is."""
    pages = max(1, -(-len(rows) // ON_A_PAGE))
    number = min(max(int(page), 1), pages) if page.isdecimal() and len(page) < 9 else 1
    begin = (number - 1) * ON_A_PAGE
    return Place(spot, rows[begin : begin + ON_A_PAGE], len(rows), number, pages)
