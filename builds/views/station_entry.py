"""The left of the station page: the one place where something is entered now, and how."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from builds.actions.judging import answers
from builds.definitions.words import Kind
from builds.errors import FarOff
from builds.models import VisitState
from builds.reports.pending import pending, photos_missing, waiting
from builds.reports.windows import how_worked_out
from builds.reports.wording import OTHER_UNIT, date_words, figure, limits, limits_other, unit_words
from builds.reports.work import Place, Work
from builds.views.chosen_gauges import chosen_gauges
from builds.views.station_frame import Refused, is_out, noun
from builds.views.station_picture import is_tick, kind_of
from builds.views.station_tooth import tooth
from measurements.gauges import InForce, in_force
from measurements.models import OUT
from shop.clock import shop_day
from shop.http import Asked


def place_at(request: Asked, work: Work, refused: Refused | None) -> Place | None:
    """Where the page stands: what was just refused, what was asked for, else the next blank place."""
    source: Mapping[str, Any] = refused.posted if refused and refused.form == "entry" else request.GET
    code, position = str(source.get("characteristic", "")), source.get("position")
    if code:
        places = [place for place in all_places(work, code) if place.asked.code == code]
        if position is not None:
            exact = next((place for place in places if place.position == position), None)
            if exact is not None:
                return exact
        blank = next((place for place in places if place.last is None), None)
        if places:
            return blank or places[-1]
    first = waiting(work)
    return first[0].place if first and _is_typed(first[0].place) else _going_on(request, work) or work.next_place


def _is_typed(place: Place) -> bool:
    return place.asked.kind is not Kind.COMPUTED


def _going_on(request: Asked, work: Work) -> Place | None:
    """After an entry in a row that may stay blank: its next blank place. Twelve ticks are made one after another."""
    code = str(request.POST.get("characteristic", ""))
    places = all_places(work, code) if code else []
    return next((place for place in places if place.asked.optional and place.last is None), None)


def all_places(work: Work, code: str) -> list[Place]:
    """The places of one characteristic, with one more to come where it is open-ended."""
    planned = next((found for found in work.planned if found.code == code), None)
    if planned is None or planned.characteristic.kind is Kind.COMPUTED:
        return []
    places = list(work.places_of(planned))
    positions = planned.characteristic.positions
    if positions.open_ended and all(place.last is not None for place in places):
        places.append(Place(planned, positions.nth(len(places) + 1), (), work.item_of(planned.characteristic)))
    return places


def entry_of(
    request: Asked, work: Work, at: Place | None, refused: Refused | None, now: datetime, stopped: bool
) -> dict[str, Any]:
    caution = ". ".join(work.slot.operation.caution)
    if work.visit.state != VisitState.IN_HAND:
        return {"kind": "done", "caution": caution, "words": "Nothing to enter", "then": _then(work)}
    if at is None:
        missing = photos_missing(work, found_out=any(is_out(place) for place in work.places))
        if missing:
            return _photo_entry(missing[0], caution, refused)
        words = "Stopped" if stopped else "Everything is entered"
        then = "A value is out of limit: what to do stands in its panel." if pending(work) else _then(work)
        return {"kind": "done", "caution": caution, "words": words, "then": then}
    return _place_entry(request, work, at, refused, now) | {"caution": caution}


def _then(work: Work) -> str:
    return work.slot.operation.instruction or "Look it over, then sign."


def _photo_entry(name: str, caution: str, refused: Refused | None) -> dict[str, Any]:
    return {
        "kind": "photo",
        "caution": caution,
        "code": "photo",
        "name": name,
        "noun": "Photo",
        "hidden": [{"name": "photo_name", "value": name}],
        "error": refused.text("entry") if refused else "",
        "photo_label": f"Photo: {name}",
    }


def _place_entry(request: Asked, work: Work, at: Place, refused: Refused | None, now: datetime) -> dict[str, Any]:
    asked = at.asked
    again = bool(at.tries)
    entry_refused = refused if refused and refused.form == "entry" else None
    posted = entry_refused.posted if entry_refused else {}
    attempt = (at.tries[-1].attempt if at.tries else 0) + 1
    worked = work.visit.worked_at or now
    gauge, ring = chosen(request, asked.gauge_kind, asked.unit, worked), None
    if asked.needs_setting:
        ring = chosen(request, "setting_ring", asked.unit, worked)
    count = len(at.planned.labels)
    return {
        "kind": kind_of(at),
        "code": asked.code,
        "name": asked.name,
        "noun": noun(at),
        "position": at.position,
        "of": count if count > 1 and not asked.positions.open_ended else None,
        "attempt": attempt,
        "place": f"{asked.code}:{at.position}:{attempt}",
        "hidden": [
            {"name": "characteristic", "value": asked.code},
            {"name": "position", "value": at.position},
            {"name": "try", "value": attempt},
            {"name": "gauge", "value": gauge["id"] if gauge else ""},
            {"name": "ring", "value": ring["id"] if ring else ""},
        ],
        "unit": unit_words(asked.unit),
        "units": _units(asked.unit, str(posted.get("unit", ""))) if at.asked.kind is not Kind.COUNTED else [],
        "limits": limits(asked),
        "limits_other": limits_other(asked),
        "how": how_worked_out(asked, work.bench.card_revision.card),
        "fixed": fixed_part(asked.low, asked.high, asked.decimals),
        "decimals": asked.decimals,
        "digits": len(str(int(abs(asked.high or asked.low or Decimal(10))))),
        "minus": asked.low is not None and asked.low < 0,
        "value": posted.get("value", ""),
        "error": _entry_error(entry_refused),
        "ask": _ask(entry_refused),
        "gauge": gauge,
        "gauge_needed": asked.gauge_kind.replace("_", " "),
        "ring": ring,
        "ring_needed": "setting ring" if asked.needs_setting else "",
        "choices": _choices(at),
        "tooth": tooth(work, at),
        "tick": is_tick(at),
        "hint": asked.note,
        "reason": _reason(work, at, posted) if again else None,
    }


def _entry_error(refused: Refused | None) -> str:
    return "" if refused is None or isinstance(refused.refusal, FarOff) else refused.refusal.text


def _ask(refused: Refused | None) -> dict[str, str] | None:
    if refused is None or not isinstance(refused.refusal, FarOff):
        return None
    return {"words": refused.refusal.text, "value": str(refused.posted.get("value", ""))}


def _reason(work: Work, at: Place, posted: Mapping[str, Any]) -> str:
    """What stands in the reason field of a new try: what was posted, else what the card says to do."""
    if "reason" in posted:
        return str(posted["reason"])
    last = at.last
    if last is not None and last.verdict in OUT:
        return at.asked.reaction[:200]
    return ""


def _units(unit: str, chosen_unit: str) -> list[dict[str, Any]]:
    if unit not in OTHER_UNIT:
        return []
    other = OTHER_UNIT[unit][0]
    wanted = chosen_unit or unit
    return [{"value": name, "label": unit_words(name), "chosen": name == wanted} for name in (unit, other)]


def _choices(place: Place) -> list[dict[str, str]]:
    asked = place.asked
    if asked.kind is Kind.TIME:
        return [{"value": "now", "label": "It is now", "kind": "press"}]
    if asked.kind not in (Kind.YES_NO, Kind.GO_NO_GO, Kind.CHOICE):
        return []
    labels = {"go": "go: goes as it must", "no-go": "no-go"}
    return [{"value": word, "label": labels.get(word, word), "kind": ""} for word in answers(asked)]


def fixed_part(low: Decimal | None, high: Decimal | None, decimals: int) -> str:
    """The leading digits that both limits share, already set on the keypad: "3.06" for 3.0625 to 3.0637."""
    if low is None or high is None or decimals < 3:
        return ""
    one, other = figure(low, decimals), figure(high, decimals)
    shared = ""
    for a, b in zip(one, other, strict=False):
        if a != b:
            break
        shared += a
    return shared if "." in shared and len(shared.partition(".")[2]) >= 1 and not shared.startswith("-") else ""


SOON = 60  # days: then the line counts down


def chosen(request: Asked, kind: str, unit: str, now: datetime) -> dict[str, Any] | None:
    """The gauge that was scanned last for this kind and unit at this browser; judged anew at every reading.

    `now` is when the work is done: earlier for work that is entered from paper.
    """
    if not kind:
        return None
    gauges = chosen_gauges(request)
    mark = gauges.get(f"{kind}:{unit}") or gauges.get(f"{kind}:")
    if not mark:
        return None
    found = in_force(mark, now)
    if found is None:
        return {"id": mark, "name": kind.replace("_", " "), "warn": "no calibration on record"}
    gauge = found.calibration.gauge
    step = "" if gauge.step is None else format(gauge.step.normalize(), "f")
    size = "" if gauge.setting is None else format(gauge.setting.normalize(), "f")
    retired = gauge.retired_at is not None and gauge.retired_at <= now
    due, over = _due(found, shop_day(now))
    warn = "retired" if retired else "recalled" if found.recalled else "overdue" if over else ""
    return {"id": mark, "name": gauge.name, "step": step, "due": due, "warn": warn, "size": size}


def _due(found: InForce, today: date) -> tuple[str, bool]:
    """The day, or how near it is, with the uses where few are left; and whether it is over."""
    left, wear = (found.calibration.due_on - today).days, found.wear
    if found.recalled:
        return "now: it is recalled", True
    if left <= 0 or (wear is not None and wear.is_out):
        return "now: it is overdue", True
    near = f"in {left} days" if left > 1 else "tomorrow"
    day = date_words(found.calibration.due_on) if left > SOON else near
    return (f"{day}, {wear} made" if wear is not None and wear.is_soon else day), False
