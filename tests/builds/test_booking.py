"""Orders, lines and the axles booked from them (builds.actions.booking)."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from stdnum.iso7064 import mod_37_36

from builds.actions.booking import (
    NewLine,
    NewOrder,
    add_line,
    book_axles,
    free_places,
    place_order,
    unit_marks,
)
from builds.errors import AlreadyThere, CannotBeBuilt
from builds.models import Axle, Line, Order
from shop.codes import running_number, verify_serial
from shop.errors import Refusal
from shop.models import Customer, Place, Role
from shop.record.act import act
from shop.record.models import Event
from tests.builds.cards import SMALL_CARD
from tests.builds.floor import line, load_definition, person, released

pytestmark = pytest.mark.django_db

FROM, TO = date(2026, 1, 5), date(2026, 1, 9)


def customer() -> Customer:
    return Customer.objects.create(code="hp", name="Hollow Pine")


def order(number: str = "O-1") -> Order:
    new = NewOrder(number, customer(), date(2025, 11, 3), "their 17", "Letter")
    return place_order(order=new, by=person(Role.OFFICE))


def test_an_order_is_placed() -> None:
    made = order(" o-2511 ")
    assert (made.number, made.customer_reference, made.paper) == ("O-2511", "their 17", "Letter")


@pytest.mark.parametrize(
    ("number", "said"),
    [
        ("", "has no number"),
        ("  ", "has no number"),
        ("O-123456789012345", "at most 14"),
        ("<b>", "A mark begins"),
        ("O/25", "letters, digits, points and hyphens"),
    ],
)
def test_an_order_number_that_cannot_be_is_refused(number: str, said: str) -> None:
    with pytest.raises(Refusal, match=said):
        order(number)
    assert not Order.objects.exists()


def test_an_order_number_stands_once() -> None:
    first = order()
    with pytest.raises(AlreadyThere, match="O-1 is already here"):
        place_order(order=NewOrder("o-1", first.customer, date(2025, 11, 3)), by=person(Role.OFFICE))


def test_an_order_of_tomorrow_is_refused() -> None:
    with pytest.raises(Refusal, match="lies ahead"):
        place_order(order=NewOrder("O-9", customer(), date(2999, 1, 1)), by=person(Role.OFFICE))


def test_a_line_keeps_every_option_with_its_default() -> None:
    made = line(quantity=3, ratio="high")
    assert (made.number, made.quantity, made.options) == (1, 3, {"ratio": "high", "lock": "none"})


def test_what_cannot_be_built_is_refused_with_every_reason() -> None:
    with pytest.raises(CannotBeBuilt) as refused:
        line(ratio="high", lock="air", colour="blue")
    assert refused.value.reasons == (
        "This axle has no option called colour.",
        "A locking differential does not fit ratio 4.30.",
    )
    assert not Line.objects.exists()


def test_nothing_is_sold_to_a_draft() -> None:
    draft = load_definition(text=SMALL_CARD, name="small.toml", by=person(Role.ENGINEER))
    with pytest.raises(Refusal, match="is a draft"):
        line(draft)


@pytest.mark.parametrize(
    ("quantity", "begin", "end", "said"),
    [
        (0, FROM, TO, "1 to 200"),
        (-4, FROM, TO, "1 to 200"),
        (201, FROM, TO, "1 to 200"),
        (1, TO, FROM, "ends before it begins"),
    ],
)
def test_a_line_that_makes_no_sense_is_refused(quantity: int, begin: date, end: date, said: str) -> None:
    new = NewLine(released(), quantity, begin, end)
    with pytest.raises(Refusal, match=said):
        add_line(order=order(), line=new, by=person(Role.OFFICE))


def test_booking_gives_the_next_serials() -> None:
    made = book_axles(line=line(quantity=3), count=2, by=person(Role.OFFICE), first=143)
    later = book_axles(line=line(made[0].revision), count=1, by=person(Role.OFFICE))
    numbers = [running_number(axle.serial) for axle in (*made, *later)]
    assert numbers == ["0143", "0144", "0145"]
    assert all(verify_serial(axle.serial) == axle.serial for axle in made)


def test_a_serial_ends_in_its_check_character() -> None:
    """ISO 7064 MOD 37,36; TBK-25-0143 gives D (calculated in the scenario, and by python-stdnum)."""
    when, office = datetime(2025, 11, 20, 15, 0, tzinfo=UTC), person(Role.OFFICE)
    made = book_axles(line=line(by=office, now=when), count=1, by=office, first=143, now=when)[0]
    assert made.serial == "TBK-25-0143-D"
    assert mod_37_36.validate("TBK250143D") == "TBK250143D"


def test_an_axle_is_booked_with_its_units_on_the_floor() -> None:
    made = book_axles(line=line(), count=1, by=person(Role.OFFICE), first=143)[0]
    year = made.serial.split("-")[1]
    marks = sorted(unit.item.mark for unit in made.units.all())
    assert made.phase == "booked"
    assert marks == [f"{year}-0143-C", f"{year}-0143-TL", f"{year}-0143-TR"]
    assert Place.objects.get(pk=made.pk).where == "floor"
    assert Place.objects.filter(pk__in=made.units.values("pk"), where="floor").count() == 3


def test_units_that_begin_alike_are_told_apart() -> None:
    places = [("tube", "left"), ("track", "left"), ("trunnion", ""), ("tie_rod", "")]
    assert unit_marks("TBK-25-0001-X", places) == ["25-0001-TUL", "25-0001-TRAL", "25-0001-TRU", "25-0001-TI"]


def test_units_with_marks_too_long_to_type_are_numbered() -> None:
    places = [("axle_tube_left_part_a", ""), ("axle_tube_left_part_b", "")]
    assert unit_marks("TBK-25-0001-X", places) == ["25-0001-U1", "25-0001-U2"]


@pytest.mark.parametrize("count", [0, -1, 3])
def test_more_than_the_line_holds_is_not_booked(count: int) -> None:
    with pytest.raises(Refusal, match="2 of 2 places free"):
        book_axles(line=line(quantity=2), count=count, by=person(Role.OFFICE))
    assert not Axle.objects.exists()


def test_a_full_line_says_so() -> None:
    full = line(quantity=1)
    book_axles(line=full, count=1, by=person(Role.OFFICE))
    with pytest.raises(Refusal, match="All 1 axles"):
        book_axles(line=full, count=1, by=person(Role.OFFICE))


def test_a_number_once_used_is_not_first_again() -> None:
    office, wanted = person(Role.OFFICE), line(quantity=2)
    book_axles(line=wanted, count=1, by=office, first=10)
    with pytest.raises(Refusal, match="0010 is already used"):
        book_axles(line=wanted, count=1, by=office, first=10)


def test_a_new_serial_takes_the_place_of_a_scrapped_axle() -> None:
    office, wanted = person(Role.OFFICE), line(quantity=1)
    lost = book_axles(line=wanted, count=1, by=office)[0]
    with act("axle.scrapped", subject=lost.subject, by=office) as a:
        a.update(lost, scrapped_at=a.now, phase="retired")
    assert free_places(wanted) == 1
    new = book_axles(line=wanted, count=1, by=office)[0]
    assert new.takes_place_of == lost
    assert free_places(wanted) == 0


@pytest.mark.parametrize("role", [Role.ASSEMBLER, Role.RECEIVER, Role.PAINTER])
def test_the_floor_does_not_sell(role: Role) -> None:
    wanted = line()
    with pytest.raises(Refusal, match="office"):
        book_axles(line=wanted, count=1, by=person(role))


def test_a_booking_stands_in_the_order_the_counter_and_the_axle() -> None:
    made = book_axles(line=line(), count=1, by=person(Role.OFFICE))[0]
    subjects = Event.objects.filter(kind__in=("order.booked", "axle.booked")).values_list("subject", flat=True)
    assert sorted(subjects) == sorted([f"order:{made.line.order.number}", "serials:TBK", made.subject])
