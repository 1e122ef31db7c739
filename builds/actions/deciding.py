"""Decide about a red tag: use as is, rework, repair, scrap, return. The decision is signed and never changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Max, Q

from builds.actions.loose import move, settle_loose
from builds.actions.removing import Out, remove_part
from builds.actions.reopening import reopen, reopen_for_cause, require_cause
from builds.errors import MovedOn, NotYours
from builds.models import (
    Bench,
    Concession,
    Decision,
    Disposition,
    Fitted,
    JudgedAgain,
    LapsedVisit,
    Operation,
    Phase,
    RedTag,
    Unit,
    Visit,
    of_bench,
)
from builds.permissions import holds_one_of, role_words
from builds.reports.beside import conceded_word
from builds.reports.deciders import closed_to, deciders, needs_agreement, rejected_part
from builds.reports.facts import standing
from builds.reports.units import inside_of, unit_alone
from measurements.models import Reading
from shop import entries
from shop.actions.signing import Grant, signature
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Where
from shop.record.act import Act, act
from shop.record.models import Signature
from shop.record.who import Who

CONCESSIONS = "counter:concessions"
LONGEST_REASON = 300  # a re-opened pass and a part taken out carry it too
LONGEST_SCOPE = 400


@dataclass(frozen=True)
class Agreement:
    """The customer's yes: who, on which day, and how it was given."""

    name: str
    on: date
    how: str

    def require_day(self, *, known_on: date, today: date) -> None:
        """Refuse a day still to come, and one before what is agreed to was known: a yes to what nobody had read yet is
        no agreement. On the same day it may be; of the agreement the day alone is known."""
        if entries.day(self.on, "day of the agreement", field="agreed_on") > today:
            raise Refusal("The day of the agreement is still to come.", field="agreed_on")
        if self.on < known_on:
            raise Refusal(
                f"What is agreed to was known on {known_on:%d %b %Y}; nobody can have agreed to it on"
                f" {self.on:%d %b %Y}. Enter the day of an agreement to this very value.",
                field="agreed_on",
            )


@dataclass(frozen=True)
class Decided:
    """A decision and what it needs. `cause`: the change that rework or repair makes (a cause of the card's table);
    `welded_at`: the slot at which it is welded anew; `part`: the fitted part that is scrapped or returned;
    `whole_axle`: the axle itself is scrapped."""

    decision: str
    reason: str
    scope: str = ""
    agreement: Agreement | None = None
    cause: str = ""
    welded_at: str = ""
    part: Fitted | None = None
    whole_axle: bool = False


def decide(*, tag: RedTag, decided: Decided, grant: Grant, by: Who, now: datetime | None = None) -> Disposition:
    """Close a red tag with a signed decision, and carry the decision out."""
    subject = tag.axle.subject if tag.axle is not None else tag.item.subject
    with act("tag.decided", subject=subject, by=by, now=now, also=(CONCESSIONS,)) as a:
        tag = RedTag.objects.select_related(
            "axle__item", "axle__line", "item", "operation", "reading__characteristic"
        ).get(pk=tag.pk)
        if Disposition.objects.filter(tag=tag).exists():
            raise MovedOn(f"Red tag {tag.number} has been decided already. Look at the page again.")
        _may_decide(tag, decided, by, a.now)
        disposition = a.create(
            Disposition,
            tag=tag,
            decision=decided.decision,
            reason=" ".join(decided.reason.split()),
            signature=signature(a, grant, Signature.Meaning.RELEASED),
            at=a.now,
            after_closing=tag.axle is not None and tag.axle.closed_at is not None,
        )
        _carry_out(a, tag, disposition, decided)
        a.note(number=tag.number, decision=decided.decision, reason=decided.reason)
    return disposition


def _may_decide(tag: RedTag, decided: Decided, by: Who, now: datetime) -> None:
    if decided.decision not in Decision.values:
        raise Refusal("Choose a decision: use as is, rework, repair, scrap, or return.", field="decision")
    if not decided.reason.strip():
        raise Refusal("Say why. A decision without a reason helps nobody in a year.", field="reason")
    if len(decided.reason) > LONGEST_REASON:
        raise Refusal(f"The reason is longer than {LONGEST_REASON} characters. Shorten it.", field="reason")
    if len(decided.scope) > LONGEST_SCOPE:
        raise Refusal(f"The scope is longer than {LONGEST_SCOPE} characters. Shorten it.", field="scope")
    person = by.person
    roles = deciders(tag)
    if person is None or not holds_one_of(person, roles, now):
        name = person.name if person is not None else "nobody"
        raise NotYours(f"Red tag {tag.number} is decided by {role_words(roles)}; {name} does not hold that role.")
    own = LapsedVisit.objects.filter(look_back__at=tag.opened_at, look_back__person=person)
    if own.filter(Q(visit__item=tag.item) if tag.axle is None else Q(visit__axle=tag.axle)).exists():
        raise NotYours(f"Red tag {tag.number} lies on work of {person.name}. Somebody else decides about it.")
    role = rejected_part(tag)
    if closed := closed_to(tag, role).get(decided.decision):
        raise Refusal(closed, field="decision")
    if role and not decided.whole_axle and (decided.part is None or decided.part.role != role):
        raise Refusal(f"The {role.replace('_', ' ')} is rejected. Choose it as the part that comes out.", field="part")
    _class_s_agreed(tag, decided)


def _class_s_agreed(tag: RedTag, decided: Decided) -> None:
    if decided.decision != Decision.USE_AS_IS or not needs_agreement(tag):
        return
    agreed = decided.agreement
    if agreed is None or not agreed.name.strip() or not agreed.how.strip():
        raise Refusal(
            "This is a safety characteristic. Use as is needs the customer's agreement: who agreed, on which day, and"
            " how (letter, message, call).",
            field="agreed_by",
        )


def _carry_out(a: Act, tag: RedTag, disposition: Disposition, decided: Decided) -> None:
    bench = tag.axle if tag.axle is not None else unit_alone(tag.item)
    if bench is None:
        settle_loose(a, tag.item, decided.decision)
    elif decided.decision == Decision.USE_AS_IS:
        if tag.reading is not None:
            _concede(a, tag, tag.reading, disposition, decided)
    elif decided.decision in (Decision.REWORK, Decision.REPAIR):
        _again(a, tag, bench, decided)
    elif decided.whole_axle:
        _scrap_axle(a, tag, decided)
    elif decided.part is not None:
        _part_out(a, tag, decided.part, bench, decided)
    elif tag.axle is not None:
        raise Refusal("Say what is scrapped or returned: a fitted part, or the whole axle.", field="part")
    else:
        _whole_unit_out(a, tag, bench, decided)
    if tag.axle is None and bench is not None and decided.part is None:
        settle_loose(a, tag.item, decided.decision)


def _whole_unit_out(a: Act, tag: RedTag, bench: Bench, decided: Decided) -> None:
    """A unit in no axle that goes as a whole is asked for every part in it, on its own page; what was begun ends."""
    unit = Unit.objects.select_related("item").get(pk=tag.item_id)
    if inside_of(unit):
        raise Refusal(
            f"There are parts in {unit}. Say which one comes out; or scrap the unit on its own page, where each part is"
            " asked for, and decide here then.",
            field="part",
        )
    reopen(a, bench, _open_keys(bench, a.now), cause="scrapped", reason=decided.reason)


def _open_keys(bench: Bench, now: datetime) -> dict[str, list[str]]:
    """Every pass that is not done yet."""
    slots = standing(bench, now).slots
    return {key: [] for key, view in slots.items() if view.visit is not None and not view.finished}


def _concede(a: Act, tag: RedTag, reading: Reading, disposition: Disposition, decided: Decided) -> None:
    agreed = decided.agreement
    if agreed is not None:
        agreed.require_day(known_on=_known_on(reading), today=shop_day(a.now))
    number = (Concession.objects.aggregate(last=Max("number"))["last"] or 0) + 1
    a.create(
        Concession,
        number=number,
        disposition=disposition,
        item=reading.item,
        characteristic=reading.characteristic,
        position=reading.position,
        value=_known(reading),
        word=conceded_word(reading),
        scope=decided.scope or f"This one value on {tag.item.mark}.",
        agreed_by=agreed.name if agreed else "",
        agreed_on=agreed.on if agreed else None,
        agreed_how=agreed.how if agreed else "",
    )
    a.note(concession=number)


def _known(reading: Reading) -> Decimal | None:
    """The value that is conceded: put right, where the gauge that read it was found off since."""
    again = _put_right(reading)
    return reading.value if again is None else again.value


def _known_on(reading: Reading) -> date:
    """The day on which the value that is conceded was known: read, or found by the calibration that put it right."""
    again = _put_right(reading)
    return shop_day(reading.happened_at) if again is None else again.look_back.found.made_on


def _put_right(reading: Reading) -> JudgedAgain | None:
    rows = JudgedAgain.objects.filter(reading=reading).exclude(value=None)
    return rows.select_related("look_back__found").order_by("-pk").first()


def _again(a: Act, tag: RedTag, bench: Bench, decided: Decided) -> None:
    """Re-open the operation the tag lies on, and exactly what the table says the change makes invalid."""
    if bench.closed_at is not None:
        raise Refusal(f"The record of {bench.serial} is closed; its operations cannot be opened again.")
    if decided.cause:
        require_cause(bench, decided.cause)
    side = _side(tag)
    keys = _keys_of(bench, tag.operation, side) if tag.operation is not None else []
    keys += _welded_again(bench, tag, decided)
    cause = decided.cause or decided.decision
    reopen(a, bench, {key: [] for key in keys}, cause=cause, reason=decided.reason, changes=keys)
    if decided.cause:
        reopen_for_cause(bench=bench, cause=decided.cause, reason=decided.reason, by=a.by, side=side, now=a.now)


def _welded_again(bench: Bench, tag: RedTag, decided: Decided) -> list[str]:
    """The slot at which a repair is welded. Without it no arc of the repair would be on record, with its welder, its
    procedure and its end, and the wait for the cold look would not count from it."""
    if decided.welded_at:
        slot = bench.plan.by_key.get(decided.welded_at)
        number = slot.operation.number if slot is not None and slot.welds else 0
        if not Visit.objects.filter(of_bench(bench), operation__number=number).exists():
            raise Refusal("Nothing was welded there. Choose where it is welded again from the list.", field="welded_at")
        return [decided.welded_at]
    rules = [rule for rule in bench.card_revision.card.invalidates if rule.cause == decided.cause]
    numbers = [number for rule in rules for number in rule.changed_at]
    welds = [number for number in numbers if any(slot.welds for slot in bench.plan.of_operation(number))]
    if welds and (tag.operation is None or tag.operation.number not in welds):
        named = " or ".join(map(str, welds))
        raise Refusal(
            f"A weld is repaired: say at which operation it is welded again ({named}), so that the arc has its own"
            " record and the looks after it are done again.",
            field="welded_at",
        )
    return []


def _keys_of(bench: Bench, operation: Operation, side: str) -> list[str]:
    slots = bench.plan.of_operation(operation.number)
    return [slot.key for slot in slots if bench.as_axle is None or slot.side in ("", side)]


def _part_out(a: Act, tag: RedTag, part: Fitted, bench: Bench, decided: Decided) -> None:
    """Take the part out; what depended on it re-opens by the table."""
    if bench.pk not in (part.axle_id, None if part.axle_id else part.host_id):
        raise Refusal(f"That part is not in {bench.serial}.", field="part")
    to = Where.SCRAP if decided.decision == Decision.SCRAP else Where.SUPPLIER
    remove_part(fitted=part, out=Out(decided.reason, to), by=a.by, now=a.now)
    side = _side(tag)
    if tag.operation is not None and bench.closed_at is None:  # a closed record re-opens nothing
        keys = _keys_of(bench, tag.operation, side)
        reopen(a, bench, {key: [] for key in keys}, cause=decided.decision, reason=decided.reason, changes=keys)


def _scrap_axle(a: Act, tag: RedTag, decided: Decided) -> None:
    """The axle leaves the build; its place on the order line is free for a new serial."""
    axle = tag.axle
    if axle is None or decided.decision != Decision.SCRAP:
        raise Refusal("Only an axle on the floor can be scrapped whole.", field="whole_axle")
    if axle.phase in (Phase.GONE, Phase.BACK):
        raise Refusal(f"{axle.serial} has left. A shipped axle comes back as a return.")
    if axle.closed_at is None:  # a closed record re-opens nothing; that the axle was scrapped stands beside it
        reopen(a, axle, _open_keys(axle, a.now), cause="scrapped", reason=decided.reason)
    a.update(axle, phase=Phase.RETIRED, scrapped_at=a.now)
    move(a, axle.item, Where.SCRAP)
    for unit in Unit.objects.filter(axle=axle).select_related("item"):
        move(a, unit.item, Where.SCRAP)


def _side(tag: RedTag) -> str:
    unit = Unit.objects.filter(pk=tag.item_id).first()
    if unit is not None:
        return unit.side
    first = tag.reading.position.partition(" ")[0] if tag.reading is not None else ""
    return first if first in ("left", "right") else ""
