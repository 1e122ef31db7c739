"""Units that are built by themselves: begun for stock before there is an axle for them, put in stock when their own
operations are done, fetched back to the bench when something of it is to do again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from builds.actions.booking import LONGEST_UNIT_MARK, shortened
from builds.actions.claiming import require_in_hand
from builds.actions.fitting import LONGEST_NOTE, TAKES_OUT
from builds.actions.loose import move
from builds.actions.parting import whole
from builds.definitions.card import UnitRole
from builds.definitions.unit_plan import buildable, hands_alike
from builds.errors import CannotBeBuilt, Elsewhere, NotFree, NotReady
from builds.models import Revision, RevisionState, Unit, Visit
from builds.reports.facts import standing
from builds.reports.units import place_words, tagged_in
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, ItemKind, Place, Role, Where
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

BEGINS = (Role.LEAD_BUILDER, Role.MANAGER, Role.ENGINEER, Role.QUALITY)
MARKS = "counter:units"
MOST_AT_ONCE = 20


@dataclass(frozen=True)
class NewUnit:
    """What is begun: to which card, in which role, of which side (none where the sides ask the same), and with which of
    the options that it is built to (the others do not matter to it)."""

    revision: Revision
    role: str
    side: str = ""
    options: Mapping[str, str] = field(default_factory=dict)


def begin_units(*, new: NewUnit, count: int = 1, by: Who, now: datetime | None = None) -> list[Unit]:
    """Make so many units that are in no axle, each with a mark of its own, and put their first operations before their
    stations.

    Race: everybody who begins one takes the lock of the counter of marks, so no mark is given twice.
    """
    if not 1 <= count <= MOST_AT_ONCE:
        raise Refusal(f"1 to {MOST_AT_ONCE} are begun at once, not {count}.", field="count")
    with act("units.begun", subject=MARKS, by=by, now=now) as a:
        require_role(by, BEGINS, shop_day(a.now))
        revision = Revision.objects.select_related("model").get(pk=new.revision.pk)
        options = _require_buildable(revision, new)
        first = _next_number(a)
        units = [_begin(a, new, revision, options, first + place) for place in range(count)]
        a.note(revision=revision.key, units=[unit.item.mark for unit in units])
    return units


def _require_buildable(revision: Revision, new: NewUnit) -> Mapping[str, str]:
    """The options that it is built to. Refuses what this card builds only in an axle, or not at all."""
    if revision.state != RevisionState.RELEASED:
        raise Refusal(f"{revision} is a draft. Nothing is built to a card that is not released.", field="revision")
    card = revision.card
    role = next((unit for unit in card.units if unit.role == new.role), None)
    if role is None:
        raise Refusal(f"{revision} knows no such unit. Choose one of its own.", field="role")
    if not role.for_stock:
        raise Refusal(f"The card builds a {role.name} only in its axle. An engineer would change that.", field="role")
    chosen = {axis: value for axis, value in new.options.items() if axis in card.options_of(role.role)}
    options = buildable(card, role.role, chosen)
    if options is None:
        raise CannotBeBuilt([f"No axle of {revision} can have a {role.name} with these options."])
    _require_side(revision, role, new.side, options)
    return options


def _require_side(revision: Revision, role: UnitRole, side: str, options: Mapping[str, str]) -> None:
    if side and side not in role.sides:
        known = ", ".join(role.sides) or "none"
        raise Refusal(f"A {role.name} has no side {side[:12]}. Sides: {known}.", field="side")
    if not side and not hands_alike(revision.plan(options), role.role):
        raise Refusal(f"The sides of a {role.name} differ. Say which one it is built for.", field="side")


def _next_number(a: Act) -> int:
    marks = Item.objects.filter(kind=ItemKind.UNIT, mark__startswith=_stem(a)).values_list("mark", flat=True)
    numbers = (mark.removeprefix(_stem(a)).partition("-")[0] for mark in marks)
    return max((int(number) for number in numbers if number.isdecimal()), default=0) + 1


def _stem(a: Act) -> str:
    """25-U014-H is the fourteenth unit that was begun for stock in 2025, a hub."""
    return f"{shop_day(a.now).year % 100:02d}-U"


def _begin(a: Act, new: NewUnit, revision: Revision, options: Mapping[str, str], number: int) -> Unit:
    letters = shortened(dict.fromkeys(unit.role for unit in revision.card.units))[new.role]
    mark = f"{_stem(a)}{number:03d}-{letters}"
    mark = mark if len(mark) <= LONGEST_UNIT_MARK else mark.rpartition("-")[0]
    with act("unit.begun", subject=f"{ItemKind.UNIT}:{mark}", by=a.by) as own:
        item = own.create(Item, kind=ItemKind.UNIT, mark=mark)
        own.create(Place, item=item, where=Where.FLOOR, since=own.now)
        own.note(revision=revision.key, role=new.role, side=new.side, options=dict(options))
        return own.create(
            Unit,
            item=item,
            role=new.role,
            revision=revision,
            options=dict(options),
            built_side=new.side,
            begun_at=own.now,
            begun_by=a.by.person,
        )


def put_in_stock(*, unit: Unit, note: str, by: Who, now: datetime | None = None) -> Unit:
    """From the bench to the shelf: its operations are all done, and nothing is stopped. `note`: where it lies."""
    note = _note(note)
    with act("unit.put_in_stock", subject=unit.item.subject, by=by, now=now) as a:
        require_role(by, TAKES_OUT, shop_day(a.now))
        unit = whole(unit.pk)
        require_in_hand(unit)
        if tag := tagged_in(unit):
            raise NotFree(f"{unit} is stopped by {tag}: {tag.cause} It waits for a decision.")
        left = [str(view.slot.operation.number) for view in standing(unit, a.now).slots.values() if not view.finished]
        if left:
            raise NotReady(f"{unit} is not ready for stock: operation {', '.join(left)} is not done.")
        _to(a, unit, Where.STOCK, note)
    return unit


def fetch_to_bench(*, unit: Unit, reason: str, by: Who, now: datetime | None = None) -> Unit:
    """From the shelf back to the bench, where what was opened again on it is done."""
    reason = _note(reason)
    if not reason:
        raise Refusal("Say why it comes back to the bench.", field="reason")
    with act("unit.fetched_to_bench", subject=unit.item.subject, by=by, now=now) as a:
        require_role(by, TAKES_OUT, shop_day(a.now))
        unit = whole(unit.pk)
        place = Place.objects.filter(pk=unit.item_id).first()
        if unit.axle is not None:
            raise Elsewhere(f"{unit} is in {unit.axle.serial} by now. Its work goes on at that axle.")
        if place is None or place.where != Where.STOCK:
            raise NotFree(f"{unit} is {place_words(unit.item)}. Only what lies in stock is fetched to the bench.")
        if Visit.objects.filter(item=unit.item_id).exclude(axle=None).exists():
            raise NotFree(f"What was done on {unit} belongs to a closed record. Take its parts out one by one.")
        if not unit.card_revision.card.unit(unit.role).for_stock:
            raise NotFree(f"The card works on a {unit.words} only in its axle. Put it into one.")
        _to(a, unit, Where.FLOOR, reason)
    return unit


def _note(text: str) -> str:
    text = " ".join(text.split())
    if len(text) > LONGEST_NOTE:
        raise Refusal(f"The text is longer than {LONGEST_NOTE} characters. Shorten it.", field="note")
    return text


def _to(a: Act, unit: Unit, where: Where, note: str) -> None:
    move(a, unit.item, where)
    a.update(Place.objects.get(pk=unit.item_id), note=note)
    a.note(unit=unit.item.mark, to=where, note=note)
