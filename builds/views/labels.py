"""Labels: which an axle has, and one of them as PDF; a reprint asks why."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from builds.actions.labelling import print_badge, print_label
from builds.certificates.labels import label_html
from builds.models import LabelPrint
from builds.reports.labels import SCAN_KINDS, badge_label, find_label, kind_words, labels_of
from builds.views.paper import pdf_answer
from builds.views.station_found import the_axle
from shop.errors import Refusal
from shop.http import Asked, Done, accept, find_or_404, methods, needs, new_submission, plain_page
from shop.models import Item, Person, Role


@methods("GET")
def labels(request: Asked, serial: str) -> HttpResponse:
    axle = the_axle(serial)
    every = labels_of(axle)
    printed = LabelPrint.objects.filter(item__in=[item.pk for item, _, _ in every])
    counts = {(row.item_id, row.kind): row.number for row in printed.order_by("number")}
    rows = [(item, kind, words, counts.get((item.pk, kind), 0), new_submission()) for item, kind, words in every]
    return render(request, "builds/labels.html", {"axle": axle, "rows": rows})


@methods("GET", "POST")
def label(request: Asked, pk: int, kind: str) -> HttpResponse:
    """POST logs the print and leads to the PDF; GET shows the PDF of a label that was printed."""
    item = find_or_404(Item.objects.filter(kind__in=[str(found) for found in SCAN_KINDS]), pk=pk)
    found = find_label(item, kind)
    if found is None:
        raise Http404
    if request.method == "GET":
        if not LabelPrint.objects.filter(item=item, kind=kind).exists():
            raise Http404
        return pdf_answer(label_html(found), f"{kind}-{item.pk}")

    def draw(refusal: Refusal | None) -> HttpResponse:
        context = {
            "item": item,
            "kind": kind,
            "words": kind_words(kind),
            "refusal": refusal,
            "submission": new_submission(),
        }
        return render(request, "builds/label_again.html", context)

    reason = request.POST.get("reason", "")
    return accept(
        request,
        lambda: print_label(item=item, kind=kind, reason=reason, by=request.who),
        then=lambda _: Done(reverse("label", args=[pk, kind])),
        draw=draw,
    )


@methods("POST")
@needs(Role.MANAGER)
def badge_print(request: Asked, code: str) -> HttpResponse:
    """The badge as PDF, while its code is still on the page: it is stored nowhere, so later there is no reprint."""
    one, badge = find_or_404(Person.objects.all(), code=code), request.POST.get("badge", "")[:60]
    answer = accept(
        request,
        lambda: print_badge(person=one, code=badge, by=request.who),
        then=lambda _: Done(reverse("person", args=[one.code])),
        draw=lambda refusal: plain_page(request, 422, refusal.text if refusal else ""),
    )
    if answer.status_code != 303:
        return answer
    return pdf_answer(label_html(badge_label(one.name, badge)), f"badge-{one.code}")
