"""Orders, their lines, and the axles booked from a line.

A serial's number runs on for ever and is never used twice; its year is the booking year in the shop.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.conf import settings
from django.db.models import Max

from builds.definitions.card import Card
from builds.definitions.options import complete
from builds.definitions.plan import refuse
from builds.errors import AlreadyThere, CannotBeBuilt
from builds.models import Axle, Line, Order, Revision, RevisionState, Unit
from shop import entries
from shop.clock import shop_day
from shop.codes import build_serial, normalise_mark, running_number
from shop.errors import Refusal
from shop.models import Customer, Item, ItemKind, Paper, Place, Role, Where
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

BOOKERS = (Role.OFFICE, Role.MANAGER, Role.QUALITY)
MOST_ON_A_LINE = 200
LONGEST_ORDER_NUMBER = 14
#: It stands in addresses and on labels.
_ORDER_NUMBER = re.compile(r"[A-Z0-9][A-Z0-9.-]*")
LONGEST_UNIT_MARK = 14


@dataclass(frozen=True)
class NewOrder:
    number: str
    customer: Customer
    placed_on: date
    customer_reference: str = ""
    paper: str = Paper.A4


@dataclass(frozen=True)
class NewLine:
    revision: Revision
    quantity: int
    promised_from: date
    promised_to: date
    options: Mapping[str, str] = field(default_factory=dict)
    rush: bool = False


def place_order(*, order: NewOrder, by: Who, now: datetime | None = None) -> Order:
    number = normalise_mark(order.number)
    if not number:
        raise Refusal("The order has no number. Type the number that stands on the customer's paper.", field="number")
    if len(number) > LONGEST_ORDER_NUMBER:
        raise Refusal(
            f"An order number has at most {LONGEST_ORDER_NUMBER} characters; this one has {len(number)}.",
            field="number",
        )
    if not _ORDER_NUMBER.fullmatch(number):
        raise Refusal("An order number is made of letters, digits, points and hyphens.", field="number")
    if order.paper not in Paper.values:
        raise Refusal("The paper is A4 or Letter.", field="paper")
    with act("order.placed", subject=f"order:{number}", by=by, now=now) as a:
        require_role(by, BOOKERS, shop_day(a.now))
        if order.placed_on > shop_day(a.now):
            raise Refusal("The order's day lies ahead. Type the day on which it was placed.", field="placed_on")
        entries.day(order.placed_on, "order's day", field="placed_on")
        if Order.objects.filter(number=number).exists():
            raise AlreadyThere(f"Order {number} is already here. Open it, or type another number.", field="number")
        a.note(customer=order.customer.code)
        return a.create(
            Order,
            number=number,
            customer=order.customer,
            customer_reference=order.customer_reference.strip(),
            placed_on=order.placed_on,
            paper=order.paper,
        )


def add_line(*, order: Order, line: NewLine, by: Who, now: datetime | None = None) -> Line:
    """Add so many axles of one model with one choice of options. Raises CannotBeBuilt with every reason."""
    _check_promise(line)
    with act("order.line_added", subject=f"order:{order.number}", by=by, now=now) as a:
        require_role(by, BOOKERS, shop_day(a.now))
        revision = Revision.objects.select_related("model").get(pk=line.revision.pk)
        if revision.state != RevisionState.RELEASED:
            raise Refusal(f"{revision} is a draft. Nothing is sold to a card that is not released.", field="revision")
        reasons = refuse(revision.card, line.options)
        if reasons:
            raise CannotBeBuilt(reasons)
        last = order.lines.aggregate(last=Max("number"))["last"] or 0
        a.note(line=last + 1, revision=revision.key, quantity=line.quantity)
        return a.create(
            Line,
            order=order,
            number=last + 1,
            revision=revision,
            options=complete(revision.card.options, line.options),
            quantity=line.quantity,
            promised_from=line.promised_from,
            promised_to=line.promised_to,
            rush=line.rush,
        )


def _check_promise(line: NewLine) -> None:
    if not 1 <= line.quantity <= MOST_ON_A_LINE:
        raise Refusal(f"A line has 1 to {MOST_ON_A_LINE} axles, not {line.quantity}.", field="quantity")
    entries.day(line.promised_from, "earliest day", field="promised_from")
    if entries.day(line.promised_to, "latest day", field="promised_to") < line.promised_from:
        raise Refusal("The promise ends before it begins. Give the earlier day first.", field="promised_to")


def book_axles(*, line: Line, count: int, by: Who, first: int | None = None, now: datetime | None = None) -> list[Axle]:
    """Make so many axles of a line, each with the next serial and its units.

    Race: everybody who books takes the lock of the serial counter, so no number is given twice. A scrapped
    axle's place goes to the new ones first. `first` starts the counter further on.
    """
    subject = f"order:{line.order.number}"
    with act("order.booked", subject=subject, also=(_counter(),), by=by, now=now) as a:
        require_role(by, BOOKERS, shop_day(a.now))
        kept = Line.objects.select_related("order", "revision__model").get(pk=line.pk)
        free = free_places(kept)
        if not 1 <= count <= free:
            raise Refusal(
                f"{kept} has {free} of {kept.quantity} places free, so {count} cannot be booked."
                if free
                else f"All {kept.quantity} axles of {kept} are booked. Add a line for more.",
                field="count",
            )
        number = _next_number(first)
        replaced = list(kept.axles.exclude(scrapped_at=None).filter(replaced_by=None).order_by("booked_at", "pk"))
        axles = [
            _book(a, kept, number + place, replaced[place] if place < len(replaced) else None) for place in range(count)
        ]
        a.note(line=kept.number, serials=[axle.serial for axle in axles])
        return axles


def free_places(line: Line) -> int:
    """How many axles of a line are not booked yet; a scrapped axle's place is free again."""
    return line.quantity - line.axles.filter(scrapped_at=None).count()


def _counter() -> str:
    return f"serials:{settings.SERIAL_PREFIX}"


def _next_number(first: int | None) -> int:
    start = f"{settings.SERIAL_PREFIX}-"
    marks = Item.objects.filter(kind=ItemKind.AXLE, mark__startswith=start).values_list("mark", flat=True)
    highest = max((int(running_number(mark)) for mark in marks), default=0)
    if first is not None and first <= highest:
        raise Refusal(f"Number {first:04d} cannot be next: {highest:04d} is already used.", field="first")
    return first if first is not None else highest + 1


def _book(a: Act, line: Line, number: int, replaced: Axle | None) -> Axle:
    serial = build_serial(settings.SERIAL_PREFIX, shop_day(a.now).year, number)
    with act("axle.booked", subject=f"{ItemKind.AXLE}:{serial}", by=a.by) as own:
        item = own.create(Item, kind=ItemKind.AXLE, mark=serial)
        axle = own.create(
            Axle,
            item=item,
            line=line,
            revision=line.revision,
            options=line.options,
            booked_at=own.now,
            takes_place_of=replaced,
        )
        own.create(Place, item=item, where=Where.FLOOR, since=own.now)
        units = _units(own, axle, line.revision.card)
        own.note(
            order=line.order.number,
            line=line.number,
            revision=line.revision.key,
            units=[unit.item.mark for unit in units],
            takes_place_of=replaced.serial if replaced else None,
        )
        return axle


def _units(a: Act, axle: Axle, card: Card) -> list[Unit]:
    """The axle's units, created with it until unit cards exist of themselves; each has its side already."""
    places = [(unit.role, side) for unit in card.units for side in unit.sides or ("",)]
    marks = unit_marks(axle.serial, places)
    items = a.create_many(Item, [{"kind": ItemKind.UNIT, "mark": mark} for mark in marks])
    units = a.create_many(
        Unit,
        [
            {"item": item, "role": role, "side": side, "axle": axle, "joined_at": a.now}
            for item, (role, side) in zip(items, places, strict=True)
        ],
    )
    a.create_many(Place, [{"item": item, "where": Where.FLOOR, "since": a.now} for item in items])
    return units


def unit_marks(serial: str, places: Sequence[tuple[str, str]]) -> list[str]:
    """Marks short enough to type: 25-0143-TL is the left tube of 0143.

    Roles and sides are shortened as far as they stay apart; where that is still too long, units are numbered.
    """
    _, year, number, *_ = serial.split("-")
    roles = shortened(dict.fromkeys(role for role, _ in places))
    sides = shortened(dict.fromkeys(side for _, side in places))
    marks = [f"{year}-{number}-{roles[role]}{sides[side]}" for role, side in places]
    if len(set(marks)) < len(marks) or any(len(mark) > LONGEST_UNIT_MARK for mark in marks):
        return [f"{year}-{number}-U{place}" for place in range(1, len(places) + 1)]
    return marks


def shortened(words: Mapping[str, None]) -> dict[str, str]:
    """Each word's shortest beginning that no other word shares, in capitals, without underscores."""
    plain = {word: word.replace("_", "").upper() for word in words}

    def shortest(word: str) -> str:
        others = [other for name, other in plain.items() if name != word]
        lengths = range(1 if plain[word] else 0, len(plain[word]) + 1)
        return next(
            (plain[word][:n] for n in lengths if not any(other.startswith(plain[word][:n]) for other in others if n)),
            plain[word],
        )

    return {word: shortest(word) for word in plain}
