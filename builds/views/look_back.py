"""A look-back: what a gauge read while it was off, beside what it would have read, and what becomes of each axle."""

from __future__ import annotations

from decimal import Decimal

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from builds.actions.looking_back import classes_of, look_back, settle
from builds.forms.looking_back import SettleForm
from builds.models import LookBack, LookBackAxle, LookBackDecision, RedTag
from builds.reports.lists import look_back_list
from builds.reports.lookback import (
    Again,
    axles_touched,
    changed_on,
    judged_again,
    kept,
    last_good,
    lines,
    opened_by,
)
from builds.reports.lookback_units import parts_touched, units_touched
from builds.views.settling import settling
from measurements.actions.gauges import KEEPERS
from measurements.engineering.limits import plain
from measurements.models import Calibration
from measurements.views.gauges import SEES
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.models import ItemKind


def _found(pk: int) -> Calibration:
    found: Calibration = find_or_404(Calibration.objects.select_related("gauge__item"), pk=pk)
    if not found.as_found:
        raise Http404
    return found


@methods("GET", "POST")
@needs(*SEES)
def look_back_page(request: Asked, pk: int) -> HttpResponse:
    """Before it is put on record, what it would be; after, what it was that day."""
    found = _found(pk)
    if request.method == "GET":
        return _csv(found) if csv_asked(request) else _draw(request, found)
    return accept(
        request,
        lambda: look_back(found=found, by=request.who),
        then=lambda made: Done(reverse("look_back", args=[made.found_id]), "The look-back is on record."),
        draw=lambda refusal: _draw(request, found, refusal),
    )


def _made(found: Calibration) -> LookBack | None:
    return LookBack.objects.filter(found=found).select_related("person", "good", "found__gauge__item").first()


def _rows(found: Calibration, made: LookBack | None) -> list[Again]:
    return judged_again(found) if made is None else kept(made)


def _csv(found: Calibration) -> HttpResponse:
    return csv_answer(look_back_list(found.gauge, lines(_rows(found, _made(found)))))


def _draw(request: Asked, found: Calibration, refusal: Refusal | None = None) -> HttpResponse:
    made = _made(found)
    rows = _rows(found, made)
    read = sum(found.gauge_id in (row.reading.gauge_id, row.reading.ring_id) for row in rows)
    context = {
        "found": found,
        "off": plain(abs(found.as_found or Decimal(0))),
        "low": bool(found.as_found and found.as_found < 0),
        "good": last_good(found) if made is None else made.good,
        "is_ring": found.gauge.setting is not None,
        "made": made,
        "lines": lines(rows),
        "read": read,
        "computed": len(rows) - read,
        "changed": sum(row.changed and row.counts for row in rows),
        "touched": list(axles_touched(rows)),
        "axles": _axles(made),
        "units": list(units_touched(rows)) if made is None else [],
        "unit_tags": _unit_tags(made),
        "parts": list(parts_touched(rows)) if made is None else [],
        "part_tags": _part_tags(made),
        "keeps": not request.roles.isdisjoint(KEEPERS),
        "refusal": refusal,
        "submission": new_submission(),
    }
    return render(request, "builds/look_back.html", context)


def _axles(made: LookBack | None) -> list[tuple[LookBackAxle, list[RedTag]]]:
    """The axles of a look-back on record, each with the red tags that it opened."""
    if made is None:
        return []
    tags: dict[int | None, list[RedTag]] = {}
    for tag in opened_by(made).select_related("disposition"):
        tags.setdefault(tag.axle_id, []).append(tag)
    rows = made.axles.select_related("axle__item", "decision").order_by("axle__item__mark")
    return [(row, tags.get(row.axle_id, []) if row.tag_id else []) for row in rows]


def _unit_tags(made: LookBack | None) -> list[RedTag]:
    """The red tags that it opened on units that were in no axle."""
    if made is None:
        return []
    rows = opened_by(made).filter(item__kind=ItemKind.UNIT)
    return list(rows.select_related("disposition", "item__place", "item__unit__axle__item"))


def _part_tags(made: LookBack | None) -> list[RedTag]:
    """The red tags that it opened on parts that were in nothing."""
    if made is None:
        return []
    rows = opened_by(made).filter(item__kind=ItemKind.PART, axle=None)
    return list(rows.select_related("disposition", "item__place"))


@methods("GET", "POST")
def look_back_axle(request: Asked, pk: int) -> HttpResponse:
    """One closed axle of a look-back, and the decision about it."""
    rows = LookBackAxle.objects.select_related("axle__item", "tag", "look_back__found__gauge__item", "look_back__good")
    row: LookBackAxle = find_or_404(rows, pk=pk)
    form = SettleForm(request.POST if request.method == "POST" else None)

    def draw(refusal: Refusal | None = None) -> HttpResponse:
        return _draw_axle(request, row, form, refusal)

    if request.method == "GET":
        return draw()
    return accept(
        request,
        lambda: settle(row=row, settled=form.settled, grant=request.grant, by=request.who),
        then=lambda _: Done(reverse("look_back", args=[row.look_back.found_id]), f"{row.axle.serial} is decided."),
        draw=draw,
        form=form,
        meaning="released",
    )


def _draw_axle(request: Asked, row: LookBackAxle, form: SettleForm, refusal: Refusal | None) -> HttpResponse:
    changed = changed_on(kept(row.look_back), row.axle)
    classes = classes_of(changed)
    context = {
        "row": row,
        "gauge": row.look_back.found.gauge,
        "lines": lines(changed),
        "decision": LookBackDecision.objects.filter(axle=row).select_related("signature__person").first(),
        **settling(request, form, classes, refusal),
    }
    return render(request, "builds/look_back_axle.html", context)
