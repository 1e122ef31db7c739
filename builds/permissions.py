"""Who may work at an operation, sign it, and release it: role, skill on the day, and independence by person."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db.models import QuerySet

from builds.definitions.card import Hold, Operation
from builds.definitions.words import ANY_SECOND_PERSON, ROLES, skill_words
from builds.errors import NotYours
from builds.models import Bench, Done, Fitted, Span, Visit, of_bench
from measurements.models import Reading
from shop.clock import shop_day
from shop.models import Person, Role
from shop.permissions import roles_of, why_no_skill
from shop.record.who import Who

#: Roles of the card that are not held by that name here: an owner acts through the roles given to a person.
_KNOWN = {str(role) for role in Role}


def role_words(roles: Iterable[str]) -> str:
    return " or ".join(ROLES.get(role, role.replace("_", " ")) for role in roles)


def holds_one_of(person: Person, roles: Iterable[str], at: datetime) -> bool:
    held = {str(role) for role in roles_of(person, shop_day(at))}
    return bool(held & (set(roles) & _KNOWN))


def operation_of(visit: Visit) -> Operation:
    """The operation as the revision of the card states it that the axle, or the unit in none, is built to."""
    return visit.bench.card_revision.card.operation(visit.operation.number)


def hands(operation: Operation) -> tuple[str, ...]:
    """Roles that may work and enter at this operation. That anybody may witness it lets nobody work at it."""
    hold_by = operation.hold.by if operation.hold is not None else ()
    roles = (*operation.signs, *operation.beside, *operation.helps, *operation.on_reject, *hold_by)
    return tuple(role for role in dict.fromkeys(roles) if role != ANY_SECOND_PERSON)


def require_hand(by: Who, visit: Visit, at: datetime) -> None:
    """Refuse a person who may not work at this operation at all."""
    require_role_at(by, operation_of(visit), hands(operation_of(visit)), at)


def require_role_at(
    by: Who, operation: Operation, roles: Iterable[str], at: datetime, *, held: bool | None = None
) -> None:
    """Refuse a person without one of the roles. `held`: whether they hold one, where the caller has just read it."""
    person = by.person
    if person is None:
        raise NotYours("Nobody is at this terminal. Scan your badge first.")
    roles = tuple(roles)
    if not (holds_one_of(person, roles, at) if held is None else held):
        raise NotYours(
            f"Operation {operation.number} {operation.name} is for {role_words(roles)};"
            f" {person.name} does not hold that role today. Call somebody who does."
        )


def require_skill_for(person: Person, operation: Operation, at: datetime) -> None:
    """Refuse a doer whose skill for the operation's process is not valid on that day."""
    processes = dict.fromkeys(
        process for process in (operation.skill, *(weld.process for weld in operation.welds)) if process
    )
    for process in processes:
        why = why_no_skill(person, process, shop_day(at))
        if why:
            raise NotYours(why.replace(process, skill_words(process)))


def doers_of(bench: Bench, numbers: Iterable[int], item_id: int | None = None) -> dict[int, str]:
    """Everybody who did any of the work at these operations of the axle, or of the unit in none: took it up, entered a
    reading, fitted a part or signed it as doer, in any pass. By person, whatever badge or role. With `item_id`, only
    on that unit or axle. Inspecting is not doing: a signature on a rejected value does not count, nor, where the
    look is itself the work, what was entered by the one whose signature there is the hold (fitting a part does)."""
    visits = Visit.objects.filter(of_bench(bench), operation__number__in=list(numbers))
    if item_id is not None:
        visits = visits.filter(item_id__in=(item_id, bench.pk))
    ids = list(visits.values_list("pk", flat=True))
    looks = dict(_looks(bench, visits))
    spans = Span.objects.filter(visit_id__in=ids).values_list("visit_id", "person_id", "person__name")
    worked = visits.exclude(worked_by=None).values_list("pk", "worked_by_id", "worked_by__name")
    done = Done.objects.filter(visit_id__in=ids).exclude(part="on reject")
    signed = done.values_list("visit_id", "signature__person_id", "signature__person__name")
    read = (
        Reading.objects.filter(sheet__visit_links__visit_id__in=ids)
        .exclude(person=None)
        .values_list("sheet__visit_links__visit_id", "person_id", "person__name")
    )
    every = (spans, worked, signed, read)
    rows = (row for found in every for row in found.order_by())
    fitted = Fitted.objects.filter(visit_id__in=ids).order_by().values_list("person_id", "person__name")
    return {pk: name for visit, pk, name in rows if pk is not None and looks.get(visit) != pk} | dict(fitted)


def _looks(bench: Bench, visits: QuerySet[Visit]) -> Iterable[tuple[int, int]]:
    """(visit, who looked) of the passes in which the work is the look itself."""
    signed = visits.exclude(hold=None).values_list("pk", "operation__number", "hold__signature__person_id")
    for visit, number, person in signed:
        hold = bench.card_revision.card.operation(number).hold
        if hold is not None and hold.is_the_work:
            yield visit, person


def looked_at(hold: Hold, visit: Visit) -> tuple[int, ...]:
    """The operations whose doers may not sign this hold."""
    if hold.looks_at_all:
        own = visit.operation.number
        every = tuple(slot.operation.number for slot in visit.bench.plan.slots)
        return tuple(number for number in dict.fromkeys(every) if not (hold.is_the_work and number == own))
    if hold.is_the_work:
        return hold.looks_at
    return tuple(dict.fromkeys((visit.operation.number, *hold.looks_at)))


def require_independent(person: Person, hold: Hold, visit: Visit, at: datetime) -> None:
    """Refuse a signer without the role or skill, and one who did any of the work that is looked at."""
    operation = operation_of(visit)
    if ANY_SECOND_PERSON not in hold.by and not holds_one_of(person, hold.by, at):
        raise NotYours(
            f"The hold of operation {operation.number} is signed by {role_words(hold.by)};"
            f" {person.name} does not hold that role today."
        )
    if person.retired_at is not None:
        raise NotYours(f"{person.name} no longer works here and cannot sign.")
    if hold.skill and (why := why_no_skill(person, hold.skill, shop_day(at))):
        raise NotYours(why)
    item = visit.item_id if visit.item_id != visit.axle_id else None
    numbers = looked_at(hold, visit)
    if person.pk in doers_of(visit.bench, numbers, item):
        raise NotYours(
            f"{person.name} did some of the work that this signature looks at (operation"
            f" {_which(visit.bench, numbers, item, person)}). Somebody who did none of it must sign."
        )


def _which(bench: Bench, numbers: Iterable[int], item: int | None, person: Person) -> str:
    found = [str(number) for number in numbers if person.pk in doers_of(bench, [number], item)]
    return ", ".join(found)
