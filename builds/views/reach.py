"""The reach list: pick a cause, and see every touched thing by place. Read-only, linkable, printable."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone

from builds.actions.noticing import MAY_PUT
from builds.forms.reach import ReachForm
from builds.reports.reach.answer import as_csv
from builds.reports.reach.found import reach
from builds.views.paper import pdf_answer
from shop.http import Asked, csv_answer, csv_asked, methods, needs
from shop.models import Role

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
    query.pop("as", None)
    may_put = not request.roles.isdisjoint(MAY_PUT)
    context = {"form": form, "found": found, "query": query.urlencode(), "may_put": may_put}
    return render(request, "builds/reach.html", context)
