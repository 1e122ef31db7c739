"""The gauge shelf and one gauge."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from measurements.actions.gauges import KEEPERS, calibrate, retire_gauge, take_in_gauge
from measurements.engineering.limits import plain
from measurements.forms import CalibrationForm, GaugeForm, RetireForm
from measurements.models import Gauge, Reading
from measurements.reports.gauges import read_with, shelf, shelf_list
from shop.clock import shop_day
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.models import Role
from shop.views.around import address

SEES = (*KEEPERS, Role.MANAGER, Role.LEAD_BUILDER, Role.OFFICE)
NEWEST = 50


@methods("GET", "POST")
@needs(*SEES)
def gauges(request: Asked) -> HttpResponse:
    """Overdue ones first; below, the form for a new one."""
    form = GaugeForm(request.POST if request.method == "POST" else None)

    def draw(_refusal: Refusal | None = None) -> HttpResponse:
        context = {
            "rows": shelf(shop_day(timezone.now())),
            "form": form,
            "keeps": not request.roles.isdisjoint(KEEPERS),
            "submission": new_submission(),
        }
        return render(request, "measurements/gauges.html", context)

    if csv_asked(request):
        return csv_answer(shelf_list(shelf(shop_day(timezone.now()))))
    if request.method == "GET":
        return draw()
    return accept(
        request,
        lambda: take_in_gauge(gauge=form.gauge, by=request.who),
        then=lambda made: Done(
            reverse("gauge", args=[made.item.mark]), f"{made.item.mark} is on the shelf. Calibrate it."
        ),
        draw=draw,
        form=form,
    )


def _gauge(mark: str) -> Gauge:
    return find_or_404(Gauge.objects.select_related("item"), item__mark=mark)


def _draw(
    request: Asked, found: Gauge, calibration: CalibrationForm | None = None, retire: RetireForm | None = None
) -> HttpResponse:
    readings = (
        Reading.objects.filter(gauge=found)
        .select_related("characteristic", "item", "person")
        .order_by("-entered_at", "-pk")[:NEWEST]
    )
    context = {
        "gauge": found,
        "calibrations": [
            (
                row,
                "" if row.as_found is None else plain(row.as_found),
                address("look_back", row.pk) if row.as_found else "",
            )
            for row in found.calibrations.order_by("-made_on", "-pk")
        ],
        "readings": readings,
        "count": Reading.objects.filter(gauge=found).count(),
        "calibration_form": calibration or CalibrationForm(),
        "retire_form": retire or RetireForm(),
        "keeps": not request.roles.isdisjoint(KEEPERS),
        "label_url": address("label", found.pk, "mark"),
        "submissions": {name: new_submission() for name in ("calibrate", "retire", "label")},
    }
    return render(request, "measurements/gauge.html", context)


@methods("GET")
@needs(*SEES)
def gauge(request: Asked, mark: str) -> HttpResponse:
    found = _gauge(mark)
    return csv_answer(read_with(found)) if csv_asked(request) else _draw(request, found)


@methods("POST")
@needs(*KEEPERS)
def gauge_calibrate(request: Asked, mark: str) -> HttpResponse:
    found, form = _gauge(mark), CalibrationForm(request.POST)
    return accept(
        request,
        lambda: calibrate(gauge=found, calibrated=form.calibrated, by=request.who),
        then=lambda _: Done(reverse("gauge", args=[mark]), "The calibration is on record."),
        draw=lambda _: _draw(request, found, calibration=form),
        form=form,
    )


@methods("POST")
@needs(*KEEPERS)
def gauge_retire(request: Asked, mark: str) -> HttpResponse:
    found, form = _gauge(mark), RetireForm(request.POST)
    return accept(
        request,
        lambda: retire_gauge(gauge=found, reason=form.cleaned_data["reason"], by=request.who),
        then=lambda _: Done(reverse("gauge", args=[mark]), f"{mark} is retired: no reading is taken with it any more."),
        draw=lambda _: _draw(request, found, retire=form),
        form=form,
    )
