"""Take a unit out of an axle as a whole. It keeps its identity, its passes, readings, fits and tags; the axle gets a
fresh one in its place, and what depended on the old one is to do again."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from builds.actions.booking import unit_marks
from builds.actions.fitting import LONGEST_NOTE, TAKES_OUT
from builds.actions.kitting import follow_phase
from builds.actions.loose import move
from builds.actions.removing import causes_of
from builds.actions.reopening import (
    LONGEST_REASON,
    end_what_is_set_down,
    reopen,
    reopen_for_cause,
    require_nobody_at_it,
)
from builds.actions.scrapping import GONE, PartTo, part_subjects, send_parts
from builds.actions.tagging import Wrong, open_tag
from builds.errors import Elsewhere, Stopped
from builds.models import Axle, Fitted, KitLine, Parted, Phase, RedTag, Unit, Visit
from builds.reports.kit import kit_state
from builds.reports.units import inside_of, set_aside_for
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, ItemKind, Place, Where
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

#: Where a unit goes; a further one is another axle, which it then joins.
GOES_TO = (Where.STOCK, Where.RED_TAG, Where.SCRAP)
#: What the record calls the cause where the card's table names none for the unit: all that came after it.
CAUSE = "unit_out"


@dataclass(frozen=True)
class UnitOut:
    """Why a unit comes out and where it goes. `parts`: of a scrapped unit, where each part in it goes, by its fit."""

    reason: str
    to: str
    note: str = ""
    parts: Mapping[int, PartTo] = field(default_factory=dict)


def part_unit(*, unit: Unit, out: UnitOut, by: Who, now: datetime | None = None) -> tuple[Parted, list[str]]:
    """The row of its leaving, and the keys of the operations that are to do again."""
    _check(out)
    axle = _axle_of(unit)
    also = (unit.item.subject, *part_subjects(unit))
    with act("unit.parted", subject=axle.subject, also=also, by=by, now=now) as a:
        require_role(by, TAKES_OUT, shop_day(a.now))
        unit = whole(unit.pk)
        axle = _axle_of(unit)
        require_open(axle)
        require_nobody_at_it(unit)
        causes = causes_of_unit(axle, unit)
        if out.to in GONE:
            send_parts(a, unit, out.parts, out.reason)
        row, fresh = leave(a, unit, out)
        found = _reopen(a, axle, row, causes)
        _kit_again(a, axle, unit, fresh)
        if out.to == Where.RED_TAG:
            open_tag(wrong=Wrong(unit.item, out.reason), by=by, now=a.now)
        a.note(unit=unit.item.mark, fresh=fresh.item.mark, to=out.to, reason=out.reason, reopened=found)
    return row, found


def whole(pk: int) -> Unit:
    """The unit as it stands, with its axle."""
    rows = Unit.objects.select_related("item", "revision__model", "axle__item", "axle__revision__model", "axle__line")
    return rows.defer("revision__text", "axle__revision__text").get(pk=pk)


def _check(out: UnitOut) -> None:
    if not out.reason.strip():
        raise Refusal("Say why it comes out.", field="reason")
    if len(out.reason) > LONGEST_REASON:
        raise Refusal(f"The reason is longer than {LONGEST_REASON} characters. Shorten it.", field="reason")
    if out.to not in GOES_TO:
        raise Refusal("Say where it goes: stock, red-tag shelf, scrap bin, or another axle.", field="to")
    if len(out.note) > LONGEST_NOTE:
        raise Refusal(f"The note is longer than {LONGEST_NOTE} characters. Shorten it.", field="note")
    if out.to == Where.STOCK and not out.note.strip():
        raise Refusal("Say what happened to it, such as “used: shimmed, run by hand”.", field="note")


def _axle_of(unit: Unit) -> Axle:
    if unit.axle is None:
        raise Elsewhere(f"{unit} is in no axle: somebody has taken it out already. Look at its own page.")
    return unit.axle


def require_open(axle: Axle) -> None:
    """Refuse where the record is closed, or the axle is scrapped: there is no work that could be done again."""
    if axle.closed_at is not None:
        raise Stopped(f"The record of {axle.serial} is closed. What is exchanged on it since is a service.")
    if axle.scrapped_at is not None:
        raise Stopped(f"{axle.serial} is scrapped. Take what is good out of it part by part.")


def causes_of_unit(axle: Axle, unit: Unit) -> list[str]:
    """Of the card's table: each cause that exchanging what is in the unit is. None where no row names a part of it:
    that something sealed was opened is not all that follows when a hub goes."""
    found = list(dict.fromkeys(cause for row in inside_of(unit) for cause in causes_of(axle, row)))
    named = {rule.cause for rule in axle.revision.card.invalidates if rule.parts}
    return found if named & set(found) else []


def leave(a: Act, unit: Unit, out: UnitOut) -> tuple[Parted, Unit]:
    """The row; the unit with its work goes; a fresh one stands in its place."""
    axle, side = unit.axle, unit.side
    assert axle is not None
    row = _row(a, unit, out)
    end_what_is_set_down(a, unit, cause=CAUSE, reason=out.reason)
    stamp = {} if unit.revision_id else {"revision": axle.revision, "options": axle.options, "built_side": side}
    a.update(unit, axle=None, side="", joined_at=None, **stamp)
    carry(a, unit, None, was=axle)
    move(a, unit.item, Where(out.to))
    place = Place.objects.get(pk=unit.item_id)
    a.update(place, note=out.note.strip())
    return row, _fresh(a, axle, unit.role, side)


def _row(a: Act, unit: Unit, out: UnitOut) -> Parted:
    return a.create(
        Parted,
        unit=unit,
        axle=unit.axle,
        side=unit.side,
        since=unit.joined_at,
        reason=out.reason.strip(),
        to=out.to,
        note=out.note.strip(),
        person=a.by.person,
        at=a.now,
    )


def carry(a: Act, unit: Unit, to: Axle | None, *, was: Axle | None) -> None:
    """Its passes, the parts in it and the red tags on it stand under the axle that it is in."""
    inside = [row for row in Fitted.objects.now().filter(host=unit.item_id) if row.axle_id == (was and was.pk)]
    tags = RedTag.objects.filter(item__in=[unit.item_id, *(row.part_id for row in inside)], axle=was)
    visits = Visit.objects.filter(item=unit.item_id, axle=was)
    a.update_each(*((row, {"axle": to}) for row in visits))
    a.update_each(*((row, {"axle": to}) for row in inside))
    a.update_each(*((row, {"axle": to}) for row in tags))


def _fresh(a: Act, axle: Axle, role: str, side: str) -> Unit:
    item = a.create(Item, kind=ItemKind.UNIT, mark=_next_mark(axle, role, side))
    a.create(Place, item=item, where=Where.FLOOR, since=a.now)
    return a.create(Unit, item=item, role=role, side=side, axle=axle, joined_at=a.now)


def _next_mark(axle: Axle, role: str, side: str) -> str:
    """The mark that was booked, with a running number: 25-0148-C-2 is the second carrier of 0148."""
    places = [(unit.role, one) for unit in axle.revision.card.units for one in unit.sides or ("",)]
    first = unit_marks(axle.serial, places)[places.index((role, side))]
    taken = set(Item.objects.filter(kind=ItemKind.UNIT, mark__startswith=first).values_list("mark", flat=True))
    return next(mark for number in range(2, len(taken) + 3) if (mark := f"{first}-{number}") not in taken)


def _reopen(a: Act, axle: Axle, row: Parted, causes: Collection[str]) -> list[str]:
    """By the card's table; where it names nothing for what is in the unit, all that was done after the unit's work."""
    side, reason, role = row.side, row.reason, row.unit.role
    found: list[str] = []
    for cause in causes:
        found += reopen_for_cause(bench=axle, cause=cause, reason=reason, by=a.by, side=side, now=a.now)
    if not causes:
        plan = axle.plan
        own = {slot.key for slot in plan.slots if (slot.unit, slot.side) == (role, side)}
        found += reopen(a, axle, {key: [] for key in plan.by_key if plan.before(key) & own}, cause=CAUSE, reason=reason)
    if axle.phase == Phase.BOUGHT_OFF:
        a.update(axle, phase=Phase.FLOOR)
    return found


def _kit_again(a: Act, axle: Axle, unit: Unit, fresh: Unit) -> None:
    """What was set aside for it and not fitted is set aside for the fresh one; what is in it has left the kit."""
    for_the_next = {line.pk for line in set_aside_for(unit)}
    for line in KitLine.objects.filter(host=unit.item_id, axle=axle, returned_at=None).select_related("part"):
        a.update(line, returned_at=a.now)
        if line.pk in for_the_next:
            a.create(KitLine, axle=axle, host=fresh.item, role=line.role, part=line.part, kitted_at=a.now)
    follow_phase(a, axle, whole=kit_state(axle).is_whole)
