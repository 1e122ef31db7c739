"""Setting parts aside by scan (builds.actions.kitting, builds.reports.kit)."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from builds.actions.kitting import kit_part, return_part
from builds.actions.receiving import shut_drum
from builds.errors import Elsewhere, NotFree, OtherSet, UnknownMark, WrongKind
from builds.models import Axle, KitLine, RedTag, Revision
from builds.reports.kit import kit_state, missing_parts, needs_of
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, Place, Role
from shop.record.act import act
from shop.record.models import Event
from tests.builds.floor import axle, drum, heat, lot, part, person, released, visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision() -> Revision:
    return released()


@pytest.fixture
def first(revision: Revision) -> Axle:
    return axle(revision)


def kit(of: Axle, scan: str, role: str = "") -> list[KitLine]:
    return kit_part(axle=of, scan=scan, by=person(Role.RECEIVER), role=role)


def gears(set_mark: str = "AG-1") -> None:
    part("ring_gear", f"{set_mark}-R", set_mark)
    part("pinion", f"{set_mark}-P", set_mark)


def where(item: Item) -> tuple[str, str]:
    place = Place.objects.select_related("host").get(pk=item.pk)
    return place.where, str(place.host or "")


def whole(of: Axle) -> None:
    gears()
    part("shaft", "S-1")
    part("shaft", "S-2")
    lot()
    for scan in ("AG-1-R", "AG-1-P", "S-1", "S-2", "PB-1"):
        kit(of, scan)


def test_a_serial_part_is_set_aside_for_the_need_it_fits(first: Axle) -> None:
    shaft = part("shaft", "S-1")
    (line,) = kit(first, "s-1")
    assert (line.role, line.host) == ("shaft left", first.item)
    assert where(shaft.item) == ("kit", first.serial)


def test_our_own_label_and_a_typed_o_are_understood(first: Axle) -> None:
    part("shaft", "S-10")
    part("shaft", "S-11")
    assert kit(first, "~P:S-10")[0].part.mark == "S-10"
    assert kit(first, "S-I1")[0].part.mark == "S-11"


def test_two_of_a_kind_fill_both_sides(first: Axle) -> None:
    part("shaft", "S-1")
    part("shaft", "S-2")
    assert [kit(first, "S-2")[0].role, kit(first, "S-1")[0].role] == ["shaft left", "shaft right"]


def test_a_side_can_be_chosen(first: Axle) -> None:
    part("shaft", "S-1")
    assert kit(first, "S-1", role="shaft right")[0].role == "shaft right"


def test_a_lot_is_named_and_stays_in_stock(first: Axle, revision: Revision) -> None:
    bearings = lot()
    kit(first, "PB-1")
    kit(axle(revision), "PB-1")
    assert where(bearings.item) == ("stock", "")
    assert KitLine.objects.filter(part=bearings.item).count() == 2


def test_one_mark_on_ring_and_pinion_takes_them_one_after_the_other(first: Axle) -> None:
    part("ring_gear", "AG-1", "AG-1")
    part("pinion", "AG-1", "AG-1")
    assert [kit(first, "AG-1")[0].role, kit(first, "AG-1")[0].role] == ["ring", "pinion"]


def test_a_set_mark_is_as_good_as_a_part_mark(first: Axle) -> None:
    gears("SET-7")
    assert [kit(first, "SET-7")[0].role, kit(first, "SET-7")[0].role] == ["ring", "pinion"]


def test_ring_and_pinion_of_different_sets_are_refused(first: Axle) -> None:
    part("ring_gear", "R-31", "31")
    pinion = part("pinion", "P-13", "13")
    kit(first, "R-31")
    with pytest.raises(OtherSet, match="is of set 13; the Ring gear here is of set 31"):
        kit(first, "P-13")
    assert where(pinion.item) == ("stock", "")


def test_the_same_set_mark_of_two_makers_is_two_sets(first: Axle) -> None:
    part("ring_gear", "R-31", "31", maker="AGF")
    pinion = part("pinion", "P-31", "31", maker="PEL")
    kit(first, "R-31")
    with pytest.raises(OtherSet, match=r"is of set 31 of .+; the Ring gear here is of set 31 of "):
        kit(first, "P-31")
    assert where(pinion.item) == ("stock", "")


def test_the_mate_of_the_same_set_is_taken(first: Axle) -> None:
    part("ring_gear", "R-31", "31")
    part("pinion", "P-31", "31")
    kit(first, "R-31")
    assert kit(first, "P-31")[0].role == "pinion"


def test_a_part_of_a_matched_set_without_a_set_mark_is_refused(first: Axle) -> None:
    part("ring_gear", "R-1")
    with pytest.raises(OtherSet, match="no set mark"):
        kit(first, "R-1")


@pytest.mark.parametrize("scan", ["NOBODY", "~P:NOBODY", "12345", "S-1; drop"])
def test_an_unknown_mark_is_refused(first: Axle, scan: str) -> None:
    with pytest.raises(Refusal):
        kit(first, scan)
    assert not KitLine.objects.exists()


def test_an_unknown_mark_says_so(first: Axle) -> None:
    with pytest.raises(UnknownMark, match="Nothing here carries the mark “NOBODY”"):
        kit(first, "NOBODY")


@pytest.mark.parametrize("scan", ["", "   "])
def test_nothing_scanned_is_refused(first: Axle, scan: str) -> None:
    with pytest.raises(UnknownMark, match="Nothing was scanned"):
        kit(first, scan)


def test_what_is_not_needed_is_refused(first: Axle) -> None:
    whole(first)
    part("shaft", "S-3")
    with pytest.raises(WrongKind, match="shaft S-3 of AGF is not what is needed"):
        kit(first, "S-3")


def test_a_part_in_another_kit_is_named(first: Axle, revision: Revision) -> None:
    part("shaft", "S-1")
    kit(first, "S-1")
    with pytest.raises(Elsewhere, match=f"already in the kit of {first.serial}"):
        kit(axle(revision), "S-1")


def test_a_part_in_this_kit_is_not_taken_twice(first: Axle) -> None:
    part("shaft", "S-1")
    kit(first, "S-1")
    with pytest.raises(Elsewhere, match="already in this kit"):
        kit(first, "S-1")


def test_a_part_fitted_elsewhere_is_refused_and_the_place_named(first: Axle, revision: Revision) -> None:
    shaft, other = part("shaft", "S-1"), axle(revision)
    work = visit(other, 40)
    with act("test", subject="test:1", by=person()) as a:
        a.update(Place.objects.get(pk=shaft.pk), where="fitted", host=other.item)
    work.fitted.create(
        host=other.item,
        part=shaft.item,
        axle=other,
        role="shaft left",
        person=work.claimed_by,
        at=timezone.now(),
    )
    with pytest.raises(Elsewhere, match=f"already fitted in {other.serial}"):
        kit(first, "S-1")


@pytest.mark.parametrize("place", ["quarantine", "red_tag", "scrap", "supplier", "shipped"])
def test_a_part_that_lies_apart_is_refused(first: Axle, place: str) -> None:
    shaft = part("shaft", "S-1")
    Place.objects.filter(pk=shaft.pk).update(where=place)
    with pytest.raises(NotFree, match="cannot be used"):
        kit(first, "S-1")


def test_a_tagged_part_is_refused(first: Axle) -> None:
    shaft, finder = part("shaft", "S-1"), person()
    RedTag.objects.create(number=7, item=shaft.item, cause="bent", opened_by=finder.person, opened_at=timezone.now())
    with pytest.raises(NotFree, match="red tag 7 open: bent"):
        kit(first, "S-1")


def test_an_expired_lot_is_refused_and_its_last_day_is_good(first: Axle) -> None:
    bearings = lot(expires_on=shop_day(timezone.now() + timedelta(days=30)))
    type(bearings).objects.filter(pk=bearings.pk).update(expires_on=shop_day(timezone.now() - timedelta(days=2)))
    with pytest.raises(NotFree, match="PB-1 expired"):
        kit(first, "PB-1")


def test_held_steel_is_refused_until_it_is_freed(first: Axle) -> None:
    shaft = part("shaft", "S-1")
    type(shaft).objects.filter(pk=shaft.pk).update(heat=heat(free=False))
    with pytest.raises(NotFree, match="Q1 is held"):
        kit(first, "S-1")
    type(shaft).objects.filter(pk=shaft.pk).update(heat=heat("Q2"))
    assert kit(first, "S-1")[0].role == "shaft left"


def test_refused_steel_is_refused(first: Axle) -> None:
    shaft = part("shaft", "S-1")
    type(shaft).objects.filter(pk=shaft.pk).update(heat=heat("Q2", "0.340", free=False))
    with pytest.raises(NotFree, match="Q2 was refused"):
        kit(first, "S-1")


def test_a_shut_drum_and_a_closed_lot_are_refused(first: Axle) -> None:
    opened = drum()
    with pytest.raises(WrongKind, match="Scan the open drum"):
        kit(first, "GR-1")
    shut_drum(drum=opened, by=person(Role.RECEIVER))
    with pytest.raises(NotFree, match="was shut"):
        kit(first, "GR-1-A")


def test_a_whole_kit_makes_the_axle_kitted_and_a_return_makes_it_booked(first: Axle) -> None:
    whole(first)
    first.refresh_from_db()
    assert (first.phase, kit_state(first).is_whole) == ("kitted", True)
    line = KitLine.objects.get(part__mark="S-2")
    return_part(line=line, by=person(Role.RECEIVER))
    first.refresh_from_db()
    assert (first.phase, where(line.part)) == ("booked", ("stock", ""))


def test_what_is_short_says_from_which_operation(first: Axle) -> None:
    gears()
    kit(first, "AG-1-R")
    short = [(need.role, need.slot.operation.number) for need in kit_state(first).short]
    assert short == [("pinion", 30), ("bearings", 30), ("shaft left", 40), ("shaft right", 40)]


def test_what_the_station_takes_is_not_short_in_the_kit(first: Axle) -> None:
    assert [need.role for need in kit_state(first).station_needs] == ["tube", "tube", "grease", "cap"]


def test_missing_parts_are_named_with_their_count(first: Axle) -> None:
    said = missing_parts(needs_of(first, [first.plan.slot("30/")]))
    assert said[2] == "Bearing (bearings): 4 of 4 not scanned in"
    assert said[3] == "Grease: 0.5 of 0.5 lb not scanned in"


def test_a_returned_part_is_not_returned_twice(first: Axle) -> None:
    part("shaft", "S-1")
    (line,) = kit(first, "S-1")
    return_part(line=line, by=person(Role.RECEIVER))
    with pytest.raises(Refusal, match="already returned"):
        return_part(line=line, by=person(Role.RECEIVER))


def test_a_kit_of_an_axle_that_is_not_built_any_more_is_refused(first: Axle) -> None:
    part("shaft", "S-1")
    Axle.objects.filter(pk=first.pk).update(scrapped_at=timezone.now())
    with pytest.raises(Refusal, match="not being built"):
        kit(first, "S-1")


@pytest.mark.parametrize("role", [Role.OFFICE, Role.WELDER])
def test_only_receiving_and_the_lead_builder_pick_kits(first: Axle, role: Role) -> None:
    part("shaft", "S-1")
    with pytest.raises(Refusal, match="receiving and kits"):
        kit_part(axle=first, scan="S-1", by=person(role))


def test_the_act_stands_in_both_chains(first: Axle) -> None:
    shaft = part("shaft", "S-1")
    kit(first, "S-1")
    found = Event.objects.filter(kind="kit.set_aside").values_list("subject", flat=True)
    assert sorted(found) == sorted([first.subject, shaft.item.subject])
