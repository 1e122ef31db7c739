"""Setting parts aside for one axle, by scan.

A serial part lies in one kit only: its place names the axle. A lot, a drum or a heat serves many axles, so it
is named in the kit and stays where it is.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from builds.actions.choosing import (
    Thing,
    fits,
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
from builds.actions.looked_at import require_heat_looked_at
from builds.actions.reopening import ask_of_another
from builds.actions.standing_in import require_together
from builds.errors import Elsewhere, WrongKind
from builds.models import Axle, KitLine, Phase
from builds.reports.kit import NeedState, kit_state, needs_of
from builds.reports.marks import describe
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, Role, Where
from shop.models.prepared import Prepared, number
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

KITS = (Role.RECEIVER, Role.LEAD_BUILDER)
_AXLE = Prepared(
    lambda: Axle.objects.filter(pk=number("axle")).select_related("item", "revision__model").defer("revision__text")
)


def kit_part(*, axle: Axle, scan: str, by: Who, role: str = "", now: datetime | None = None) -> list[KitLine]:
    """Set the scanned thing aside for the first open need it fits (`role` names another one).

    A lot or a drum is named for every open need of its kind. Race: both the axle and the thing are locked, so
    of two terminals that scan one part in the same second one wins and the other is told where it is.
    """
    item = _meant(axle, scan, role)
    with act("kit.set_aside", subject=axle.subject, also=locked_with(item), by=by, now=now) as a:
        require_role(by, KITS, shop_day(a.now))
        kept = _AXLE.one(axle=axle.pk)
        require_being_built(kept)
        thing, needs = thing_of(item), needs_of(kept)
        _not_here_already(thing, kept)
        require_usable(thing, shop_day(a.now))
        require_at_hand(thing, kept)
        open_needs = _open(needs, role)
        _, need = pick_of([thing], open_needs)
        require_same_set(thing, need, needs)
        require_together(thing, need, needs, kept)
        require_heat_looked_at(thing, need, needs, if_known=True)
        chosen = [need] if thing.has_one_place else [n for n in open_needs if fits(thing, n)]
        lines = [_set_aside(a, kept, one, item) for one in chosen]
        if thing.has_one_place:
            _move(a, thing, Where.KIT, kept.item)
        a.note(part=describe(item), roles=[one.role for one in chosen])
        follow_phase(a, kept, whole=_is_whole(needs, dict(zip(map(id, chosen), lines, strict=True))))
        return lines


def return_part(*, line: KitLine, by: Who, now: datetime | None = None) -> KitLine:
    """Put a part that was set aside back to stock; what is fitted is taken out at its station instead."""
    with act("kit.returned", subject=line.axle.subject, also=(line.part.subject,), by=by, now=now) as a:
        require_role(by, KITS, shop_day(a.now))
        kept = KitLine.objects.select_related("axle__item", "axle__revision__model", "part").get(pk=line.pk)
        if kept.returned_at is not None:
            raise Refusal(f"{kept.part.mark} was already returned on {shop_day(kept.returned_at):%d %b %Y}.")
        thing = thing_of(kept.part)
        if thing.place is not None and thing.place.where == Where.FITTED:
            raise Elsewhere(f"{describe(kept.part)} is fitted by now. It is taken out at its station.")
        out_of_kit(a, kept, thing, Where.STOCK)
        a.note(part=describe(kept.part), role=kept.role)
        return kept


def out_of_kit(a: Act, line: KitLine, thing: Thing, to: Where) -> None:
    """The line is closed, the thing lies where `to` says, and the axle's kit may be short again."""
    a.update(line, returned_at=a.now)
    if thing.has_one_place:
        _move(a, thing, to, None)
        ask_of_another(a, line.axle, line, f"{describe(line.part)} went out of the kit.")
    follow_phase(a, line.axle, whole=kit_state(line.axle).is_whole)


def _meant(axle: Axle, scan: str, role: str) -> Item:
    items = scanned(scan)
    if len(items) == 1:
        return items[0]
    found, _ = pick(items, _open(needs_of(axle), role))
    return found


def _open(needs: list[NeedState], role: str) -> list[NeedState]:
    return [need for need in needs if need.to_kit and role in ("", need.role)]


def _not_here_already(thing: Thing, axle: Axle) -> None:
    if not thing.has_one_place:
        return
    if thing.place is not None and thing.place.where == Where.KIT and thing.place.host_id == axle.pk:
        raise Elsewhere(f"{describe(thing.item)} is already in this kit.", field="scan")


def _set_aside(a: Act, axle: Axle, need: NeedState, item: Item) -> KitLine:
    return a.create(KitLine, axle=axle, host=need.host, role=need.role, part=item, kitted_at=a.now)


def _move(a: Act, thing: Thing, where: Where, host: Item | None) -> None:
    if thing.place is None:
        raise WrongKind(f"{describe(thing.item)} has no place on record. Take it in first.", field="scan")
    a.update(thing.place, where=where, host=host, note="", since=a.now)


def _is_whole(needs: list[NeedState], new: dict[int, KitLine]) -> bool:
    """Whether nothing is short once the new lines are aside. The chain is locked: nobody else sets aside meanwhile."""
    after = (replace(need, aside=(*need.aside, new[id(need)])) if id(need) in new else need for need in needs)
    return not any(need.in_kit and need.to_kit for need in after)


def follow_phase(a: Act, axle: Axle, *, whole: bool) -> None:
    """Booked becomes kitted when the kit is whole, and booked again when something goes back."""
    if axle.phase == Phase.BOOKED and whole:
        a.update(axle, phase=Phase.KITTED)
    elif axle.phase == Phase.KITTED and not whole:
        a.update(axle, phase=Phase.BOOKED)
