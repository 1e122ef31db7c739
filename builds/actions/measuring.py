"""Take a reading: one Enter is one transaction and one event.

The value is judged in the drawing unit, exactly; the limits of the moment stand beside it for ever. A correction is
a new try with a reason; nothing is edited.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from builds.actions.advising import give_advice
from builds.actions.computing import characteristic_row, compute_from
from builds.actions.judging import Entered, Judged, judge_entry
from builds.actions.reacting import Reacted, react
from builds.actions.sawing import note_sawn
from builds.definitions.words import Kind
from builds.errors import MovedOn, NotReady, Stopped
from builds.models import Axle, Visit, VisitState
from builds.permissions import hands, operation_of, require_role_at, require_skill_for
from builds.reports.at_hand import AtHand, at_hand, not_voided
from builds.reports.kit import slot_of
from builds.reports.pending import stopping_tag, waiting
from builds.reports.work import Place, Work, codes_around, work_of
from measurements.models import Reading
from shop.errors import Refusal
from shop.record.act import Act, act
from shop.record.who import Who

_LONGEST_REASON = 300


@dataclass(frozen=True)
class Taken:
    """The reading, what was computed from it, and what follows. `before` and `after`: the work as it was and is, as
    far as it was read; `advised`: whether the bench had something new to say."""

    reading: Reading
    computed: tuple[Reading, ...]
    reacted: Reacted
    before: Work
    after: Work
    advised: bool


def enter_reading(
    *, visit: Visit, entered: Entered, by: Who, now: datetime | None = None, to_draw: bool = False
) -> Taken:
    """Store one value at one position, judge it, compute what follows from it, and react as the card says.

    `to_draw`: the caller draws the pass from what this act has read, so it reads all of it, in as few statements."""
    with act("reading.entered", subject=visit.subject, by=by, now=now) as a:
        visit, hand = _in_hand(visit, entered.code, by, a.now, to_draw=to_draw)
        before = work = _work(visit, hand)
        place = _place(work, entered)
        _may_be_tried(place, entered)
        if hand.tagged:
            _not_stopped(work, place)
        if hand.out:
            _not_waiting(visit, place)
        value = judge_entry(place.asked, entered, a.now, _happened(visit, entered, a.now))
        reading = _store(a, work, place, value, entered, hand.sheet)
        note_sawn(a, work, reading)
        work = replace(work, tries={**work.tries, (place.asked.code, place.position): (*place.tries, reading)})
        computed, work = compute_from(a, work, place.asked.code, hand.sheet)
        reacted = react(a, work, [reading, *computed])
        entered_codes = {row.characteristic.code for row in (reading, *computed)}
        advised = give_advice(a, work, hand.sheet, after=reading, changed=entered_codes)
        a.note(
            operation=f"{visit.operation.number} {visit.operation.name}",
            characteristic=f"{place.asked.code} {place.asked.name}",
            position=place.position,
            attempt=reading.attempt,
            value=f"{value.typed} {value.unit}".strip(),
            verdict=value.verdict,
            **({"computed": [_told(row) for row in computed]} if computed else {}),
        )
    after = replace(work, own=work.own | {row.pk for row in (reading, *computed)})
    if reacted.tags:
        after = replace(after, beside=replace(work.beside, known_tags=None))
    return Taken(reading, tuple(computed), reacted, before, after, advised)


def _work(visit: Visit, hand: AtHand) -> Work:
    if hand.beside is None:
        return work_of(visit, hand.rows)
    work = work_of(visit, hand.rows, every=True)
    return replace(work, beside=work.beside.knowing(hand.beside, tagged=hand.tagged))


def _happened(visit: Visit, entered: Entered, now: datetime) -> datetime:
    """When it was measured: now, or earlier where it is entered from paper; never still to come."""
    return min(entered.happened_at or visit.worked_at or now, now)


def _told(row: Reading) -> str:
    return f"{row.characteristic.code} {row.position}".strip() + f" = {row.typed} {row.verdict}"


def _in_hand(visit: Visit, code: str, by: Who, now: datetime, *, to_draw: bool) -> tuple[Visit, AtHand]:
    """The visit as it stands now that its chain is locked. What never changes of it is not read again."""
    if not is_loaded(visit):
        visit = (
            Visit.objects.select_related("operation__station", "item__unit", "axle__item", "axle__revision__model")
            .defer("axle__revision__text")
            .get(pk=visit.pk)
        )
    operation = operation_of(visit)
    hand = at_hand(visit, by, hands(operation), now, codes_around(slot_of(visit), code), beside=to_draw)
    visit.state = hand.state
    if hand.closed and visit.axle is not None:
        raise record_closed(visit.axle)
    require_open(visit)
    require_role_at(by, operation, hands(operation), now, held=hand.held)
    if not visit.late:
        assert by.person is not None
        require_skill_for(by.person, operation, now)
    return visit, hand


def is_loaded(visit: Visit) -> bool:
    """Whether operation, item and axle came with the visit."""
    cached = visit._state.fields_cache
    if not {"operation", "item", "axle"} <= cached.keys():
        return False
    return cached["axle"] is None or "revision" in cached["axle"]._state.fields_cache


def require_open(visit: Visit) -> None:
    """Refuse when the visit is not in hand, or the axle's record is closed."""
    if visit.axle is not None and visit.axle.closed_at is not None:
        raise record_closed(visit.axle)
    if visit.state == VisitState.SET_DOWN:
        raise NotReady("This operation is set down. Take it up again first.")
    if visit.state != VisitState.IN_HAND:
        raise MovedOn(
            f"Operation {visit.operation.number} is no longer in hand: it is {visit.get_state_display()}."
            " Look at the page again."
        )


def record_closed(axle: Axle) -> Stopped:
    """The refusal of anything more on a closed record."""
    return Stopped(f"The record of {axle.serial} is closed. Nothing can be added to it.")


def _place(work: Work, entered: Entered) -> Place:
    try:
        planned = work.slot.planned(entered.code)
    except KeyError:
        raise Refusal(f"Operation {work.slot.operation.number} has no characteristic {entered.code[:20]}.") from None
    if planned not in work.planned:
        raise Refusal(f"{entered.code} is not asked again in this pass.")
    asked = planned.characteristic
    if asked.kind is Kind.COMPUTED:
        raise Refusal(f"{asked.code} {asked.name} is computed from other readings. It cannot be typed.", field="value")
    if asked.given is not None and asked.given.source == "heat":
        raise Refusal(f"{asked.code} {asked.name} belongs to the heat. It is entered where the heat is taken in.")
    places = list(work.places_of(planned))
    if asked.positions.open_ended:
        label = asked.positions.nth(len(places) + 1)
        places.append(Place(planned, label, (), work.item_of(asked)))
    for place in places:
        if place.position == entered.position:
            return place
    known = ", ".join(place.position or "the only one" for place in places[:20])
    raise Refusal(f"{asked.code} has no position “{entered.position[:20]}”. Positions: {known}.", field="position")


def _may_be_tried(place: Place, entered: Entered) -> None:
    due = (place.tries[-1].attempt if place.tries else 0) + 1
    if entered.try_number is not None and entered.try_number != due and place.tries:
        last = place.tries[-1]
        who = last.person.short_name if last.person else "the system"
        raise MovedOn(
            f"{place.named} was entered meanwhile by {who}: {last.typed} {last.unit_typed}.".replace(" .", ".")
            + " Your figure was not saved; look before you enter a new try."
        )
    if due > 1 and not entered.reason.strip():
        raise Refusal(
            f"{place.named} has a reading already ({place.tries[-1].typed}). Say why there is a new try.",
            field="reason",
        )
    if len(entered.reason) > _LONGEST_REASON:
        raise Refusal(f"The reason is longer than {_LONGEST_REASON} characters. Shorten it.", field="reason")


def _not_stopped(work: Work, place: Place) -> None:
    if tag := stopping_tag(work.beside, place.tries):
        raise Stopped(f"Stopped by red tag {tag.number}: {tag.cause} No reading goes on until it is decided.")


def _not_waiting(visit: Visit, place: Place) -> None:
    """A value that has to wait keeps all else waiting: only it is read again, or what it is computed from."""
    work = work_of(visit, {}, every=True)
    waits = waiting(work)
    around = codes_around(work.slot, place.asked.code)
    for found in waits:
        asked, position = found.place.asked, found.place.position
        if (asked.code, position) == (place.asked.code, place.position):
            return
        if asked.computation is not None and asked.code in around:
            return
    if waits:
        found = waits[0]
        read = f"{found.reading.typed} {found.reading.unit_typed}".strip()
        raise NotReady(
            f"{found.place.named} is {read}, {found.reading.get_verdict_display()}. {found.consequence.text}"
            " Your entry was not saved."
        )


def _store(a: Act, work: Work, place: Place, value: Judged, entered: Entered, sheet: int) -> Reading:
    asked, last = place.asked, place.tries[-1] if place.tries else None
    row: dict[str, Any] = {
        "sheet_id": sheet,
        "item_id": place.item,
        "characteristic": characteristic_row(work, asked.code),
        "position": place.position,
        "attempt": last.attempt + 1 if last is not None else 1,
        "typed": value.typed,
        "unit_typed": value.unit,
        "value": value.value,
        "photo": value.photo,
        "low": asked.low,
        "high": asked.high,
        "never_above": asked.never_above,
        "verdict": value.verdict,
        "gauge": value.gauge,
        "ring": value.ring,
        "calibration": value.calibration,
        "person": a.by.person,
        "terminal": a.by.terminal,
        "entered_at": a.now,
        "happened_at": _happened(work.visit, entered, a.now),
        "late": work.visit.late,
        "replaces": last,
        "reason": " ".join(entered.reason.split()) if last is not None else "",
        "questioned": value.questioned,
    }
    return not_voided(a.create(Reading, **row))
