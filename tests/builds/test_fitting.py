"""Parts in and out at a visit (builds.actions.fitting)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.actions.fitting import fit_part, take_out
from builds.actions.kitting import kit_part
from builds.errors import Elsewhere, NotFree, OtherSet, WrongKind
from builds.models import Axle, Fitted, Revision, Visit
from builds.permissions import doers_of
from builds.reports.kit import kit_state, missing_parts, needs_of
from shop.errors import Refusal
from shop.models import Heat, Item, Place, Role
from tests.builds.floor import axle, bar, drum, heat, lot, part, person, released, visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision() -> Revision:
    return released()


@pytest.fixture
def first(revision: Revision) -> Axle:
    return axle(revision)


def fit(at: Visit, scan: str, role: str = "", quantity: Decimal | None = None) -> Fitted:
    return fit_part(visit=at, scan=scan, by=person(Role.ASSEMBLER, Role.RECEIVER), role=role, quantity=quantity)


def kit(of: Axle, scan: str, role: str = "") -> None:
    kit_part(axle=of, scan=scan, by=person(Role.RECEIVER), role=role)


def where(item: Item) -> tuple[str, str]:
    place = Place.objects.select_related("host").get(pk=item.pk)
    return place.where, str(place.host or "")


def carrier(of: Axle) -> Item:
    return of.units.get(role="carrier").item


def test_a_part_from_the_kit_goes_into_the_unit_of_the_visit(first: Axle) -> None:
    ring = part("ring_gear", "R-1", "1")
    kit(first, "R-1")
    row = fit(visit(first, 30), "R-1")
    assert (row.host, row.role, row.quantity) == (carrier(first), "ring", 1)
    assert where(ring.item) == ("fitted", carrier(first).mark)


def test_a_part_from_stock_goes_straight_in(first: Axle) -> None:
    part("ring_gear", "R-1", "1")
    assert fit(visit(first, 30), "R-1").role == "ring"


def test_a_part_goes_to_the_side_it_was_set_aside_for(first: Axle) -> None:
    part("shaft", "S-1")
    kit(first, "S-1", role="shaft right")
    assert fit(visit(first, 40), "S-1").role == "shaft right"


def test_a_lot_fills_the_need_and_stays_in_stock(first: Axle) -> None:
    bearings = lot()
    row = fit(visit(first, 30), "PB-1")
    assert (row.quantity, where(bearings.item)) == (4, ("stock", ""))


def test_two_lots_share_a_need(first: Axle) -> None:
    lot()
    lot(mark="PB-2")
    at = visit(first, 30)
    fit(at, "PB-1", quantity=Decimal(1))
    assert fit(at, "PB-2").quantity == 3


@pytest.mark.parametrize("quantity", ["0", "-1", "5", "1.5"])
def test_a_count_that_does_not_fit_is_refused(first: Axle, quantity: str) -> None:
    lot()
    with pytest.raises(Refusal, match=r"to fit, not|whole parts"):
        fit(visit(first, 30), "PB-1", quantity=Decimal(quantity))
    assert not Fitted.objects.exists()


def test_an_open_drum_gives_the_amount_the_card_asks(first: Axle) -> None:
    drum()
    row = fit(visit(first, 30), "GR-1-A")
    assert (row.part.kind, row.quantity) == ("drum", Decimal("0.5"))


def test_a_heat_serves_the_kind_of_stock_it_was_taken_in_as(first: Axle) -> None:
    steel = heat("Q5", kind_code="cap")
    row = fit(visit(first, 40), "Q5")
    assert (row.part, row.role, row.quantity) == (steel.item, "cap", 2)


def test_a_heat_of_another_kind_of_stock_is_refused(first: Axle) -> None:
    heat("Q5")
    with pytest.raises(WrongKind, match="tube stock Q5 of QTM is not what is needed"):
        fit(visit(first, 40), "Q5")


def test_a_bar_gives_a_piece_with_a_mark_of_its_own_and_the_bars_heat(first: Axle) -> None:
    stock = bar(of=heat())
    left, right = fit(visit(first, 20, "left"), "BAR-1"), fit(visit(first, 20, "right"), "BAR-1")
    assert [left.part.mark, right.part.mark] == ["BAR-1-1", "BAR-1-2"]
    assert (left.part.piece.heat, left.part.piece.parent) == (stock.heat, stock)
    assert where(left.part) == ("fitted", left.host.mark)
    assert where(stock.item) == ("stock", "")


def test_at_the_first_look_at_a_heat_held_steel_may_be_scanned(first: Axle) -> None:
    bar(of=heat(free=False))
    assert fit(visit(first, 20, "left"), "BAR-1").part.mark == "BAR-1-1"


def test_elsewhere_held_steel_may_not(first: Axle) -> None:
    heat("Q5", free=False, kind_code="cap")
    with pytest.raises(NotFree, match="Q5 is held"):
        fit(visit(first, 40), "Q5")


def test_steel_refused_after_it_came_is_refused_at_the_first_look_too(first: Axle) -> None:
    stock = bar(of=heat(free=False))
    Heat.objects.filter(pk=stock.heat_id).update(status="refused")
    with pytest.raises(NotFree, match="was refused"):
        fit(visit(first, 20, "left"), "BAR-1")


def test_the_wrong_part_for_the_operation_is_refused(first: Axle) -> None:
    part("shaft", "S-1")
    with pytest.raises(WrongKind, match="Wanted: Ring gear, Pinion, Bearing, Grease"):
        fit(visit(first, 30), "S-1")


def test_a_part_set_aside_for_another_operation_is_refused(first: Axle) -> None:
    part("shaft", "S-1")
    kit(first, "S-1")
    with pytest.raises(WrongKind, match="set aside as shaft left, for operation 40"):
        fit(visit(first, 30), "S-1")


def test_another_part_than_the_one_set_aside_is_refused(first: Axle) -> None:
    part("ring_gear", "R-1", "1")
    part("ring_gear", "R-2", "2")
    kit(first, "R-1")
    with pytest.raises(Elsewhere, match="ring gear R-1 of AGF is set aside"):
        fit(visit(first, 30), "R-2")


def test_a_part_of_another_kit_is_refused(first: Axle, revision: Revision) -> None:
    other = axle(revision)
    part("ring_gear", "R-1", "1")
    kit(other, "R-1")
    with pytest.raises(Elsewhere, match=f"in the kit of {other.serial}"):
        fit(visit(first, 30), "R-1")


def test_a_part_already_fitted_is_refused_and_its_place_named(first: Axle, revision: Revision) -> None:
    other = axle(revision)
    part("ring_gear", "R-1", "1")
    fit(visit(other, 30), "R-1")
    with pytest.raises(Elsewhere, match=f"fitted in {carrier(other).mark} of axle {other.serial}"):
        fit(visit(first, 30), "R-1")
    assert Fitted.objects.count() == 1


def test_a_pinion_of_another_set_than_the_fitted_ring_is_refused(first: Axle) -> None:
    part("ring_gear", "R-31", "31")
    part("pinion", "P-13", "13")
    at = visit(first, 30)
    fit(at, "R-31")
    with pytest.raises(OtherSet, match="set 13; the Ring gear here is of set 31"):
        fit(at, "P-13")


def test_a_need_once_filled_takes_no_more(first: Axle) -> None:
    part("ring_gear", "R-1", "1")
    part("ring_gear", "R-2", "2")
    at = visit(first, 30)
    fit(at, "R-1")
    with pytest.raises(WrongKind, match="not what is needed"):
        fit(at, "R-2")


@pytest.mark.parametrize("state", ["set_down", "wait_sign", "done", "redo"])
def test_only_work_in_hand_takes_parts(first: Axle, state: str) -> None:
    lot()
    at = visit(first, 30)
    Visit.objects.filter(pk=at.pk).update(state=state, done_at=at.claimed_at)
    with pytest.raises(Refusal, match="Take it up before fitting"):
        fit(at, "PB-1")


def test_a_person_without_a_role_at_the_operation_is_refused(first: Axle) -> None:
    lot()
    with pytest.raises(Refusal, match="does not hold that role"):
        fit_part(visit=visit(first, 30), scan="PB-1", by=person(Role.PAINTER))


def test_who_fits_a_part_is_one_of_the_doers(first: Axle) -> None:
    lot()
    at, fitter, other = visit(first, 30), person(Role.ASSEMBLER), person(Role.ASSEMBLER)
    fit_part(visit=at, scan="PB-1", by=fitter)
    assert fitter.person is not None
    assert other.person is not None
    doers = doers_of(first, [30])
    assert (fitter.person.pk in doers, other.person.pk in doers) == (True, False)


def test_what_is_missing_is_named_until_it_is_in(first: Axle) -> None:
    lot()
    at = visit(first, 30)
    assert len(missing_parts(needs_of(first, [first.plan.slot("30/")]))) == 4
    fit(at, "PB-1")
    assert not any("Bearing" in said for said in missing_parts(needs_of(first, [first.plan.slot("30/")])))
    assert [need.to_fit for need in needs_of(first, [first.plan.slot("30/")])] == [1, 1, 0, Decimal("0.5")]


def test_a_part_taken_out_is_formerly_fitted_and_goes_where_it_was_said(first: Axle) -> None:
    ring = part("ring_gear", "R-1", "1")
    kit(first, "R-1")
    row = fit(visit(first, 30), "R-1")
    removal = take_out(fitted=row, reason="tooth chipped", to="scrap", by=person(Role.ASSEMBLER))
    assert (removal.to, removal.reason, where(ring.item)) == ("scrap", "tooth chipped", ("scrap", ""))
    assert Fitted.objects.get() == row
    assert not Fitted.objects.now().exists()
    assert "ring" in [need.role for need in kit_state(first).short]


def test_a_part_back_in_stock_can_go_into_another_axle(first: Axle, revision: Revision) -> None:
    part("ring_gear", "R-1", "1")
    row = fit(visit(first, 30), "R-1")
    take_out(fitted=row, reason="needed elsewhere", to="stock", by=person(Role.LEAD_BUILDER))
    assert fit(visit(axle(revision), 30), "R-1").part == row.part


@pytest.mark.parametrize(
    ("reason", "to", "said"),
    [
        ("", "stock", "Say why"),
        ("  ", "stock", "Say why"),
        ("bent", "kit", "Say where"),
        ("bent", "", "Say where"),
    ],
)
def test_taking_out_needs_a_reason_and_a_place(first: Axle, reason: str, to: str, said: str) -> None:
    part("ring_gear", "R-1", "1")
    row = fit(visit(first, 30), "R-1")
    with pytest.raises(Refusal, match=said):
        take_out(fitted=row, reason=reason, to=to, by=person(Role.ASSEMBLER))


def test_a_part_comes_out_once(first: Axle) -> None:
    part("ring_gear", "R-1", "1")
    row = fit(visit(first, 30), "R-1")
    take_out(fitted=row, reason="bent", to="scrap", by=person(Role.ASSEMBLER))
    with pytest.raises(Refusal, match="already taken out"):
        take_out(fitted=row, reason="bent", to="scrap", by=person(Role.ASSEMBLER))
