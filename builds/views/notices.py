"""Notices: put on record from a reach list, followed line by line, drawn again, and signed when nothing is open."""

from __future__ import annotations

from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from builds.actions.following import CLOSERS, FOLLOWERS, close_notice, take_on, take_step
from builds.actions.noticing import MAY_PUT, put_on_record
from builds.forms.notices import CloseForm, NoticeForm, StepForm
from builds.forms.reach import ReachForm
from builds.models import Notice, NoticeRevision
from builds.reports.notices.brief import OTHERS, brief_of
from builds.reports.notices.difference import difference
from builds.reports.notices.frozen import frozen_rows, rows_now
from builds.reports.notices.standing import line_list, notice_list, notice_rows, view_of
from builds.reports.notices.touched import touched_of
from builds.reports.reach.cause import Question
from builds.reports.reach.found import reach
from builds.reports.reach.question import question_of, typed_again
from builds.views.notice_parts import page_of, parts_shown
from builds.views.reach import SEES
from shop.clock import shop_day
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.record.models import Blob

#: So many consignees to be reminded are named; the CSV has all.
MOST_LATE = 20


def found_notice(number: int) -> Notice:
    notice: Notice = find_or_404(Notice.objects.select_related("opened_by"), number=number)
    return notice


def _to(notice: Notice, said: str, query: str = "") -> Done:
    return Done(reverse("notice", args=[notice.number]) + (f"?{query}" if query else ""), said)


@methods("GET")
@needs(*SEES)
def notices(request: Asked) -> HttpResponse:
    rows = notice_rows()
    if csv_asked(request):
        return csv_answer(notice_list(rows))
    return render(request, "builds/notices.html", {"rows": rows})


@methods("GET", "POST")
@needs(*MAY_PUT)
def notice_new(request: Asked) -> HttpResponse:
    """The list that the address asks for, and what consignees are told. The list itself is drawn under the lock."""
    asked = ReachForm(request.GET)
    question = asked.question(timezone.now())
    if question is None:
        return HttpResponseRedirect(f"{reverse('reach')}?{request.GET.urlencode()}")
    form = NoticeForm(request.POST if request.method == "POST" else None)

    def draw(refusal: Refusal | None = None) -> HttpResponse:
        return _draw_new(request, question, form)

    if request.method == "GET":
        return draw()
    return accept(
        request,
        lambda: put_on_record(typed=asked.typed, says=form.says, by=request.who),
        then=lambda made: _to(made, f"Notice {made.number} is on record. What is in the house is stopped."),
        draw=draw,
        form=form,
    )


def _draw_new(request: Asked, question: Question, form: NoticeForm) -> HttpResponse:
    touched = touched_of(reach(question))
    context = {
        "question": question,
        "rows": len(touched),
        "inside": [one for one in touched if one.inside],
        "outside": [one for one in touched if one.told],
        "form": form,
        "back": request.GET.urlencode(),
        "submission": new_submission(),
    }
    return render(request, "builds/notice_new.html", context)


@methods("GET")
@needs(*SEES)
def notice(request: Asked, number: int) -> HttpResponse:
    found = found_notice(number)
    if csv_asked(request):
        return csv_answer(line_list(view_of(found)))
    return _draw(request, found)


def _draw(
    request: Asked,
    found: Notice,
    refusal: Refusal | None = None,
    step: StepForm | None = None,
    close: CloseForm | None = None,
) -> HttpResponse:
    view, page = brief_of(found), page_of(request)

    def form_of(group: str) -> StepForm:
        return step if step is not None and step.group == group else StepForm(found, group)

    stopped, *out, others = parts_shown(view, page, form_of)
    drawn = {one.part.key for one in (*out, others) if one.lines}
    late = view.late(shop_day(timezone.now()))
    context = {
        "view": view,
        "kept": found,
        "stray": step if step is not None and step.group not in drawn else None,
        "stopped": stopped,
        "consignees": out,
        "others": others,
        "late": late[:MOST_LATE],
        "more_late": len(late) - len(late[:MOST_LATE]),
        "follows": view.closing is None and not request.roles.isdisjoint(FOLLOWERS),
        "closes": view.closing is None and not request.roles.isdisjoint(CLOSERS),
        "draws": view.closing is None and not request.roles.isdisjoint(MAY_PUT),
        "close": close or CloseForm(),
        "pin_error": refusal.text if refusal is not None and refusal.field == "pin" else "",
        "submission": new_submission(),
    }
    return render(request, "builds/notice.html", context)


@methods("POST")
@needs(*FOLLOWERS)
def notice_step(request: Asked, number: int) -> HttpResponse:
    found = found_notice(number)
    form = StepForm(found, request.POST.get("group", OTHERS)[:20], request.POST)
    return accept(
        request,
        lambda: take_step(notice=found, lines=form.line_ids, step=form.step, by=request.who),
        then=lambda count: _to(
            found, f"On record for {count} {'line' if count == 1 else 'lines'}.", page_of(request).query()
        ),
        draw=lambda refusal: _draw(request, found, refusal, step=form),
        form=form,
    )


@methods("POST")
@needs(*CLOSERS)
def notice_close(request: Asked, number: int) -> HttpResponse:
    found = found_notice(number)
    form = CloseForm(request.POST)
    return accept(
        request,
        lambda: close_notice(notice=found, reason=form.cleaned_data["reason"], grant=request.grant, by=request.who),
        then=lambda _: _to(found, f"Notice {found.number} is closed."),
        draw=lambda refusal: _draw(request, found, refusal, close=form),
        form=form,
        meaning="released",
    )


@methods("GET", "POST")
@needs(*SEES)
def notice_again(request: Asked, number: int) -> HttpResponse:
    """The list drawn now beside the newest frozen one. Taking it on is an act of those who may put one on record."""
    found = found_notice(number)
    if request.method == "GET":
        return _draw_again(request, found)
    return accept(
        request,
        lambda: take_on(notice=found, by=request.who),
        then=lambda made: _to(found, f"Revision {made.number} of the list is on record."),
        draw=lambda refusal: _draw_again(request, found, refusal),
    )


def _draw_again(request: Asked, found: Notice, refusal: Refusal | None = None) -> HttpResponse:
    view, now = view_of(found), timezone.now()
    try:
        drawn = rows_now(touched_of(reach(question_of(typed_again(found.asked), now))))
    except Refusal as cannot:
        drawn, refusal = frozen_rows(view.newest), cannot
    context = {
        "kept": found,
        "view": view,
        "now": now,
        "changed": difference(frozen_rows(view.newest), drawn),
        "draws": view.closing is None and not request.roles.isdisjoint(MAY_PUT),
        "refusal": refusal,
        "submission": new_submission(),
    }
    return render(request, "builds/notice_again.html", context)


@methods("GET")
@needs(*SEES)
def notice_frozen(request: Asked, number: int, revision: int) -> HttpResponse:
    """The exact bytes of one frozen list."""
    row = NoticeRevision.objects.filter(notice__number=number, number=revision).first()
    if row is None:
        raise Http404
    response = HttpResponse(bytes(Blob.objects.get(pk=row.sha256).content), content_type="application/json")
    response["Content-Disposition"] = f'attachment; filename="notice-{number}-list-{revision}.json"'
    return response
