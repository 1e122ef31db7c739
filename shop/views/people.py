"""People: who works here, what they may do, and which skills lapse soon."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from shop.actions import people
from shop.clock import shop_day
from shop.errors import Refusal
from shop.forms import EngageForm
from shop.http import Asked, Done, accept, csv_answer, csv_asked, methods, needs, new_submission
from shop.lists import CsvList
from shop.models import Person, Role, RoleHeld
from shop.permissions import SkillLine, skills_of
from shop.templatetags.shop_look import spaced

SOON = timedelta(days=30)
SEES = (Role.MANAGER, Role.QUALITY)


@methods("GET", "POST")
@needs(*SEES)
def people_list(request: Asked) -> HttpResponse:
    """Everybody at work with roles and skills; below, the form to engage somebody."""
    form = EngageForm(request.POST if request.method == "POST" else None)

    def draw(_refusal: Refusal | None = None) -> HttpResponse:
        context = _overview() | {"form": form, "submission": new_submission()}
        return render(request, "shop/people_list.html", context)

    if csv_asked(request):
        rows = [[cell["text"] for cell in row["cells"]] for row in _overview()["rows"]]
        return csv_answer(CsvList("people", ("name", "code", "roles", "skills"), rows))
    if request.method == "GET":
        return draw()
    return accept(
        request,
        lambda: people.engage(by=request.who, **form.cleaned_data),
        then=lambda person: Done(_page_of(person), f"{person.name} is engaged."),
        draw=draw,
        form=form,
    )


def _overview() -> dict[str, Any]:
    today = shop_day(timezone.now())
    everybody = list(Person.objects.order_by("name"))
    working = [person for person in everybody if person.retired_at is None]
    held: dict[int, list[str]] = {}
    for role in RoleHeld.objects.on(today).filter(person__in=working).order_by("role"):
        held.setdefault(role.person_id, []).append(role.get_role_display())
    lines = skills_of(working, today)
    return {
        "columns": [{"label": "Name"}, {"label": "Code"}, {"label": "Roles"}, {"label": "Skills"}],
        "rows": [_row(person, held.get(person.pk, []), lines) for person in working],
        "lapsing": [line for line in lines if _lapses_by(line, today + SOON)],
        "left": [person for person in everybody if person.retired_at is not None],
    }


def _lapses_by(line: SkillLine, day: date) -> bool:
    """Lapsed ones too: they are the first to be seen to."""
    return line.state.lapses_on is not None and line.state.lapses_on <= day


def _row(person: Person, roles: list[str], lines: list[SkillLine]) -> dict[str, Any]:
    own = [line.state for line in lines if line.person.pk == person.pk]
    said = [f"{spaced(state.process)}{'' if state.valid else ' (lapsed)'}" for state in own]
    link = {"text": person.name, "url": _page_of(person)}
    return {"cells": [link, {"text": person.code}, {"text": ", ".join(roles)}, {"text": ", ".join(said)}]}


def _page_of(person: Person) -> str:
    return reverse("person", args=[person.code])
