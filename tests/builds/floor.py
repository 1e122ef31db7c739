"""People, suppliers and things for tests of the build; each is made by the same actions as the pages use."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from itertools import count

from django.utils import timezone

from builds.actions.booking import NewLine, NewOrder, add_line, book_axles, place_order
from builds.actions.receiving import (
    NewBar,
    NewLot,
    NewPart,
    open_drum,
    take_in_bar,
    take_in_lot,
    take_in_part,
)
from builds.actions.receiving_heats import NewHeat, free_heat, take_in_heat
from builds.actions.releasing import load_definition, release
from builds.models import Axle, Line, Operation, Revision, Visit
from shop.actions.signing import Grant
from shop.models import Customer, Drum, Heat, Lot, Part, PartKind, Person, Piece, Role, RoleHeld, Supplier
from shop.record.who import Who
from tests.builds.cards import SMALL_CARD

_next = count(1)


def person(*roles: Role, code: str = "") -> Who:
    number = next(_next)
    row = Person.objects.create(code=code or f"p{number}", name=f"Person {number}")
    for role in roles:
        RoleHeld.objects.create(person=row, role=role, valid_from=date(2020, 1, 1))
    return Who(row)


def grant(by: Who, meaning: str = "released") -> Grant:
    assert by.person is not None
    return Grant(by.person, by.terminal, meaning, timezone.now() + timedelta(seconds=60))


def supplier(code: str = "QTM") -> Supplier:
    return Supplier.objects.get_or_create(code=code, defaults={"name": f"Supplier {code}"})[0]


def released(text: str = SMALL_CARD, by: Who | None = None) -> Revision:
    engineer = by or person(Role.ENGINEER)
    return release(revision=load_definition(text=text, name="small.toml", by=engineer), by=engineer)


def kind(code: str) -> PartKind:
    return PartKind.objects.get(code=code)


def line(
    revision: Revision | None = None,
    quantity: int = 2,
    by: Who | None = None,
    now: datetime | None = None,
    **options: str,
) -> Line:
    office = by or person(Role.OFFICE)
    number = next(_next)
    customer = Customer.objects.create(code=f"c{number}", name=f"Customer {number}")
    placed = NewOrder(f"O-{number}", customer, date(2025, 1, 2))
    new = NewLine(revision or released(), quantity, date(2026, 1, 5), date(2026, 1, 9), options)
    return add_line(order=place_order(order=placed, by=office, now=now), line=new, by=office, now=now)


def axle(revision: Revision | None = None) -> Axle:
    office = person(Role.OFFICE)
    return book_axles(line=line(revision, by=office), count=1, by=office)[0]


def heat(mark: str = "Q1", carbon: str = "0.300", *, free: bool = True, kind_code: str = "tube_stock") -> Heat:
    revision = Revision.objects.exclude(released_at=None).latest("released_at")
    stock, kept = kind(kind_code), frozenset({"20.1"})
    new = NewHeat(mark, supplier(), stock, f"C-{mark}", "3.1", {"20.1": carbon}, kept, sure=True)
    row = take_in_heat(heat=new, revision=revision, by=person(Role.RECEIVER))
    inspector = person(Role.INSPECTOR)
    return free_heat(heat=row, grant=grant(inspector), by=inspector) if free else row


def bar(mark: str = "BAR-1", of: Heat | None = None) -> Piece:
    new = NewBar(mark, kind("tube_stock"), heat=of, mark_readable=of is not None)
    return take_in_bar(bar=new, by=person(Role.RECEIVER))


def part(code: str, mark: str, set_mark: str = "", maker: str = "AGF") -> Part:
    new = NewPart(mark, kind(code), supplier(maker), set_mark=set_mark)
    return take_in_part(part=new, by=person(Role.RECEIVER))


def lot(code: str = "bearing", mark: str = "PB-1", expires_on: date | None = None) -> Lot:
    new = NewLot(mark, kind(code), supplier("PEL"), date(2025, 1, 2), 100, expires_on)
    return take_in_lot(lot=new, by=person(Role.RECEIVER))


def drum(mark: str = "GR-1-A") -> Drum:
    return open_drum(lot=lot("grease", "GR-1"), mark=mark, by=person(Role.RECEIVER))


def visit(of: Axle, number: int, side: str = "", by: Who | None = None, now: datetime | None = None) -> Visit:
    """A visit in hand, written straight: taking work up has its own tests."""
    doer = by or person(Role.ASSEMBLER, Role.RECEIVER)
    operation = Operation.objects.get(revision=of.revision, number=number)
    units = of.units.filter(role=operation.per, side=side)
    item = units[0].item if operation.per != "axle" else of.item
    return Visit.objects.create(
        item=item, axle=of, operation=operation, claimed_by=doer.person, claimed_at=now or timezone.now()
    )
