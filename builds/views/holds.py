"""The inspector's queue, the red tags, and the decision about one."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from builds.actions.deciding import decide
from builds.forms.deciding import DecideForm
from builds.models import Decision, Disposition, LabelPrint, RedTag
from builds.permissions import holds_one_of, role_words
from builds.reports.deciders import deciders, needs_agreement
from builds.reports.holds import count_tags
from builds.reports.holds import holds as holds_report
from builds.reports.holds import red_tags as red_tags_report
from builds.reports.labels import red_tag_kind
from builds.reports.lists import hold_list, red_tag_list
from builds.reports.running_out import running_out
from builds.reports.wording import limits_of
from measurements.actions.gauges import KEEPERS
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, new_submission
from shop.http.paging import page_of


@methods("GET")
def holds(request: Asked) -> HttpResponse:
    """Passes that wait for a second signature, oldest first; a page of the red tags without a decision, of which one
    look-back may open hundreds; what runs out soon, for whoever keeps it."""
    rows = holds_report()
    if csv_asked(request):
        return csv_answer(hold_list(rows))
    sees = not request.roles.isdisjoint(KEEPERS)
    page = page_of(request, count_tags()[0])
    context = {
        "rows": rows,
        "tags": red_tags_report(open_only=True, first=page.first, end=page.end),
        "ways": page.ways,
        "running_out": running_out(timezone.now()) if sees else None,
    }
    return render(request, "builds/holds.html", context)


@methods("GET")
def red_tags(request: Asked) -> HttpResponse:
    """A page of them: those without a decision first."""
    only = request.GET.get("only") == "open"
    if csv_asked(request):
        return csv_answer(red_tag_list(red_tags_report(open_only=only)))
    still, every = count_tags()
    page = page_of(request, still if only else every)
    rows = red_tags_report(open_only=only, first=page.first, end=page.end)
    return render(request, "builds/red_tags.html", {"rows": rows, "only": only, "ways": page.ways, "still": still})


@methods("GET", "POST")
def red_tag(request: Asked, number: int) -> HttpResponse:
    """One red tag, and the decision about it by a person with authority."""
    rows = RedTag.objects.select_related(
        "item",
        "axle__item",
        "axle__revision",
        "operation",
        "opened_by",
        "reading__characteristic",
    )
    tag = find_or_404(rows, number=number)
    form = DecideForm(tag, request.POST if request.method == "POST" else None)

    def draw(refusal: Refusal | None = None) -> HttpResponse:
        return _draw(request, tag, form, refusal)

    if request.method == "GET":
        return draw()
    said = f"Red tag {tag.number} is decided."
    return accept(
        request,
        lambda: decide(tag=tag, decided=form.decided, grant=request.grant, by=request.who),
        then=lambda _: Done(reverse("red_tag", args=[tag.number]), said),
        draw=draw,
        form=form,
        meaning="released",
    )


def _draw(request: Asked, tag: RedTag, form: DecideForm, refusal: Refusal | None) -> HttpResponse:
    found = Disposition.objects.filter(tag=tag).select_related("signature__person", "concession").first()
    reading, kind = tag.reading, red_tag_kind(tag)
    context = {
        "tag": tag,
        "limits": limits_of(reading.low, reading.high, reading.characteristic.decimals) if reading else "",
        "disposition": found,
        "form": form,
        "pin_error": refusal.text if refusal is not None and refusal.field == "pin" else "",
        "deciders": role_words(deciders(tag)),
        "may_decide": holds_one_of(request.person, deciders(tag), timezone.now()),
        "needs_agreement": needs_agreement(tag),
        "beyond": form.closed.get(Decision.REWORK) or form.closed.get(Decision.USE_AS_IS, ""),
        "label_kind": kind,
        "printed": LabelPrint.objects.filter(item=tag.item_id, kind=kind).count(),
        "label_submission": new_submission(),
        "submission": new_submission(),
    }
    return render(request, "builds/red_tag.html", context)
