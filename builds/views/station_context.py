"""What the station page shows: everything asked at one visit, drawn from the record, nothing remembered in a form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.urls import reverse

from builds.definitions.plan import Slot
from builds.definitions.words import Kind
from builds.models import Bench, Visit
from builds.reports.facts import AxleStanding, standing
from builds.reports.kit import hosted_rows, slot_of
from builds.reports.pending import pending
from builds.reports.work import Place, Work, work_of
from builds.views.station_advice import advices
from builds.views.station_entry import all_places, entry_of, place_at
from builds.views.station_foot import foot
from builds.views.station_frame import Refused, is_out, urls
from builds.views.station_picture import picture, strip
from builds.views.station_side import computed, latest, left, parts, stops
from builds.views.station_stamp import stamp_of_work
from shop.http import Asked, new_submission

FORMS = ("entry", "again", "set_down", "wrong", "finish", "scan", "back")


def station_context(
    request: Asked, visit: Visit, now: datetime, *, refused: Refused | None = None, fresh: bool = False
) -> dict[str, Any]:
    """The context of builds/station.html. `fresh`: right after an entry, so its tone sounds."""
    work, title = _with_title(request, visit, now)
    at = place_at(request, work, refused)
    asked_places = places_with(work, at)
    stopped = stops(work)
    out = pending(work)
    return {
        "title_block": title,
        "stamp": stamp_of_work(work),
        "urls": urls(visit),
        "submissions": {form: new_submission() for form in FORMS},
        "entry": entry_of(request, work, at, refused, now, bool(stopped)),
        "features": features(work, at, visit),
        "picture": picture(work, asked_places, at) if asked_places else {},
        "latest": latest(work, out, fresh),
        "advices": advices(work),
        "parts": parts(work),
        "computed": computed(work),
        "stopped": stopped,
        "photos": work.beside.photos,
        "left_note": left(visit),
        "scan_label": "Gauge, part, plate",
        "scan_error": refused.text("scan") if refused else "",
        "scan_value": refused.posted.get("scan", "") if refused and refused.form == "scan" else "",
        **foot(request, work, out, refused),
    }


def _with_title(request: Asked, visit: Visit, now: datetime) -> tuple[Work, dict[str, Any]]:
    """The work, and for a whole page its title block. A fragment keeps the one that is there, so it is spared the
    standing of the whole axle; for a whole page the standing and the work share the axle's parts and tags."""
    work = work_of(visit)
    if request.htmx:
        return work, {}
    parts = hosted_rows([work.bench]) if work.slot.needs else None
    stands = standing(work.bench, now, parts)
    done = len(stands.plan.before(work.slot.key) & stands.slots.finished)
    beside = replace(work.beside, known_tags=stands.tags, known_rows=parts, known_done=done)
    return replace(work, beside=beside), title_block(request, stands, visit)


def title_block(request: Asked, stands: AxleStanding, visit: Visit) -> dict[str, Any]:
    bench, slot = stands.bench, slot_of(visit)
    station = next(found.name for found in stands.plan.card.stations if found.code == slot.operation.station)
    return {
        **_head(bench),
        "operation": slot.named,
        "station": station,
        "build_card": f"{stands.plan.card.name}, rev {bench.card_revision.letter}",
        "person": request.person.short_name,
        "drawing": strip(stands, slot.operation.zone, slot.side),
        "more": [{"label": "pass", "value": str(visit.number)}] if visit.number > 1 else [],
    }


def _head(bench: Bench) -> dict[str, str]:
    """The first cell: the axle with the way to its file, or the unit that is in none with the way to its page."""
    url = reverse("axle", args=[bench.serial]) if bench.as_axle is not None else reverse("unit", args=[bench.pk])
    return {"axle": bench.serial, "axle_url": url, "what": "axle" if bench.as_axle is not None else "unit"}


def before_block(request: Asked, bench: Bench, slot: Slot) -> dict[str, Any]:
    """The title block of an operation that nobody has in hand: nothing is drawn, nothing is asked of the record."""
    return {
        **_head(bench),
        "operation": slot.named,
        "station": next(found.name for found in bench.plan.card.stations if found.code == slot.operation.station),
        "build_card": f"{bench.card_revision.model.name}, rev {bench.card_revision.letter}",
        "person": request.person.short_name,
    }


def places_with(work: Work, at: Place | None) -> Sequence[Place]:
    if at is not None:
        return all_places(work, at.asked.code)
    done = [place for place in work.places if place.last is not None and place.asked.kind is not Kind.COMPUTED]
    return all_places(work, done[-1].asked.code) if done else ()


def features(work: Work, at: Place | None, visit: Visit) -> list[dict[str, Any]]:
    here = urls(visit)["here"]
    found = []
    for planned in work.planned:
        asked = planned.characteristic
        if asked.kind is Kind.COMPUTED or (asked.given is not None and asked.given.source == "heat"):
            continue
        places = work.places_of(planned)
        read = [place for place in places if place.last is not None]
        out = [place for place in read if is_out(place)]
        full = len(read) == len(places)
        skipped = asked.optional or not work.is_sampled(asked)
        state = "done" if full else "in hand" if read else "ready" if skipped else "not yet"
        found.append(
            {
                "code": asked.code,
                "name": asked.name,
                "url": f"{here}?characteristic={asked.code}",
                "current": at is not None and at.asked.code == asked.code,
                "state": state,
                "count": f"{len(read)} of {len(places)}" if len(places) > 1 else "",
                "verdict": "out" if out else "",
            }
        )
    return found
