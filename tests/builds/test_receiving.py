"""Bars, lots, drums and parts (builds.actions.receiving)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from builds.actions.receiving import (
    NewBar,
    NewLot,
    NewPart,
    open_drum,
    shut_drum,
    take_in_bar,
    take_in_lot,
    take_in_part,
)
from builds.errors import AlreadyThere, LooksAlike, NotFree, WrongKind
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, Part, Place, Role
from tests.builds.floor import bar, drum, heat, kind, lot, part, person, released, supplier

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def card() -> None:
    released()


def place_of(item_id: int) -> str:
    return Place.objects.get(pk=item_id).where


def test_a_bar_keeps_its_heat_and_lies_in_stock() -> None:
    made = bar(of=heat())
    assert (made.item.mark, made.heat and made.heat.item.mark, place_of(made.pk)) == ("BAR-1", "Q1", "stock")


def test_a_bar_whose_mark_cannot_be_read_goes_to_quarantine() -> None:
    made = bar()
    assert (made.heat, place_of(made.pk)) == (None, "quarantine")


def test_a_bar_without_a_heat_says_so_or_is_refused() -> None:
    new = NewBar("BAR-2", kind("tube_stock"), heat=None, mark_readable=True)
    with pytest.raises(Refusal, match="not determinable"):
        take_in_bar(bar=new, by=person(Role.RECEIVER))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"mark": ""}, "mark is blank"),
        ({"mark": "A-FAR-TOO-LONG-MARK"}, "at most 14"),
        ({"mark": "x' OR 1=1 --;"}, "A mark begins"),
        ({"length": Decimal(0)}, "longer than nothing"),
        ({"length": Decimal(-3)}, "longer than nothing"),
    ],
)
def test_a_bar_that_makes_no_sense_is_refused(change: dict[str, object], said: str) -> None:
    new = replace(NewBar("BAR-2", kind("tube_stock"), heat=heat()), **change)  # type: ignore[arg-type]
    with pytest.raises(Refusal, match=said):
        take_in_bar(bar=new, by=person(Role.RECEIVER))
    assert not Item.objects.filter(kind="piece").exists()


def test_a_bar_of_a_refused_heat_is_refused() -> None:
    bad = heat("Q9", "0.340", free=False)
    with pytest.raises(NotFree, match="Q9 was refused"):
        bar(of=bad)


def test_one_kind_is_not_taken_for_another() -> None:
    by = person(Role.RECEIVER)
    with pytest.raises(WrongKind, match="by lot, not by piece"):
        take_in_bar(bar=NewBar("B", kind("bearing"), heat()), by=by)
    with pytest.raises(WrongKind, match="by serial, not by lot"):
        take_in_lot(lot=NewLot("L", kind("shaft"), supplier(), date(2025, 1, 2)), by=by)
    with pytest.raises(WrongKind, match="by lot, not by serial"):
        take_in_part(part=NewPart("P", kind("bearing"), supplier()), by=by)


def test_ring_and_pinion_of_one_maker_may_carry_one_mark() -> None:
    ring, pinion = part("ring_gear", "AG-10431", "AG-10431"), part("pinion", "AG-10431", "AG-10431")
    assert ring.item.mark == pinion.item.mark
    assert ring.item.subject != pinion.item.subject


def test_a_serial_stands_once_per_kind_and_maker() -> None:
    part("shaft", "S-1")
    part("shaft", "S-1", maker="OTHER")
    with pytest.raises(AlreadyThere, match="shaft S-1 of AGF is already here"):
        part("shaft", "s-1")
    assert Part.objects.count() == 2


def test_a_set_has_one_ring() -> None:
    part("ring_gear", "R-1", "SET-7")
    with pytest.raises(AlreadyThere, match=r"Set SET-7 of .+ already has its Ring gear: R-1"):
        part("ring_gear", "R-2", "set-7")


def test_two_makers_may_number_their_sets_alike() -> None:
    makers = [part("ring_gear", f"R-{maker}", "SET-7", maker=maker).supplier for maker in ("AGF", "PEL")]
    assert len(set(makers)) == 2


def test_a_mark_that_differs_only_by_o_and_0_is_asked_about_once() -> None:
    part("shaft", "SO1")
    new = NewPart("S01", kind("shaft"), supplier("AGF"))
    with pytest.raises(LooksAlike, match="S01 differs from SO1"):
        take_in_part(part=new, by=person(Role.RECEIVER))
    kept = take_in_part(part=replace(new, sure=True), by=person(Role.RECEIVER))
    assert kept.item.mark == "S01"


def test_what_stands_on_a_part_is_kept() -> None:
    new = NewPart("AG-1", kind("pinion"), supplier(), set_mark="AG-1", facts={"pinion_mark": " +2 ", "x": " "})
    made = take_in_part(part=new, by=person(Role.RECEIVER))
    assert made.facts == {"pinion_mark": "+2"}


def test_an_expired_lot_is_not_taken_in() -> None:
    yesterday = shop_day(timezone.now()) - timedelta(days=1)
    with pytest.raises(NotFree, match="expired on"):
        lot(expires_on=yesterday)
    assert lot(expires_on=yesterday + timedelta(days=1)).expires_on is not None


def test_a_lot_of_tomorrow_is_refused() -> None:
    new = NewLot("L", kind("bearing"), supplier(), date(2999, 1, 1))
    with pytest.raises(Refusal, match="lies ahead"):
        take_in_lot(lot=new, by=person(Role.RECEIVER))


def test_a_drum_is_opened_and_shut_once() -> None:
    opened = drum()
    assert place_of(opened.pk) == "floor"
    shut = shut_drum(drum=opened, by=person(Role.ASSEMBLER))
    assert shut.shut_at is not None
    with pytest.raises(Refusal, match="already shut"):
        shut_drum(drum=opened, by=person(Role.ASSEMBLER))


def test_a_counted_lot_has_no_drum() -> None:
    with pytest.raises(WrongKind, match="no drum to open"):
        open_drum(lot=lot(), mark="D-1", by=person(Role.RECEIVER))


@pytest.mark.parametrize("role", [Role.OFFICE, Role.PAINTER, Role.WELDER])
def test_only_the_receiver_or_an_inspector_takes_in(role: Role) -> None:
    with pytest.raises(Refusal, match="receiving and kits or inspector"):
        take_in_lot(lot=NewLot("L", kind("bearing"), supplier(), date(2025, 1, 2)), by=person(role))
