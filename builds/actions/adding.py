"""What is added to a pass beside readings: photos, a reading declared void, a shorter wait, a withdrawn word."""

from __future__ import annotations

from datetime import datetime

from builds.actions.advising import give_advice
from builds.actions.computing import compute_from, sheet_of
from builds.actions.measuring import record_closed, require_open
from builds.actions.reacting import react
from builds.actions.reopening import reopen
from builds.definitions.plan import Slot
from builds.definitions.words import Kind
from builds.errors import NotYours
from builds.models import Axle, Operation, Photo, ShorterWait, Visit, VisitState
from builds.permissions import holds_one_of, require_hand, role_words
from builds.reports.deciders import deciders_of
from builds.reports.kit import slot_of
from builds.reports.work import work_of
from measurements.models import Reading, ReadingInput, Voiding
from shop.actions.signing import Grant, signature
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Role
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.models import Signature
from shop.record.who import Who

LONGEST_REASON = 300


def add_photo(*, visit: Visit, name: str, sha256: str, by: Who, now: datetime | None = None) -> Photo:
    """Attach a photo (already stored by its hash) to the visit under a name the card asks for."""
    with act("photo.added", subject=visit.subject, by=by, now=now) as a:
        visit = Visit.objects.select_related("operation", "item__unit", "axle__item", "axle__revision").get(pk=visit.pk)
        require_open(visit)
        require_hand(by, visit, a.now)
        assert by.person is not None
        asked = [photo.name for slot in visit.bench.plan.of_operation(visit.operation.number) for photo in slot.photos]
        if name not in asked:
            raise Refusal(f"This operation asks for no photo “{name[:40]}”. It asks for: {', '.join(asked) or 'none'}.")
        a.note(name=name, sha256=sha256)
        return a.create(Photo, visit=visit, name=name, sha256=sha256, person=by.person, at=a.now)


def void_reading(*, reading: Reading, reason: str, by: Who, now: datetime | None = None) -> Voiding:
    """Declare a reading void: it was taken on another axle, or at another place. It stays visible.

    What was computed from it is void with it, and computed anew as far as the readings that count allow. Out of limit,
    it is still one of the tries at its place, or a worker could make low tries vanish from the count by calling them
    void; unless somebody who decides about such a value, and did not read this one, declares it void.
    """
    reason = " ".join(reason.split())
    if not reason:
        raise Refusal("Say why this reading does not belong here.", field="reason")
    _require_fits(reason)
    visit = (
        Visit.objects.filter(sheet_links__sheet_id=reading.sheet_id)
        .select_related("operation", "item__unit", "axle__item", "axle__revision")
        .order_by("-number")
        .first()
    )
    if visit is None:
        raise Refusal("This reading belongs to no operation that is under way.")
    with act("reading.voided", subject=visit.subject, by=by, now=now) as a:
        visit.refresh_from_db()
        require_open(visit)
        reading = Reading.objects.select_related("characteristic", "person").get(pk=reading.pk)
        decides = _decides(reading, by, a.now)
        if not decides:
            require_hand(by, visit, a.now)
        if Voiding.objects.filter(reading=reading).exists():
            raise Refusal("This reading is void already.")
        code = reading.characteristic.code
        asked = slot_of(visit).characteristics
        if any(one.code == code and one.characteristic.kind is Kind.COMPUTED for one in asked):
            raise Refusal(f"{code} is computed. Declare the reading void that it was computed from.", field="reason")
        _require_asked(visit, code)
        counts = not decides or by.person in (reading.person, visit.worked_by)
        a.note(characteristic=code, position=reading.position, reason=reason, still_a_try=counts)
        row = _void(a, visit, reading, reason, counts=counts)
        work = work_of(visit)
        computed, work = compute_from(a, work, code, sheet_of(work))
        react(a, work, computed)
        give_advice(a, work, sheet_of(work), changed={code, *(found.characteristic.code for found in computed)})
        return row


def _require_asked(visit: Visit, code: str) -> None:
    """A pass for single codes keeps the readings of the one before: what it does not ask would stay blank, void."""
    if visit.only and code not in visit.only:
        raise Refusal(
            f"{code} is not asked again in this pass, so nothing would be read in its place. Open a red tag and have"
            " the operation done again.",
            field="reason",
        )


def _require_fits(reason: str) -> None:
    if len(reason) > LONGEST_REASON:
        raise Refusal(f"The reason is longer than {LONGEST_REASON} characters. Shorten it.", field="reason")


def _decides(reading: Reading, by: Who, at: datetime) -> bool:
    """Whether this person decides about a value of its class that is out of limit."""
    roles = deciders_of(reading.characteristic.class_code)
    return by.person is not None and holds_one_of(by.person, roles, at)


def _void(a: Act, visit: Visit, reading: Reading, reason: str, *, counts: bool) -> Voiding:
    assert a.by.person is not None
    row = a.create(Voiding, reading=reading, reason=reason, counts=counts, person=a.by.person, at=a.now)
    used = ReadingInput.objects.filter(
        source=reading, computed__sheet__visit_links__visit=visit, computed__voiding=None
    )
    for found in used.select_related("computed"):
        _void(a, visit, found.computed, "computed from a reading that is void", counts=counts)
    return row


def shorten_wait(
    *, axle: Axle, slot: Slot, reason: str, grant: Grant, by: Who, now: datetime | None = None
) -> ShorterWait:
    """An engineer's signed reason for starting before a wait is over, where the card allows one."""
    reason = " ".join(reason.split())
    _require_fits(reason)
    with act("wait.shortened", subject=axle.subject, by=by, now=now) as a:
        axle = Axle.objects.select_related("item", "revision__model").get(pk=axle.pk)
        if axle.closed_at is not None or axle.scrapped_at is not None:
            raise record_closed(axle)
        waits = axle.plan.waits(slot.operation.number)
        roles = [role for after in waits for role in after.shorter_by]
        if not roles:
            raise Refusal(f"The wait before operation {slot.operation.number} may not be shortened by anybody.")
        if by.person is None or not holds_one_of(by.person, roles, a.now):
            raise NotYours(f"This wait is shortened only by {role_words(roles)}.")
        if not reason:
            raise Refusal("Say why the wait may be shorter. The reason is printed on the certificate.", field="reason")
        operation = Operation.objects.get(revision_id=axle.revision_id, number=slot.operation.number)
        a.note(operation=operation.number, reason=reason)
        return a.create(
            ShorterWait,
            axle=axle,
            operation=operation,
            reason=reason,
            signature=signature(a, grant, Signature.Meaning.RELEASED),
        )


def withdraw_signature(*, visit: Visit, reason: str, by: Who, now: datetime | None = None) -> Visit:
    """Send a pass that waits for its second signature back to the doer: the hold was not given, and why."""
    reason = " ".join(reason.split())
    if not reason:
        raise Refusal("Say what must be done before you would sign.", field="reason")
    _require_fits(reason)
    with act("hold.not_given", subject=visit.subject, by=by, now=now) as a:
        visit = Visit.objects.select_related("operation", "item__unit", "axle__item", "axle__revision").get(pk=visit.pk)
        require_role(by, (Role.INSPECTOR, Role.LEAD_BUILDER, Role.ENGINEER, Role.QUALITY), shop_day(a.now))
        if visit.state != VisitState.WAIT_SIGN:
            raise Refusal("This operation waits for no signature.")
        key = slot_of(visit).key
        reopen(a, visit.bench, {key: []}, cause="hold not given", reason=reason, changes=(key,))
        a.note(operation=visit.operation.number, reason=reason)
    return visit
