"""Re-open finished work: exactly what the card's table says for the cause, as far as it is done."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import datetime

from builds.actions.claiming import asked_anew, end_span
from builds.definitions.plan import BuildPlan
from builds.definitions.unit_plan import read_on_part
from builds.errors import NotReady
from builds.models import Bench, Fitted, KitLine, Phase, Reopening, Unit, Visit, VisitState
from builds.permissions import require_hand
from builds.reports.facts import standing
from builds.reports.pending import back_cause, pending
from builds.reports.work import work_of
from shop.errors import Refusal
from shop.record.act import Act, act
from shop.record.who import Who

LONGEST_REASON = 300
LONGEST_WORDS = 80
#: What the record calls the cause where the part went out on which single values were read.
OTHER_PART = "part_out"


def reopen_for_cause(
    *, bench: Bench, cause: str, reason: str, by: Who, side: str = "", now: datetime | None = None
) -> list[str]:
    """Re-open what this cause makes invalid. Returns the keys of the slots that were re-opened."""
    require_cause(bench, cause)
    if side and side not in bench.plan.card.sides:
        raise Refusal(f"{bench.serial} has no side “{side[:20]}”. Its sides: {', '.join(bench.plan.card.sides)}.")
    with act("work.reopened", subject=bench.subject, by=by, now=now) as a:
        found = reopen(a, bench, named_by(bench.plan, cause, side), cause=cause, reason=reason)
        a.note(cause=cause, side=side, reason=reason, reopened=found)
    return found


def require_cause(bench: Bench, cause: str) -> None:
    """Refuse a cause that the card's table of what a change makes invalid does not have."""
    known = [rule.cause for rule in bench.plan.card.invalidates]
    if cause not in known:
        raise Refusal(
            f"The card of {bench.serial} knows no change “{cause[:40]}”. It knows: {', '.join(known) or 'none'}.",
            field="cause",
        )


def named_by(plan: BuildPlan, cause: str, side: str) -> dict[str, list[str]]:
    """The keys that the card's table names for this cause, with the codes to ask again, or none for all."""
    whole = plan.made_invalid_by(cause, side)
    single: dict[str, list[str]] = {}
    for key, code in sorted(plan.characteristics_made_invalid_by(cause)):
        if key not in whole:
            single.setdefault(key, []).append(code)
    return {key: [] for key in whole} | single


def reopen(
    a: Act, bench: Bench, keys: Mapping[str, list[str]], *, cause: str, reason: str, changes: Collection[str] = ()
) -> list[str]:
    """Mark the standing pass of each slot "to redo"; `keys` gives the codes to ask again, or none for all.

    Passes that are still open are ended too: what they began on is no longer so. Old readings stay as superseded.
    Where one of them opens what was sealed, the card's row for that is re-opened with it, whatever the cause was.
    What is to redo already for single codes gets a further row where this asks for more of it.
    `changes`: slots that are done again for their own sake, and not because another change names them: what the card's
    rows say of work done again there is re-opened with them.
    """
    if len(reason) > LONGEST_REASON:
        raise Refusal(f"The reason is longer than {LONGEST_REASON} characters. Shorten it.", field="reason")
    stands = standing(bench, a.now)
    visits = {key: slot.visit for key, slot in stands.slots.items() if slot.visit is not None}
    done = {key for key, fact in visits.items() if fact.state != VisitState.REDO}
    causes, codes = dict.fromkeys(keys, cause), dict(keys)
    for rule, named in _changed_at(stands.plan, changes):
        causes = dict.fromkeys(named, rule) | causes
        codes = {key: _both(named.get(key), codes.get(key)) for key in named.keys() | codes.keys()}
    opened = stands.plan.opened_with(causes.keys() & done)
    causes, codes = causes | opened, codes | {key: [] for key in opened}
    found = [key for key in stands.plan.by_key if key in causes and key in visits]
    asked = asked_anew([visits[key].pk for key in found if key not in done])
    found = [key for key in found if key in done or asks_less(asked[visits[key].pk], codes.get(key, ()))]
    for key in found:
        visit = Visit.objects.get(pk=visits[key].pk)
        only = _only(visit, codes.get(key, ()))
        if key in done:
            a.update(visit, state=VisitState.REDO)
            end_span(a, visit)
        a.create(Reopening, visit=visit, cause=causes[key], reason=reason, only=only, at=a.now)
    axle = bench.as_axle
    if found and axle is not None and axle.phase == Phase.BOUGHT_OFF:
        a.update(axle, phase=Phase.FLOOR)
    return found


def ask_of_another(a: Act, bench: Bench, row: Fitted | KitLine, reason: str) -> list[str]:
    """A part leaves, out of the axle or of its kit: what was read on it there, and what was worked out from that, such
    as the interference of a tube and its housing, does not speak of the one that comes in its place."""
    keys = read_on_part(bench.plan, row.role, side_of_fit(row))
    return reopen(a, bench, keys, cause=OTHER_PART, reason=reason) if keys else []


def side_of_fit(row: Fitted | KitLine) -> str:
    """The side of the axle that the part was fitted on, or set aside for; empty where it has none."""
    unit = Unit.objects.filter(pk=row.host_id).first()
    if unit is not None and unit.side:
        return unit.side
    last = row.role.rpartition(" ")[2]
    return last if last in ("left", "right") else ""


def _both(some: list[str] | None, more: list[str] | None) -> list[str]:
    """The codes of two causes that name one slot; none, for all, where one of them names it whole."""
    if some is None or more is None:
        return list((some if more is None else more) or ())
    return sorted({*some, *more}) if some and more else []


def asks_less(asked: Collection[str], codes: Collection[str]) -> bool:
    """Whether the next pass after one that is to redo already asks less than these codes (none: all, of both)."""
    return bool(asked) and (not codes or not set(codes) <= set(asked))


def _only(visit: Visit, codes: Collection[str]) -> list[str]:
    """The codes that the next pass asks: all that the one before it asked where that was not finished, for single ones
    would leave blank what it had not come to."""
    if visit.state in (VisitState.DONE, VisitState.EXCUSED, VisitState.REDO):
        return sorted(codes)
    return sorted({*visit.only, *codes}) if visit.only and codes else []


def _changed_at(plan: BuildPlan, changes: Iterable[str]) -> Iterator[tuple[str, dict[str, list[str]]]]:
    """(cause, what it names) of each row of the card that doing one of these slots again is. What stands before that
    slot is left out: it would have to be done again before the work that it shall look at."""
    for key in changes:
        slot = plan.slot(key)
        for rule in plan.card.invalidates:
            if slot.operation.number in rule.changed_at:
                named = named_by(plan, rule.cause, slot.side)
                yield rule.cause, {other: codes for other, codes in named.items() if other not in plan.before(key)}


def send_back(*, visit: Visit, by: Who, now: datetime | None = None) -> list[str]:
    """End this try because a value sends the work back; the next try begins at the operation the card names.

    Re-opened: this operation, the one it goes back to, what lies between the two on the way, and what the table
    says a change there makes invalid.
    """
    with act("work.sent_back", subject=visit.subject, by=by, now=now) as a:
        visit = Visit.objects.select_related("operation", "item__unit", "axle__item", "axle__revision").get(pk=visit.pk)
        require_hand(by, visit, a.now)
        if visit.state != VisitState.IN_HAND:
            raise NotReady("This try is not in hand.")
        work = work_of(visit)
        sent = [found for found in pending(work) if found.consequence.kind == "back"]
        if not sent:
            raise NotReady("Nothing here sends the work back. Enter what is missing, or press “Something is wrong”.")
        first = min(sent, key=lambda found: found.consequence.back_to or 0)
        target = first.consequence.back_to or visit.operation.number
        reason = f"{first.place.named}: {_begun_with(first.reading.typed)} {first.reading.unit_typed}"
        plan, key, cause = work.bench.plan, work.slot.key, back_cause(first.place.asked.code)
        keys: dict[str, list[str]] = {found: [] for found in keys_back(plan, key, target)}
        found = reopen(a, work.bench, keys, cause=cause, reason=reason, changes=_goals(plan, key, target))
        a.note(to=target, reason=reason, reopened=found)
    return found


def _begun_with(typed: str) -> str:
    """A long text stands whole with its try; the reason of a new one names how it begins."""
    return typed if len(typed) <= LONGEST_WORDS else f"{typed[:LONGEST_WORDS]}…"


def keys_back(plan: BuildPlan, key: str, target: int) -> frozenset[str]:
    """This slot, the target's slot of the same side, those between them, and what the table adds."""
    goals = _goals(plan, key, target)
    between = {other for other in plan.before(key) if any(goal in plan.before(other) for goal in goals)}
    return frozenset({key} | goals | between | set(_table(plan, target, key.partition("/")[2])))


def _goals(plan: BuildPlan, key: str, target: int) -> set[str]:
    """The slots of the operation that the work goes back to: its own slot, else those of the same side."""
    slot = plan.slot(key)
    if target == slot.operation.number:
        return {key}
    return {found.key for found in plan.of_operation(target) if not slot.side or found.side in ("", slot.side)}


def _table(plan: BuildPlan, target: int, side: str) -> Iterable[str]:
    for rule in plan.card.invalidates:
        if target in rule.changed_at:
            yield from plan.made_invalid_by(rule.cause, side)


def require_nobody_at_it(unit: Unit) -> None:
    """Refuse while somebody has a pass of it in hand, or one waits for its second signature."""
    busy = Visit.objects.filter(item=unit.item_id, state__in=(VisitState.IN_HAND, VisitState.WAIT_SIGN))
    visit = busy.select_related("operation", "claimed_by").first()
    if visit is not None:
        raise NotReady(
            f"Operation {visit.operation} of {unit} is {visit.get_state_display()} ({visit.claimed_by.name})."
            " Have it finished, signed or set down first."
        )


def end_what_is_set_down(a: Act, unit: Unit, *, cause: str, reason: str) -> None:
    """What was begun on it and set down is begun again wherever it goes."""
    for visit in Visit.objects.filter(item=unit.item_id, state=VisitState.SET_DOWN):
        a.update(visit, state=VisitState.REDO)
        end_span(a, visit)
        a.create(Reopening, visit=visit, cause=cause, reason=reason.strip(), only=[], at=a.now)
