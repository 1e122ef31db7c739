"""The shop's list of weld procedures."""

from __future__ import annotations

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from builds.actions.procedures import NewProcedure, add_procedure, withdraw_procedure
from builds.definitions.words import SKILLS
from builds.models import WeldProcedure
from builds.reports.lists import procedure_list
from shop.errors import Refusal
from shop.forms import day
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.models import Role

SEES = (Role.ENGINEER, Role.MANAGER, Role.QUALITY, Role.INSPECTOR, Role.LEAD_BUILDER, Role.OFFICE)


class ProcedureForm(forms.Form):
    code = forms.CharField(label="Number", max_length=14)
    revision = forms.CharField(label="Revision", max_length=8)
    process = forms.ChoiceField(label="Process", choices=list(SKILLS.items()))
    title = forms.CharField(label="Title", max_length=120)
    released_on = day("In force from")


def _draw(request: Asked, form: ProcedureForm, refusal: Refusal | None = None) -> HttpResponse:
    context = {
        "rows": WeldProcedure.objects.all(),
        "form": form,
        "refusal": refusal,
        "keeps": Role.ENGINEER in request.roles,
        "submission": new_submission(),
        "withdraw_submission": new_submission(),
    }
    return render(request, "builds/procedures.html", context)


@methods("GET", "POST")
@needs(*SEES)
def procedures(request: Asked) -> HttpResponse:
    """Every procedure; an engineer lists one that was qualified outside this program."""
    form = ProcedureForm(request.POST if request.method == "POST" else None)
    if csv_asked(request):
        return csv_answer(procedure_list(list(WeldProcedure.objects.all())))
    if request.method == "GET":
        return _draw(request, form)
    return accept(
        request,
        lambda: add_procedure(procedure=NewProcedure(**form.cleaned_data), by=request.who),
        then=lambda made: Done(reverse("procedures"), f"{made} is listed."),
        draw=lambda _: _draw(request, form),
        form=form,
    )


@methods("POST")
@needs(Role.ENGINEER)
def procedure_withdraw(request: Asked, pk: int) -> HttpResponse:
    """From today on no weld may name it; what was welded by it keeps its name."""
    row = find_or_404(WeldProcedure.objects.all(), pk=pk)
    return accept(
        request,
        lambda: withdraw_procedure(procedure=row, by=request.who),
        then=lambda made: Done(reverse("procedures"), f"{made} is withdrawn from today."),
        draw=lambda refusal: _draw(request, ProcedureForm(), refusal),
    )
