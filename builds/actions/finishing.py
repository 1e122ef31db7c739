"""Sign and finish a pass: what is there is signed, and nothing can be signed around a blank."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import datetime

from builds.actions.computing import compute_at_sight
from builds.actions.measuring import is_loaded, record_closed, require_open
from builds.actions.receiving_heats import require_free
from builds.actions.welding import keep_skills, keep_welds
from builds.definitions.card import Hold as HoldRule
from builds.definitions.words import HoldKind
from builds.errors import NotReady, NotSignable, NotTicked, NotYours, Stopped
from builds.models import Axle, Done, Phase, Span, Visit, VisitState
from builds.models import Hold as HoldRow
from builds.permissions import (
    holds_one_of,
    operation_of,
    require_independent,
    require_role_at,
    require_skill_for,
    role_words,
)
from builds.reports.at_signing import AtSigning, at_signing
from builds.reports.facts import standing
from builds.reports.pending import not_signable, opened_before, tags_in_the_way, ticks_left_out
from builds.reports.work import Work, cited_heats, work_of
from measurements.models import OUT
from shop.actions.signing import Grant, signature
from shop.errors import Refusal
from shop.models import Heat, HeatStatus, Item, Person
from shop.models.prepared import Prepared, number
from shop.record.act import Act, act
from shop.record.models import Signature
from shop.record.who import Who


def finish(
    *, visit: Visit, grant: Grant, by: Who, now: datetime | None = None, without: Collection[str] | None = None
) -> Visit:
    """The doer's signature. Names everything that is missing; a hold that is due leaves it waiting for sign.

    `without`: the ticks left out that the signer was asked about (`ticks_left_out`); others are asked about first.
    None where nobody is asked. What was left out is kept with the signature.
    """
    with act("operation.signed", subject=visit.subject, by=by, now=now) as a:
        visit, hand = _in_hand(visit, by, a.now)
        operation = operation_of(visit)
        _may_sign(visit, by, a.now, held=hand.held)
        work = _work_to_sign(visit, hand)
        made, _ = compute_at_sight(a, work)
        if made:
            work = _work_to_sign(visit, hand)
        if missing := not_signable(work):
            raise NotSignable(missing)
        left_out = ticks_left_out(work)
        if without is not None and not set(left_out) <= set(without):
            raise NotTicked(left_out)
        signed = signature(a, grant, Signature.Meaning.DID)
        a.create(Done, visit=visit, signature=signed, part="doer", without="\n".join(left_out))
        keep_welds(a, work)
        keep_skills(a, work)
        if operation.hold is not None and operation.hold.is_the_work:
            a.create(HoldRow, visit=visit, signature=signed)
        waits = second_signatures(work, None if hand.signed else {"doer"})
        state = VisitState.WAIT_SIGN if waits else VisitState.DONE
        spans = [] if hand.span is None else [(Span(pk=hand.span), {"ended_at": a.now})]
        a.update_each(*spans, (visit, {"state": state, "done_at": None if waits else a.now}))
        a.note(operation=f"{operation.number} {operation.name}", item=visit.item.mark, waits_for=waits)
        if left_out:
            a.note(not_ticked=left_out)
        if not waits and visit.axle is not None:
            follow_phase(a, visit.axle, hand.finished + 1)
    return visit


def _in_hand(visit: Visit, by: Who, now: datetime) -> tuple[Visit, AtSigning]:
    """The pass as it stands now that its chain is locked. What never changes of it is not read again."""
    if not is_loaded(visit):
        visit = _locked(visit)
    axle = visit.axle
    hand = at_signing(visit, by, operation_of(visit).signs, now)
    visit.state = hand.state
    if axle is not None:
        axle.phase = hand.phase or axle.phase
        if hand.closed:
            raise record_closed(axle)
    require_open(visit)
    return visit, hand


def _work_to_sign(visit: Visit, hand: AtSigning) -> Work:
    """The work with what is fitted; what lies aside does not matter any more. Red tags are read where there are any."""
    work = work_of(visit, {}, every=True)
    return replace(work, beside=work.beside.knowing(hand.beside, tagged=hand.tagged))


_VISIT = Prepared(
    lambda: (
        Visit.objects.filter(pk=number("visit"))
        .select_related("operation__station", "item__unit", "axle__item", "axle__revision__model", "axle__line")
        .defer("axle__revision__text")
    )
)


def _locked(visit: Visit) -> Visit:
    return _VISIT.one(visit=visit.pk)


def _may_sign(visit: Visit, by: Who, now: datetime, *, held: bool) -> None:
    operation = operation_of(visit)
    require_role_at(by, operation, operation.signs, now, held=held)
    assert by.person is not None
    if not visit.late:
        require_skill_for(by.person, operation, now)
    if operation.hold is not None and operation.hold.is_the_work:
        require_independent(by.person, operation.hold, visit, now)
        if visit.worked_by is not None and visit.worked_at is not None:
            # On paper another one may have looked: who looked must be as free of the work as who signs.
            require_independent(visit.worked_by, operation.hold, visit, visit.worked_at)


def second_signatures(work: Work, signed: Collection[str] | None = None) -> list[str]:
    """Which signatures are still due after the doer's: "hold", "beside", "on reject". `signed`: the parts signed so
    far, where the caller knows them."""
    operation = work.slot.operation
    if signed is None:
        signed = set(Done.objects.filter(visit=work.visit).values_list("part", flat=True))
    due = []
    if operation.beside and "beside" not in signed:
        due.append("beside")
    out = any(place.last is not None and place.last.verdict in OUT for place in work.places)
    if operation.on_reject and out and "on reject" not in signed:
        due.append("on reject")
    if hold_due(work) and not HoldRow.objects.filter(visit=work.visit).exists():
        due.append("hold")
    return due


def hold_due(work: Work) -> bool:
    """Whether this pass stops until its hold is signed."""
    hold: HoldRule | None = work.slot.operation.hold
    if hold is None or hold.is_the_work:
        return False
    if hold.kind is HoldKind.FIRST_PIECE:
        return work.visit.piece == 1
    if hold.kind is HoldKind.FIRST_HEAT:
        return any(_was_held(heat.heat, work.visit) for heat in cited_heats(work))
    return hold.kind is HoldKind.HOLD


def _was_held(heat: Heat, visit: Visit) -> bool:
    """Whether the heat was not free yet when the doer signed. A pass that waits keeps waiting for its own look,
    though another axle's hold, or the drawer, has freed the heat meanwhile."""
    if heat.status != HeatStatus.FREE or heat.freed_at is None:
        return heat.status != HeatStatus.FREE
    return Done.objects.filter(visit=visit, part="doer", signature__at__lte=heat.freed_at).exists()


def sign_second(*, visit: Visit, part: str, grant: Grant, by: Who, now: datetime | None = None) -> Visit:
    """A second signature that is due: the hold (by somebody who did none of the work), a second doer's beside the
    first, or the inspector's under a rejected value."""
    with act("operation.second_signature", subject=visit.subject, by=by, now=now) as a:
        visit = _locked(visit)
        work = work_of(visit)
        due = second_signatures(work)
        if visit.state != VisitState.WAIT_SIGN or part not in due:
            raise Refusal(f"Operation {visit.operation.number} waits for no such signature now.")
        if tags := tags_in_the_way(work.beside):
            raise Stopped(f"Red tag {tags[0].number} is open: {tags[0].cause} Nothing is signed until it is decided.")
        if opened := opened_before(work):
            raise NotReady("This cannot be signed yet. " + " ".join(opened))
        assert by.person is not None
        if part == "hold":
            _sign_hold(a, work, by.person, grant)
        else:
            _sign_beside(a, work, part, by.person, grant)
        left = second_signatures(work)
        if not left:
            a.update(visit, state=VisitState.DONE, done_at=a.now)
            if visit.axle is not None:
                follow_phase(a, visit.axle)
        a.note(operation=f"{visit.operation.number} {visit.operation.name}", signed=part, waits_for=left)
    return visit


def _sign_hold(a: Act, work: Work, person: Person, grant: Grant) -> None:
    hold = work.slot.operation.hold
    assert hold is not None
    require_independent(person, hold, work.visit, a.now)
    a.create(HoldRow, visit=work.visit, signature=signature(a, grant, Signature.Meaning.CHECKED))
    if hold.kind is HoldKind.FIRST_HEAT:
        for heat in sorted(cited_heats(work), key=lambda item: item.subject):
            _free(a, heat, person)


def _free(a: Act, heat: Item, person: Person) -> None:
    """Race: two axles stand on one heat. Its own chain is locked, after the axle's and in sorted order, and only
    the first hold frees it; what a red tag refused meanwhile is freed by none."""
    if heat.heat.status == HeatStatus.FREE:
        return
    with act("heat.freed", subject=heat.subject, by=a.by, now=a.now) as own:
        kept = Heat.objects.select_related("item").get(pk=heat.pk)
        require_free(kept, held_too=True)
        if kept.status == HeatStatus.HELD:
            own.update(kept, status=HeatStatus.FREE, freed_by=person, freed_at=own.now)


def _sign_beside(a: Act, work: Work, part: str, person: Person, grant: Grant) -> None:
    operation = work.slot.operation
    roles = operation.beside if part == "beside" else operation.on_reject
    if not holds_one_of(person, roles, a.now):
        raise NotYours(f"This signature is for {role_words(roles)}; {person.name} does not hold that role today.")
    if Done.objects.filter(visit=work.visit, signature__person=person).exists():
        raise NotYours(f"{person.name} has signed here already. A second person must.")
    if part == "beside" and HoldRow.objects.filter(visit=work.visit, signature__person=person).exists():
        raise NotYours(f"{person.name} signed the hold, as one who did none of this work. Who stood beside must sign.")
    a.create(Done, visit=work.visit, signature=signature(a, grant, meaning_of(part)), part=part)


def meaning_of(part: str) -> Signature.Meaning:
    """In which sense a second signature is given: who stood beside did the work too, anybody else checked it."""
    return Signature.Meaning.DID if part == "beside" else Signature.Meaning.CHECKED


def follow_phase(a: Act, axle: Axle, finished: int | None = None) -> None:
    """An axle whose every operation before closing is done is bought off. `finished`: how many of its passes are done
    or excused, where the caller knows."""
    if axle.phase != Phase.FLOOR:
        return
    closing = [slot for slot in axle.plan.slots if slot.operation.closing]
    if finished is None:
        finished = Visit.objects.filter(axle=axle, state__in=(VisitState.DONE, VisitState.EXCUSED)).count()
    # A count first: the whole standing is worked out only when this may have been the last one.
    if finished < len(closing):
        return
    slots = standing(axle, a.now).slots.values()
    if all(view.finished for view in slots if view.slot.operation.closing):
        a.update(axle, phase=Phase.BOUGHT_OFF)
