"""The answer to an entry at a page that a script keeps up to date: only what the entry changed, drawn from what its own
act has read.

It is given only where the page showed all that stood before the entry (it posts its mark). Where somebody else has
entered something meanwhile, or the page still shows a refusal, the whole page is drawn instead.
"""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from builds.actions.measuring import Taken
from builds.reports.pending import pending
from builds.views.station_advice import advices, leading
from builds.views.station_context import features, places_with
from builds.views.station_entry import entry_of, place_at
from builds.views.station_foot import foot
from builds.views.station_frame import urls
from builds.views.station_picture import picture
from builds.views.station_side import computed, latest, stops
from builds.views.station_stamp import stamp_of_work
from shop.http import Asked, new_submission


def answer_to_entry(request: Asked, taken: Taken) -> HttpResponse | None:
    """The changed parts of the page; None where the whole page has to be drawn."""
    if request.POST.get("shown", "") != stamp_of_work(taken.before):
        return None
    response = render(request, "builds/_entered.html", _context(request, taken))
    response["HX-Reswap"] = "none"  # every part says itself where it belongs
    return response


def _context(request: Asked, taken: Taken) -> dict[str, Any]:
    work, now = taken.after, timezone.now()
    at = place_at(request, work, None)
    places = places_with(work, at)
    stopped, out, stamp = stops(work), pending(work), stamp_of_work(work)
    advised = _advice_changed(taken)
    addresses = urls(work.visit)
    addresses["changes"] += f"?stamp={stamp}"
    return {
        "urls": addresses,
        "shown": stamp,
        "submissions": {form: new_submission() for form in ("entry", "finish", "back")},
        "entry": entry_of(request, work, at, None, now, bool(stopped)),
        "features": features(work, at, work.visit),
        "picture": picture(work, places, at) if places else {},
        "latest": latest(work, out, fresh=True),
        "computed": computed(work),
        "stopped": stopped,
        "advised": advised,
        "advices": advices(work) if advised else [],
        **foot(request, work, out, None),
    }


def _advice_changed(taken: Taken) -> bool:
    """Whether the advice on the page may be another than before: a new one, or another one that leads."""
    asked = taken.after.slot.operation.advice
    return bool(asked) and (taken.advised or leading(taken.before) != leading(taken.after))
