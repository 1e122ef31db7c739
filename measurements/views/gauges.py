"""The gauge shelf and one gauge."""

from __future__ import annotations

from collections.abc import Callable

from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from measurements.actions.gauges import KEEPERS, calibrate, note_uses, recall_gauge, retire_gauge, take_in_gauge
from measurements.forms import CalibrationForm, GaugeForm, RecallForm, RetireForm, UsesForm
from measurements.models import Gauge
from measurements.reports.gauges import GaugeStanding, gauge_standing, read_with, shelf, shelf_list
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.models import Role
from shop.views.around import address

SEES = (*KEEPERS, Role.MANAGER, Role.LEAD_BUILDER, Role.OFFICE)
#: The forms of a gauge's page, by the change they ask for.
FORMS: dict[str, type[Form]] = {
    "calibration": CalibrationForm,
    "recall": RecallForm,
    "uses": UsesForm,
    "retire": RetireForm,
}


@methods("GET", "POST")
@needs(*SEES)
def gauges(request: Asked) -> HttpResponse:
    """Overdue ones first; below, the form for a new one."""
    form = GaugeForm(request.POST if request.method == "POST" else None)

    def draw(_refusal: Refusal | None = None) -> HttpResponse:
        context = {
            "rows": shelf(timezone.now()),
            "form": form,
            "keeps": not request.roles.isdisjoint(KEEPERS),
            "submission": new_submission(),
        }
        return render(request, "measurements/gauges.html", context)

    if csv_asked(request):
        return csv_answer(shelf_list(shelf(timezone.now())))
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


def _draw(request: Asked, found: Gauge, bound: Form | None = None) -> HttpResponse:
    """The page; a form that was refused stands in the place of the empty one of its kind."""
    forms: dict[str, Form] = {
        name: make(auto_id=f"{name}-%s") if name != "calibration" else make() for name, make in FORMS.items()
    }
    if bound is not None:
        forms[next(name for name, make in FORMS.items() if type(bound) is make)] = bound
    standing = gauge_standing(found, timezone.now())
    context = {
        "gauge": found,
        "standing": standing,
        "calibrations": [(row, address("look_back", row.pk) if row.as_found else "") for row in standing.calibrations],
        "readings": standing.newest,
        "count": standing.count,
        "reach_url": _reach(found, standing),
        "ask_url": address("look_back_ask", found.item.mark),
        "forms": forms,
        "keeps": not request.roles.isdisjoint(KEEPERS),
        "label_url": address("label", found.pk, "mark"),
        "submissions": {name: new_submission() for name in (*FORMS, "label")},
    }
    return render(request, "measurements/gauge.html", context)


def _reach(found: Gauge, standing: GaugeStanding) -> str:
    """What it was used for since its last good day, by place: the reach list asked with this gauge."""
    page = address("reach")
    asked = {"cause": found.item.mark, "day_from": standing.since.isoformat() if standing.since else ""}
    return f"{page}?{urlencode(asked)}" if page else ""


@methods("GET")
@needs(*SEES)
def gauge(request: Asked, mark: str) -> HttpResponse:
    found = _gauge(mark)
    return csv_answer(read_with(found)) if csv_asked(request) else _draw(request, found)


def _change(request: Asked, mark: str, form: Form, do: Callable[[Gauge], object], said: str) -> HttpResponse:
    """One change of a gauge: do it and come back, or draw the page again with what was typed and why not."""
    found = _gauge(mark)
    return accept(
        request,
        lambda: do(found),
        then=lambda _: Done(reverse("gauge", args=[mark]), said),
        draw=lambda _: _draw(request, found, form),
        form=form,
    )


@methods("POST")
@needs(*KEEPERS)
def gauge_calibrate(request: Asked, mark: str) -> HttpResponse:
    form = CalibrationForm(request.POST)

    def do(found: Gauge) -> object:
        return calibrate(gauge=found, calibrated=form.calibrated, by=request.who)

    return _change(request, mark, form, do, "The calibration is on record.")


@methods("POST")
@needs(*KEEPERS)
def gauge_recall(request: Asked, mark: str) -> HttpResponse:
    form = RecallForm(request.POST, auto_id="recall-%s")

    def do(found: Gauge) -> object:
        return recall_gauge(gauge=found, reason=form.cleaned_data["reason"], by=request.who)

    said = f"{mark} is recalled: the next reading with it is refused until it is calibrated again."
    return _change(request, mark, form, do, said)


@methods("POST")
@needs(*KEEPERS)
def gauge_uses(request: Asked, mark: str) -> HttpResponse:
    """Uses that left no reading."""
    form = UsesForm(request.POST, auto_id="uses-%s")

    def do(found: Gauge) -> object:
        given = form.cleaned_data
        return note_uses(gauge=found, uses=given["uses"], reason=given["what_for"], by=request.who)

    return _change(request, mark, form, do, "The uses are counted.")


@methods("POST")
@needs(*KEEPERS)
def gauge_retire(request: Asked, mark: str) -> HttpResponse:
    form = RetireForm(request.POST, auto_id="retire-%s")

    def do(found: Gauge) -> object:
        return retire_gauge(gauge=found, reason=form.cleaned_data["reason"], by=request.who)

    return _change(request, mark, form, do, f"{mark} is retired: no reading is taken with it any more.")
