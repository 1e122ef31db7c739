"""After an axle has left: parts and units exchanged by serial. The frozen record stays as it is; every row is marked as
written after closing, so that what was fitted as it left and what is in it now stand beside each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Q

from builds.actions.choosing import (
    Thing,
    locked_with,
    require_at_hand,
    require_same_set,
    require_usable,
    scanned,
    thing_of,
)
from builds.actions.counting import require_left
from builds.actions.fitting import LONGEST_NOTE, TAKES_OUT, take_out
from builds.actions.joining import named_with, require_in_stock, require_same_sets
from builds.actions.loose import move
from builds.actions.parting import whole
from builds.actions.reopening import LONGEST_REASON
from builds.actions.standing_in import require_together
from builds.definitions.unit_plan import slots_of_unit
from builds.errors import Elsewhere, NotFree, NotReady, WrongKind
from builds.models import Axle, Fitted, Joined, Parted, Phase, Unit, Visit, VisitState
from builds.reports.agreed import to_agree
from builds.reports.interchange import Answer, may_join
from builds.reports.kit import NeedState, needs_of
from builds.reports.marks import describe, find_items
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, ItemKind, Place, Role, Where
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

SERVES = (*TAKES_OUT, Role.OFFICE, Role.QUALITY)
GOES_TO = (Where.STOCK, Where.QUARANTINE, Where.RED_TAG, Where.SCRAP, Where.SUPPLIER)


@dataclass(frozen=True)
class Swap:
    """One part out, the scanned one in; or one unit out, the scanned one in."""

    old: Fitted | Unit
    scan: str
    to: str
    note: str = ""

    @property
    def old_item(self) -> Item:
        return self.old.item if isinstance(self.old, Unit) else self.old.part


def exchange(*, axle: Axle, swaps: Sequence[Swap], reason: str, by: Who, now: datetime | None = None) -> list[Item]:
    """Everything in one act, so that a matched set goes together. Returns what went in.

    Race: the axle, what comes out and what goes in are locked; what is fetched elsewhere in the same second goes into
    one place only.
    """
    _check(swaps, reason)
    new = [_meant(swap) for swap in swaps]
    also = _locked([*(swap.old_item for swap in swaps), *new])
    with act("axle.serviced", subject=axle.subject, also=also, by=by, now=now) as a:
        require_role(by, SERVES, shop_day(a.now))
        axle = Axle.objects.select_related("item", "revision__model", "line").get(pk=axle.pk)
        _require_left(axle)
        roles = [_out(a, axle, swap, reason) for swap in swaps]
        for swap, item, role in zip(swaps, new, roles, strict=True):
            if isinstance(swap.old, Unit):
                _unit_in(a, axle, swap.old, item, role, reason)
            else:
                part_in(a, axle, swap.old, item)
        a.note(out=[swap.old_item.mark for swap in swaps], into=[item.mark for item in new], reason=reason.strip())
    return new


def _locked(items: Sequence[Item]) -> tuple[str, ...]:
    """The chains of what is in one place only. Raises Refusal where one such thing stands twice."""
    single = [item.subject for item in items if item.kind == ItemKind.UNIT or locked_with(item)]
    if len(set(single)) < len(single):
        raise Refusal("One thing stands there twice. Each place gives one and gets another.", field="scan")
    return tuple(single)


def _check(swaps: Sequence[Swap], reason: str) -> None:
    if not swaps:
        raise Refusal("Say what comes out.", field="old")
    if not reason.strip():
        raise Refusal("Say why it is exchanged.", field="reason")
    if len(reason) > LONGEST_REASON:
        raise Refusal(f"The reason is longer than {LONGEST_REASON} characters. Shorten it.", field="reason")
    for swap in swaps:
        if swap.to not in GOES_TO:
            raise Refusal(
                "Say where the old one goes: stock, quarantine, red-tag shelf, scrap or supplier.", field="to"
            )
        if len(swap.note) > LONGEST_NOTE:
            raise Refusal(f"The note is longer than {LONGEST_NOTE} characters. Shorten it.", field="note")
        if swap.to == Where.STOCK and not swap.note.strip():
            raise Refusal("Say what happened to the old one before it goes to stock.", field="note")


def _meant(swap: Swap) -> Item:
    """What was scanned for it: a unit for a unit, else the one that is of a kind that may stand there."""
    if isinstance(swap.old, Unit):
        units = find_items(swap.scan, kinds=(ItemKind.UNIT,))
        if len(units) != 1:
            raise WrongKind(f"No unit is called {swap.scan.strip()[:40]}. Scan its tag again.", field="scan")
        return units[0]
    return meant_for(swap.old.part, swap.scan)


def meant_for(old: Item, scan: str) -> Item:
    """The part, lot or drum that was scanned for the place of another: the one of the same sort, or the only one."""
    items = [item for item in scanned(scan) if item.kind in (ItemKind.PART, ItemKind.LOT, ItemKind.DRUM)]
    alike = [item for item in items if item.sort == old.sort]
    if len(alike) == 1 or len(items) == 1:
        return (alike or items)[0]
    names = " or ".join(describe(item) for item in items[:4]) or f"“{scan.strip()[:40]}”"
    raise WrongKind(
        f"{names} cannot be told to be a part for it. Scan our own label, or type maker/mark.", field="scan"
    )


def _require_left(axle: Axle) -> None:
    if axle.phase not in (Phase.GONE, Phase.BACK):
        raise NotReady(
            f"{axle.serial} has not left: it is {axle.get_phase_display()}. What is changed on it before it leaves is"
            " taken out and fitted on its file, and its certificate must say so."
        )


def _out(a: Act, axle: Axle, swap: Swap, reason: str) -> str:
    """The old one out; its role and side as words for what goes in."""
    if isinstance(swap.old, Fitted):
        if not _is_in(axle, swap.old):
            raise Elsewhere(f"{describe(swap.old.part)} is not in {axle.serial}. Look at the page again.", field="old")
        take_out(fitted=swap.old, reason=reason, to=swap.to, note=swap.note, by=a.by, now=a.now, roles=SERVES)
        return swap.old.role
    unit = whole(swap.old.pk)
    if unit.axle_id != axle.pk:
        raise Elsewhere(f"{unit} is not in {axle.serial}. Look at the page again.", field="old")
    side = unit.side
    a.create(
        Parted,
        unit=unit,
        axle=axle,
        side=side,
        since=unit.joined_at,
        reason=reason.strip(),
        to=swap.to,
        note=swap.note.strip(),
        person=a.by.person,
        at=a.now,
        after_closing=True,
    )
    stamp = {} if unit.revision_id else {"revision": axle.revision, "options": axle.options, "built_side": side}
    a.update(unit, axle=None, joined_at=None, **stamp)  # its passes stay in the closed record, and so does their side
    move(a, unit.item, Where(swap.to))
    a.update(Place.objects.get(pk=unit.item_id), note=swap.note.strip())
    return side


def _is_in(axle: Axle, row: Fitted) -> bool:
    return row.host_id == axle.pk or Unit.objects.filter(pk=row.host_id, axle=axle).exists()


def part_in(a: Act, axle: Axle, old: Fitted, item: Item) -> Fitted:
    """The new one into the old one's place, as a row after closing. Refuses what the card would not take there."""
    thing, needs = thing_of(item), needs_of(axle)
    need = _need_of(old, needs)
    if thing.kind is None or not need.planned.takes(thing.kind.code):
        raise WrongKind(
            f"{describe(item)} is no {need.kind_name}, and no interchange rule of {axle.revision} takes it for one.",
            field="scan",
        )
    require_usable(thing, shop_day(a.now))
    require_at_hand(thing, axle)
    require_same_set(thing, need, needs)
    require_together(thing, need, needs, axle)
    count = Decimal(1) if old.quantity is None else old.quantity
    require_left(thing, count)
    row = a.create(
        Fitted,
        host=old.host,
        part=item,
        axle=axle,
        role=old.role,
        quantity=count,
        person=a.by.person,
        at=a.now,
        after_closing=True,
    )
    _placed(a, thing, old.host)
    return row


def _placed(a: Act, thing: Thing, host: Item) -> None:
    if thing.has_one_place:
        if thing.place is None:
            raise WrongKind(f"{describe(thing.item)} has no place on record. Take it in first.", field="scan")
        a.update(thing.place, where=Where.FITTED, host=host, note="", since=a.now)


def _need_of(old: Fitted, needs: Sequence[NeedState]) -> NeedState:
    found = [need for need in needs if need.role == old.role and need.host.pk == old.host_id]
    if not found:
        raise Refusal(f"The card asks for nothing as {old.role} there, so nothing is exchanged.", field="old")
    return found[0]


def _unit_in(a: Act, axle: Axle, old: Unit, item: Item, side: str, reason: str) -> Joined:
    unit = whole(item.pk)
    if unit.role != old.role:
        raise WrongKind(f"{unit} is a {unit.words}; {old} is a {old.words}.", field="scan")
    require_in_stock(unit)
    answer = may_join(unit, axle, side)
    if answer.why_not:
        raise WrongKind(answer.why_not, field="scan")
    _require_done(unit, axle, answer)
    _require_read_nowhere_else(unit, axle, side)
    require_same_sets(unit, axle)
    _require_agreed(unit, axle)
    a.update(unit, axle=axle, side=side, joined_at=a.now)
    move(a, unit.item, Where.FLOOR)
    a.update(Place.objects.get(pk=unit.item_id), note="")
    return a.create(
        Joined,
        unit=unit,
        axle=axle,
        side=side,
        instead_of=old,
        reason=reason.strip(),
        rule=answer.rule,
        person=a.by.person,
        at=a.now,
        after_closing=True,
    )


def _require_agreed(unit: Unit, axle: Axle) -> None:
    """What another customer let pass is not brought to this one unasked; nobody is asked once the axle has left."""
    under = Q(disposition__tag__axle=None, disposition__tag__item=unit.item_id)
    for row in to_agree(under, axle.line.order.customer_id):
        raise NotFree(
            f"{unit} holds a safety value that is out of limit (concession {row.number}), and the customer of"
            f" {axle.serial} has not agreed to it. Choose another one.",
            field="scan",
        )


def _require_done(unit: Unit, axle: Axle, answer: Answer) -> None:
    """Out there nobody works on it any more: all that is asked of it must be done, and signed."""
    done = Visit.objects.filter(item=unit.item_id, state__in=(VisitState.DONE, VisitState.EXCUSED))
    asked = {slot.operation.number for slot in axle.plan.slots if slot.unit == unit.role and slot.operation.closing}
    missing = sorted((asked - set(done.values_list("operation__number", flat=True))) | (asked & set(answer.redo)))
    if missing:
        words = ", ".join(str(number) for number in missing)
        raise NotReady(f"{unit} is not finished: operation {words} is still to do on it.")


def _require_read_nowhere_else(unit: Unit, axle: Axle, side: str) -> None:
    """What would be done again on it where it joins, such as a preload, is done by nobody out there."""
    named = {key for keys in named_with(axle, unit, side).values() for key in keys}
    own = [slot.operation.number for slot in slots_of_unit(axle.plan, unit.role, side) if slot.key in named]
    if own:
        raise NotReady(
            f"Operation {', '.join(map(str, own))} of {unit} is read in its axle, and out there nobody does it."
            " Exchange its parts one by one.",
            field="scan",
        )
