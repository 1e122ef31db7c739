"""What if a gauge were off: the look-back's own working out over days of choice. A question; nothing is kept."""

from __future__ import annotations

from datetime import date

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from builds.forms.looking_back import IfOffForm
from builds.reports.lists import look_back_list
from builds.reports.lookback import axles_touched, if_it_were_off, lines
from measurements.engineering.limits import plain
from measurements.models import Gauge
from measurements.views.gauges import SEES
from shop.clock import shop_day
from shop.http import Asked, csv_answer, csv_asked, find_or_404, methods, needs


@methods("GET")
@needs(*SEES)
def look_back_ask(request: Asked, mark: str) -> HttpResponse:
    """The form, and below it the answer to what the address asks."""
    gauge: Gauge = find_or_404(Gauge.objects.select_related("item"), item__mark=mark)
    today = shop_day(timezone.now())
    if "error" not in request.GET:
        last = gauge.calibrations.order_by("-made_on", "-pk").first()
        days = {"first": last.made_on if last else None, "last": today}
        return render(request, "builds/look_back_ask.html", {"gauge": gauge, "form": _form(gauge, days, today)})
    form = IfOffForm(gauge, request.GET, today=today)
    context: dict[str, object] = {"gauge": gauge, "form": form}
    if form.is_valid():
        off, first, last_day = form.off, form.cleaned_data["first"], form.cleaned_data["last"]
        rows = if_it_were_off(off, first, last_day)
        if csv_asked(request):
            return csv_answer(look_back_list(gauge, lines(rows), "if-it-were-off"))
        read = sum(gauge.pk in (row.reading.gauge_id, row.reading.ring_id) for row in rows)
        query = request.GET.copy()
        query.pop("as", None)
        context |= {
            "asked": True,
            "off": plain(abs(off.error)),
            "unit": "%" if off.in_percent else gauge.unit,
            "low": off.error < 0,
            "first": first,
            "last": last_day,
            "lines": lines(rows),
            "read": read,
            "computed": len(rows) - read,
            "changed": sum(row.changed and row.counts for row in rows),
            "touched": list(axles_touched(rows)),
            "query": query.urlencode(),
        }
    return render(request, "builds/look_back_ask.html", context)


def _form(gauge: Gauge, days: dict[str, date | None], today: date) -> IfOffForm:
    return IfOffForm(gauge, initial=days, today=today)
