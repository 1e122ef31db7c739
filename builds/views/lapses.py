"""A look-back over a lapse: what a person did by a process without a valid skill, and what becomes of each axle."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from builds.actions.lapsing import MAY_LOOK, look_back_over_lapse, of_axle, settle_lapse
from builds.definitions.words import SKILLS, skill_words
from builds.forms.looking_back import SettleForm
from builds.models import LapsedAxle, LapsedDecision, LapseLookBack
from builds.reports.lapses import by_axle, classes_of, lapse_list, lapsed_work, on_record, tags_of
from builds.views.settling import settling
from shop.clock import shop_day
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.models import Person, Role, Skill
from shop.permissions import skill_state

SEES = (*MAY_LOOK, Role.MANAGER)


@methods("GET", "POST")
@needs(*SEES)
def lapse(request: Asked, code: str, process: str) -> HttpResponse:
    """Everything done without a valid skill, on record or not yet."""
    person: Person = find_or_404(Person.objects.all(), code=code)
    if process not in SKILLS and not Skill.objects.filter(process=process).exists():
        raise Http404
    if request.method == "GET":
        if csv_asked(request):
            return csv_answer(lapse_list(person, process, lapsed_work(person, process)))
        return _draw(request, person, process)
    return accept(
        request,
        lambda: look_back_over_lapse(person=person, process=process, by=request.who),
        then=lambda _: Done(reverse("lapse", args=[code, process]), "The look-back is on record."),
        draw=lambda refusal: _draw(request, person, process, refusal),
    )


def _draw(request: Asked, person: Person, process: str, refusal: Refusal | None = None) -> HttpResponse:
    rows, known = lapsed_work(person, process), on_record(person, process)
    made = list(LapseLookBack.objects.filter(person=person, process=process).order_by("pk"))
    tags = tags_of(made)
    decided = LapsedAxle.objects.filter(look_back__in=made).select_related("axle__item", "decision", "look_back")
    context = {
        "one": person,
        "process": skill_words(process),
        "state": skill_state(person, process, shop_day(timezone.now())),
        "rows": [(row, known.get(row.visit.pk)) for row in rows],
        "touched": list(by_axle(rows)),
        "fresh": sum(row.visit.pk not in known for row in rows),
        "axles": [
            (row, tags.get((row.look_back_id, row.axle_id), []) if row.tag_id else [])
            for row in decided.order_by("axle__item__mark", "pk")
        ],
        "may_look": not request.roles.isdisjoint(MAY_LOOK),
        "refusal": refusal,
        "submission": new_submission(),
    }
    return render(request, "builds/lapse.html", context)


@methods("GET", "POST")
@needs(*SEES)
def lapsed_axle(request: Asked, pk: int) -> HttpResponse:
    """One closed axle of a look-back over a lapse, and the decision about it."""
    rows = LapsedAxle.objects.select_related("axle__item", "tag", "look_back__person")
    row: LapsedAxle = find_or_404(rows, pk=pk)
    form = SettleForm(request.POST if request.method == "POST" else None)
    back = reverse("lapse", args=[row.look_back.person.code, row.look_back.process])

    def draw(refusal: Refusal | None = None) -> HttpResponse:
        return _draw_axle(request, row, form, refusal)

    if request.method == "GET":
        return draw()
    return accept(
        request,
        lambda: settle_lapse(row=row, settled=form.settled, grant=request.grant, by=request.who),
        then=lambda _: Done(back, f"{row.axle.serial} is decided."),
        draw=draw,
        form=form,
        meaning="released",
    )


def _draw_axle(request: Asked, row: LapsedAxle, form: SettleForm, refusal: Refusal | None) -> HttpResponse:
    own = of_axle(row)
    classes = classes_of(own)
    context = {
        "row": row,
        "one": row.look_back.person,
        "process": skill_words(row.look_back.process),
        "rows": [(lapsed, None) for lapsed in own],
        "decision": LapsedDecision.objects.filter(axle=row).select_related("signature__person").first(),
        **settling(request, form, classes, refusal),
    }
    return render(request, "builds/lapsed_axle.html", context)
