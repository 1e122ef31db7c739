"""Parts go into an axle at a visit, by scan, and come out again with a reason. Both are kept for ever."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from builds.actions.advising import advise_on_part
from builds.actions.choosing import (
    Thing,
    locked_with,
    pick,
    pick_of,
    require_at_hand,
    require_being_built,
    require_same_set,
    require_usable,
    scanned,
    thing_of,
)
from builds.actions.counting import require_left, require_was_here
from builds.actions.looked_at import require_heat_looked_at
from builds.actions.sawing import require_long_enough
from builds.actions.standing_in import partners, require_together
from builds.definitions.card import Need
from builds.definitions.plan import Slot
from builds.definitions.words import HoldKind, Tracking
from builds.errors import Elsewhere, Stopped, WrongKind
from builds.models import Bench, Fitted, KitLine, Removal, Visit, VisitState
from builds.permissions import require_hand
from builds.reports.beside import Beside
from builds.reports.kit import NeedState, is_used_up, needs_of, shown, slot_of
from builds.reports.marks import describe
from builds.reports.pending import stopping_tag
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, ItemKind, Person, Piece, Place, Role, Where
from shop.models.prepared import Prepared, number
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

TAKES_OUT = (
    Role.TUBE_PREP,
    Role.WELDER,
    Role.ASSEMBLER,
    Role.HUB_BENCH,
    Role.LEAD_BUILDER,
    Role.INSPECTOR,
    Role.ENGINEER,
)
GOES_TO = (Where.STOCK, Where.QUARANTINE, Where.RED_TAG, Where.SCRAP, Where.SUPPLIER)
LONGEST_OWN_MARK = 14
LONGEST_REASON = 300
LONGEST_NOTE = 120
_WITH_VISIT = ("visit__operation", "visit__item__unit", "visit__axle__item", "visit__axle__revision__model")
_VISIT = Prepared(
    lambda: (
        Visit.objects.filter(pk=number("visit"))
        .select_related("operation", "item__unit", "axle__item", "axle__revision__model")
        .defer("axle__revision__text")
    )
)


def fit_part(
    *,
    visit: Visit,
    scan: str,
    by: Who,
    role: str = "",
    quantity: Decimal | None = None,
    now: datetime | None = None,
) -> Fitted:
    """Fit the scanned thing in the need of this operation that it was set aside for, or the first it fits.

    Race: the axle and the thing are both locked. A bar gives a new piece that keeps the bar's heat. A lot
    or a drum fills the whole need unless `quantity` says how many of it.
    """
    item = _meant(visit, scan, role)
    with act("part.fitted", subject=visit.subject, also=locked_with(item), by=by, now=now) as a:
        kept = _VISIT.one(visit=visit.pk)
        require_hand(by, kept, a.now)
        bench, slot = kept.bench, slot_of(kept)
        if kept.axle is not None:
            require_being_built(kept.axle)
        _in_hand(kept)
        _not_stopped(Beside(kept, bench, slot))
        thing = thing_of(item)
        needs = needs_of(bench, _concerned(bench, slot, thing))
        here = [_anew(need, kept) for need in needs if need.slot.key == slot.key]
        require_usable(thing, shop_day(a.now), held_too=_looks_at_heats(slot))
        require_at_hand(thing, bench)
        need = _need(thing, here, needs, role)
        _is_the_one_set_aside(thing, need)
        require_same_set(thing, need, needs)
        require_together(thing, need, needs, bench)
        require_heat_looked_at(thing, need, needs)
        count = _count(need, thing, quantity)
        require_was_here(thing, kept)
        require_left(thing, count)
        if thing.is_bar and thing.piece is not None:
            require_long_enough(thing.piece, slot, need)
        part = _cut(a, thing, need.host) if thing.is_bar else item
        row = a.create(
            Fitted,
            host=need.host,
            part=part,
            axle=kept.axle,
            role=need.role,
            quantity=count,
            visit=kept,
            person=_person(by),
            at=a.now,
        )
        if thing.has_one_place:
            _into(a, thing, need.host)
        advise_on_part(a, kept, need.planned.need.role)
        a.note(part=describe(part), host=need.host.mark, role=need.role, quantity=shown(count))
        return row


def take_out(
    *,
    fitted: Fitted,
    reason: str,
    to: str,
    by: Who,
    note: str = "",
    now: datetime | None = None,
    roles: Collection[Role] = TAKES_OUT,
) -> Removal:
    """Take a fitted part out again; where it was stays on record. What that re-opens is the caller's step. `roles`: who
    may."""
    if not reason.strip():
        raise Refusal("Say why it comes out.", field="reason")
    for name, text, most in (("reason", reason, LONGEST_REASON), ("note", note, LONGEST_NOTE)):
        if len(text) > most:
            raise Refusal(f"The {name} is longer than {most} characters. Shorten it.", field=name)
    if to not in GOES_TO:
        raise Refusal("Say where it goes: stock, quarantine, red-tag shelf, scrap bin or supplier.", field="to")
    axle = fitted.axle
    subject = axle.subject if axle is not None else fitted.host.subject
    with act("part.taken_out", subject=subject, also=locked_with(fitted.part), by=by, now=now) as a:
        require_role(by, roles, shop_day(a.now))
        kept = Fitted.objects.select_related("part", "host", "axle__item", *_WITH_VISIT).get(pk=fitted.pk)
        if Removal.objects.filter(fitted=kept).exists():
            raise Refusal(f"{describe(kept.part)} was already taken out of {kept.host.mark}.")
        row = a.create(
            Removal,
            fitted=kept,
            reason=reason.strip(),
            to=to,
            note=note.strip(),
            person=_person(by),
            at=a.now,
            after_closing=kept.axle is not None and kept.axle.closed_at is not None,
        )
        place = Place.objects.filter(pk=kept.part_id, where=Where.FITTED).first()
        if place is not None:
            a.update(place, where=to, host=None, note=note.strip(), since=a.now)
            for line in KitLine.objects.filter(axle=kept.axle, part=kept.part, returned_at=None):
                a.update(line, returned_at=a.now)
        if kept.visit is not None and kept.visit.state == VisitState.IN_HAND:
            advise_on_part(a, kept.visit, kept.role)
        a.note(part=describe(kept.part), host=kept.host.mark, role=kept.role, to=to, reason=row.reason)
        return row


def _person(by: Who) -> Person:
    if by.person is None:
        raise Refusal("Nobody is signed in. Scan a badge first.")
    return by.person


def _concerned(bench: Bench, slot: Slot, thing: Thing) -> list[Slot]:
    """This operation, every other one that takes such a thing, those of the sets whose parts belong together, and those
    where steel is looked at or cut by a look."""
    kind = thing.kind.code if thing.kind is not None else ""
    mates = partners(bench, kind)
    own = {planned.need.role for planned in slot.needs}
    looks = {planned.need.heat_from for planned in slot.needs} - {""}
    return [
        other
        for other in bench.plan.slots
        if other.key == slot.key
        or any(planned.takes(kind) or _belongs(planned.need, mates, looks, own) for planned in other.needs)
    ]


def _belongs(need: Need, mates: Collection[str], looks: Collection[str], own: Collection[str]) -> bool:
    return bool(need.matched_set) or need.part_kind in mates or need.role in looks or need.heat_from in own


def _looks_at_heats(slot: Slot) -> bool:
    hold = slot.operation.hold
    return hold is not None and hold.kind is HoldKind.FIRST_HEAT


def _not_stopped(beside: Beside) -> None:
    if tag := stopping_tag(beside):
        raise Stopped(f"Stopped by red tag {tag.number}: {tag.cause} No part goes in until it is decided.")


def _in_hand(visit: Visit) -> None:
    if visit.state != VisitState.IN_HAND:
        raise Refusal(f"Operation {visit.operation} is {visit.get_state_display()}. Take it up before fitting parts.")


def _meant(visit: Visit, scan: str, role: str) -> Item:
    items = scanned(scan)
    if len(items) == 1:
        return items[0]
    here = [_anew(need, visit) for need in needs_of(visit.bench, [slot_of(visit)])]
    needs = [need for need in here if need.to_fit and role in ("", need.role)]
    found, _ = pick(items, needs)
    return found


def _anew(need: NeedState, visit: Visit) -> NeedState:
    """A further pass of a weld may scan its wire and gas anew: the arc of a repair can be of another spool."""
    here = any(row.visit_id == visit.pk for row in need.fitted)
    return replace(need, fitted=()) if is_used_up(need.slot, need.tracking) and not here else need


def _need(thing: Thing, here: Sequence[NeedState], needs: Sequence[NeedState], role: str) -> NeedState:
    """The need it was set aside for, else the first open one of this operation that it fits."""
    aside = [need for need in needs if any(line.part_id == thing.item.pk for line in need.aside)]
    if thing.has_one_place and aside:
        need = aside[0]
        if need not in here or (role and role != need.role):
            raise WrongKind(
                f"{describe(thing.item)} is set aside as {need.label}, for operation"
                f" {need.slot.operation.number}. Fit it there, or return it to stock first.",
                field="scan",
            )
        return need
    openings = [need for need in here if need.to_fit and role in ("", need.role)]
    _, need = pick_of([thing], openings)
    return need


def _is_the_one_set_aside(thing: Thing, need: NeedState) -> None:
    if not thing.has_one_place or not need.aside or len(need.aside) < need.to_fit:
        return
    if all(line.part_id != thing.item.pk for line in need.aside):
        names = ", ".join(describe(line.part) for line in need.aside)
        raise Elsewhere(
            f"For this {names} is set aside. Scan it, or return it to stock before another one goes in.",
            field="scan",
        )


def _count(need: NeedState, thing: Thing, quantity: Decimal | None) -> Decimal:
    """A part or a piece is one; of a lot or a drum it is what was said, at most what is still to fit."""
    if thing.has_one_place or thing.is_bar:
        return Decimal(1)
    if quantity is None:
        return need.to_fit
    if not 0 < quantity <= need.to_fit:
        raise Refusal(
            f"{need.kind_name}: {shown(need.to_fit)} of {need.amount} are to fit, not {shown(quantity)}.",
            field="quantity",
        )
    if need.tracking != Tracking.BULK and quantity != quantity.to_integral_value():
        raise Refusal(f"{need.kind_name} is counted in whole parts.", field="quantity")
    return quantity


def _into(a: Act, thing: Thing, host: Item) -> None:
    if thing.place is None:
        raise WrongKind(f"{describe(thing.item)} has no place on record. Take it in first.", field="scan")
    a.update(thing.place, where=Where.FITTED, host=host, note="", since=a.now)


def _cut(a: Act, bar: Thing, host: Item) -> Item:
    """A piece cut from the bar, with a mark of its own. It keeps the heat; its length is read later."""
    assert bar.piece is not None
    new = Item(kind=ItemKind.PIECE, sort=bar.item.sort, mark=_piece_mark(bar.piece))
    with act("piece.cut", subject=new.subject, by=a.by) as own:
        item = own.create(Item, kind=new.kind, sort=new.sort, mark=new.mark)
        own.create(Piece, item=item, kind=bar.piece.kind, heat=bar.piece.heat, parent=bar.piece)
        own.create(Place, item=item, where=Where.FITTED, host=host, since=own.now)
        own.note(bar=bar.item.mark, heat=bar.heat.item.mark if bar.heat else "not determinable")
    return item


def _piece_mark(bar: Piece) -> str:
    """The bar's mark and a running number; where that gets too long to type, the number alone says which."""
    count = bar.cut.count() + 1
    mark = f"{bar.item.mark}-{count}"
    return mark if len(mark) <= LONGEST_OWN_MARK else f"C{bar.pk}-{count}"
