"""The full record of one axle as plain data, ready to be frozen: text, whole numbers, lists; no floats.

Measured values are strings in the drawing unit; times are RFC 3339 in UTC. People stand by code, except who bought
the axle off: that person is printed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from django.conf import settings

from builds.certificates.record_parts import (
    Piece,
    code_of,
    concession_facts,
    fitted_rows,
    moment,
    part_facts,
    reading_facts,
    shorter_facts,
    shorter_rows,
    tag_facts,
    tag_rows,
    weld_facts,
    weld_rows,
)
from builds.certificates.record_steel import heat_facts
from builds.certificates.record_units import left_with_units, unit_rows
from builds.definitions.words import Kind
from builds.models import Axle, Done, Hold, Photo, Reopening, Visit, VisitState
from builds.reports.agreed import concessions_of
from builds.reports.facts import AxleStanding, standing
from builds.reports.pending import is_tick_row
from builds.reports.wording import is_difference, limits, limits_other
from builds.reports.work import Place, Work, is_void, work_of
from measurements.models import Reading

#: What is frozen under an older format stays as it is and stays readable. 2: steel, in which role a decision was
#: signed, and which figures are differences. 3: units that came from elsewhere or left. 4: what was left unticked when
#: a pass was signed. 5: when the work on a unit began that is older than the axle which it came into.
FORMAT = "axlebook-record/5"


def full_record(axle: Axle, now: datetime) -> Piece:
    """Everything that the certificate and any later question needs."""
    stands = standing(axle, now)
    works = [work_of(visit) for visit in _standing_visits(axle)]
    signed, photos = _signatures(axle), _photos(axle)
    order = axle.line.order
    card = axle.revision.card
    return {
        "format": FORMAT,
        "maker": settings.SHOP_NAME,
        "axle": {
            "serial": axle.serial,
            "model": card.name,
            "model_code": card.code,
            "card": axle.revision.letter,
            "card_released": moment(axle.revision.released_at),
            "drawing": card.drawing,
            "title": card.title,
            "unit_system": card.unit_system,
            "notice": card.notice,
            "facts": [list(pair) for pair in card.facts],
            "options": _options(axle),
            "sides": list(card.sides),
            "takes_place_of": axle.takes_place_of.serial if axle.takes_place_of else "",
        },
        "order": {
            "number": order.number,
            "customer": order.customer.name,
            "reference": order.customer_reference,
            "placed_on": order.placed_on.isoformat(),
            "paper": order.paper,
        },
        "dates": {"booked": moment(axle.booked_at), "begun": _begun(works), "closed": moment(now)},
        "bought_off": _bought_off(axle, stands),
        "parts": [part_facts(row) for row in fitted_rows(axle)] + left_with_units(axle),
        "units": unit_rows(axle),
        "heats": heat_facts(axle),
        "operations": [_operation(work, signed, photos) for work in works],
        "superseded": _superseded(axle),
        "reopened": reopened(axle),
        "welds": [weld_facts(row) for row in weld_rows(axle)],
        "red_tags": [tag_facts(row) for row in tag_rows(axle)],
        "concessions": [concession_facts(row) for row in concessions_of([axle], axle.line.order.customer_id)],
        "shorter_waits": [shorter_facts(row) for row in shorter_rows(axle)],
        "not_recorded": not_recorded(works),
        "service": [list(pair) for pair in card.service],
    }


def _options(axle: Axle) -> list[list[str]]:
    card = axle.revision.card
    found = []
    for option in card.options:
        chosen = dict(axle.plan.chosen).get(option.axis, option.default)
        value = option.value(chosen)
        found.append([option.label, value.label if value is not None else chosen])
    return found


def _standing_visits(axle: Axle) -> list[Visit]:
    visits = (
        Visit.objects.filter(axle=axle, state__in=(VisitState.DONE, VisitState.EXCUSED))
        .select_related("operation__station", "item__unit", "axle__item", "axle__revision__model", "worked_by")
        .order_by("operation__number", "item_id", "number")
    )
    return list(visits)


def _begun(works: Iterable[Work]) -> str:
    return min((moment(work.visit.claimed_at) for work in works), default="")


def _bought_off(axle: Axle, stands: AxleStanding) -> Piece:
    """The signature under the operation that looks at everything."""
    numbers = [
        slot.operation.number
        for slot in stands.plan.slots
        if slot.operation.hold is not None and slot.operation.hold.looks_at_all
    ]
    last = (
        numbers[-1] if numbers else max(slot.operation.number for slot in stands.plan.slots if slot.operation.closing)
    )
    row = (
        Done.objects.filter(visit__axle=axle, visit__operation__number=last, visit__state=VisitState.DONE)
        .select_related("signature__person")
        .order_by("-pk")
        .first()
    )
    if row is None:
        return {"name": "", "at": "", "operation": last}
    return {"name": row.signature.person.name, "at": moment(row.signature.at), "operation": last}


def _operation(work: Work, signed: Mapping[int, list[Piece]], photos: Mapping[int, list[list[str]]]) -> Piece:
    visit, operation = work.visit, work.slot.operation
    return {
        "number": operation.number,
        "name": operation.name,
        "side": work.side,
        "station": visit.operation.station.name,
        "zone": operation.zone,
        "pass": visit.number,
        "begun": moment(visit.claimed_at),
        "done": moment(visit.done_at),
        "late": visit.late,
        "worked_at": moment(visit.worked_at),
        "worked_by": code_of(visit.worked_by),
        "signatures": signed[visit.pk],
        "photos": photos[visit.pk],
        "results": [_result(work, planned.code) for planned in work.slot.characteristics],
    }


def _signatures(axle: Axle) -> Mapping[int, list[Piece]]:
    """Of each visit: the doers' in the order in which they were given, then the hold's."""
    done = Done.objects.filter(visit__axle=axle).select_related("signature__person").order_by("pk")
    holds = Hold.objects.filter(visit__axle=axle).select_related("signature__person").order_by("pk")
    found: dict[int, list[Piece]] = defaultdict(list)
    for visit, part, row, without in (
        *((row.visit_id, row.part, row.signature, row.without.splitlines()) for row in done),
        *((row.visit_id, "hold", row.signature, []) for row in holds),
    ):
        facts: Piece = {"as": part, "meaning": row.meaning, "by": code_of(row.person), "at": moment(row.at)}
        found[visit].append(facts | ({"without": without} if without else {}))
    return found


def _photos(axle: Axle) -> Mapping[int, list[list[str]]]:
    """Name and fingerprint of each picture, by visit."""
    found: dict[int, list[list[str]]] = defaultdict(list)
    for visit, name, sha256 in (
        Photo.objects.filter(visit__axle=axle).order_by("pk").values_list("visit_id", "name", "sha256")
    ):
        found[visit].append([name, sha256])
    return found


def _result(work: Work, code: str) -> Piece:
    planned = work.slot.planned(code)
    asked = planned.characteristic
    return {
        "code": code,
        "name": asked.name,
        "kind": str(asked.kind),
        "class": str(asked.class_),
        "unit": asked.unit,
        "decimals": asked.decimals,
        "recorded_only": asked.recorded_only,
        "agreed": asked.agreed,
        "difference": is_difference(asked),
        "source": asked.source,
        "limits": limits(asked),
        "limits_other": limits_other(asked),
        "readings": [_reading(place) for place in work.places_of(planned) if place.last is not None],
    }


def _reading(place: Place) -> Piece:
    last = place.last
    assert last is not None
    return reading_facts(last) | {"tries": len(place.tries)}


def _superseded(axle: Axle) -> list[Piece]:
    """Every try that no longer counts: re-opened passes, earlier tries, voided readings."""
    rows = (
        Reading.objects.filter(sheet__visit_links__visit__axle=axle)
        .select_related("characteristic", "gauge__item", "ring__item", "calibration", "person", "voiding", "item__unit")
        .order_by("pk")
        .distinct()
    )
    redone = set(Visit.objects.filter(axle=axle, state=VisitState.REDO).values_list("sheet_links__sheet_id", flat=True))
    standing_sheets = set(
        Visit.objects.filter(axle=axle).exclude(state=VisitState.REDO).values_list("sheet_links__sheet_id", flat=True)
    )
    replaced = {row.replaces_id for row in rows if row.replaces_id is not None}
    found = []
    for row in rows:
        reopened = row.sheet_id in redone and row.sheet_id not in standing_sheets
        if not (reopened or row.pk in replaced or is_void(row)):
            continue
        why = "pass done again" if reopened else "void" if is_void(row) else "later try"
        found.append(
            {"code": row.characteristic.code, "name": row.characteristic.name, "why": why} | reading_facts(row)
        )
    return found


def not_recorded(works: Iterable[Work]) -> list[str]:
    """What was not recorded or checked, in sentences: skipped samples, blanks that may be, work entered late."""
    said = []
    for work in works:
        where = f"operation {work.slot.operation.number}{f' {work.side}' if work.side else ''}"
        if work.visit.late:
            said.append(f"Entered later from paper: {where}.")
        for planned in work.planned:
            asked = planned.characteristic
            if asked.kind is Kind.COMPUTED or (asked.given is not None and asked.given.source == "heat"):
                continue
            blank = [place for place in work.places_of(planned) if place.last is None]
            if blank and not work.is_sampled(asked):
                said.append(f"{asked.code} {asked.name}: not one of the sampled pieces ({where}).")
            elif blank:
                why = _left_out(blank, work.places_of(planned)) if is_tick_row(asked) else "left blank, as it may be"
                said.append(f"{asked.code} {asked.name}: {why} ({where}).")
    return said


def _left_out(blank: Sequence[Place], places: Sequence[Place]) -> str:
    """Which ticks of a row were not made. Whoever signed was asked about them."""
    if len(blank) == len(places):
        return "none ticked, signed without"
    return f"all ticked but {', '.join(place.position for place in blank)}, signed without those"


def reopened(axle: Axle) -> list[Piece]:
    """Passes that were done again, and why."""
    rows = Reopening.objects.filter(visit__axle=axle).select_related("visit__operation").order_by("pk")
    return [
        {
            "operation": row.visit.operation.number,
            "pass": row.visit.number,
            "cause": row.cause,
            "reason": row.reason,
            "at": moment(row.at),
        }
        for row in rows
    ]
