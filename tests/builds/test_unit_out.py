"""A unit out of one axle and into another: what goes along, what is to do again, and what is refused."""

from __future__ import annotations

from copy import deepcopy
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from builds.actions.joining import Spot, join_unit, own_unit, rob_unit
from builds.actions.parting import UnitOut, part_unit, whole
from builds.actions.scrapping import PartTo, scrap_unit
from builds.actions.tagging import Wrong, open_tag
from builds.errors import Elsewhere, NotFree, NotReady, WrongKind
from builds.models import Axle, Fitted, Joined, KitLine, Parted, RedTag, Removal, Unit, Visit
from builds.reports.facts import standing
from builds.reports.kit import needs_of
from builds.reports.units import is_untouched, stays_of
from builds.scenario.driver import Builder
from measurements.models import Reading
from shop.errors import Refusal
from shop.models import Item, Place, Where
from shop.record import replay
from shop.record.who import Who
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
CARRIER = ("200/", "210/", "220/", "230/")


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def built(floor: Floor) -> Builder:
    """A differential with its ring gear, done on its bench, in an axle; and its left hub."""
    return floor.built("10/", *CARRIER, "340/left", "350/left", "360/left")


@pytest.fixture
def donor(built: Builder) -> Builder:
    return deepcopy(built)


@pytest.fixture
def taker(floor: Floor, built: Builder) -> Axle:
    """Another axle of the same card, booked a minute after the donor's work."""
    floor.now = built.now
    return floor.axle()


def by(floor: Floor) -> Who:
    return floor.who("rusk", "GB")


def of(axle: Axle, role: str = "carrier", side: str = "") -> Unit:
    return own_unit(Spot(axle, side), role)


def to_stock(floor: Floor, unit: Unit, now: object = None) -> Parted:
    row, _ = part_unit(unit=unit, out=UnitOut("Wanted elsewhere.", "stock", "used: run by hand"), by=by(floor))
    return row


def states(axle: Axle, keys: tuple[str, ...] = CARRIER) -> set[str]:
    slots = standing(Axle.objects.get(pk=axle.pk), timezone.now()).slots
    return {str(slots[key].state) for key in keys}


def test_it_keeps_everything_that_was_done_on_it_and_the_axle_gets_a_fresh_one(floor: Floor, donor: Builder) -> None:
    unit, axle = of(donor.axle), donor.axle
    passes = set(Visit.objects.filter(item=unit.item).values_list("pk", flat=True))
    read = set(Reading.objects.filter(item=unit.item).values_list("pk", flat=True))
    inside = set(Fitted.objects.now().filter(host=unit.item).values_list("pk", flat=True))
    assert passes
    assert read
    assert inside
    row = to_stock(floor, unit)
    unit.refresh_from_db()
    assert (unit.axle, unit.side, unit.revision) == (None, "", axle.revision)
    assert set(Visit.objects.filter(item=unit.item, axle=None, state="done").values_list("pk", flat=True)) == passes
    assert set(Reading.objects.filter(item=unit.item).values_list("pk", flat=True)) == read
    assert set(Fitted.objects.now().filter(host=unit.item, axle=None).values_list("pk", flat=True)) == inside
    assert Place.objects.get(pk=unit.pk).where == Where.STOCK
    assert Place.objects.get(pk=unit.pk).note == "used: run by hand"
    assert (row.axle, row.since is not None, row.reason) == (axle, True, "Wanted elsewhere.")
    fresh = of(axle)
    assert fresh.item.mark == f"{unit.item.mark}-2"
    assert is_untouched(fresh)
    assert states(axle) == {"not yet"}  # the kit is short of what is in the other
    assert not standing(axle, row.at).slots["400/"].finished


def test_what_the_table_names_for_what_is_in_it_is_to_do_again_and_the_hub_is_not(floor: Floor, donor: Builder) -> None:
    _, found = part_unit(unit=of(donor.axle), out=UnitOut("worn", "stock", "used"), by=by(floor))
    assert found == []  # its own operations went with it, and nothing after them was done
    assert states(donor.axle, ("340/left", "350/left", "360/left")) == {"done"}


def test_its_work_counts_where_it_joins(floor: Floor, donor: Builder, taker: Axle) -> None:
    unit, given_up = of(donor.axle), of(taker)
    to_stock(floor, unit)
    row = join_unit(unit=whole(unit.pk), spot=Spot(taker), reason="The rush goes first.", by=by(floor))
    assert states(taker) == {"done"}
    assert of(taker) == unit
    assert row.instead_of == given_up
    given_up.refresh_from_db()
    assert given_up.axle is None
    assert Parted.objects.get(unit=given_up).withdrawn
    assert not Place.objects.filter(pk=given_up.pk).exists()
    assert set(Visit.objects.filter(item=unit.item).values_list("axle", flat=True)) == {taker.pk}
    assert set(Fitted.objects.now().filter(host=unit.item).values_list("axle", flat=True)) == {taker.pk}
    stays = stays_of(whole(unit.pk))
    assert replay.check()[1] == []
    assert [(stay.axle.serial, stay.until is None) for stay in stays] == [
        (taker.serial, True), (donor.axle.serial, False),
    ]  # fmt: skip


def test_out_and_in_again_brings_the_donor_back(floor: Floor, donor: Builder) -> None:
    """The fresh one is untouched, so the old one may come back; what was done again is not."""
    unit = of(donor.axle)
    to_stock(floor, unit)
    join_unit(unit=whole(unit.pk), spot=Spot(donor.axle), reason="Not needed there.", by=by(floor))
    assert states(donor.axle) == {"done"}


def test_robbed_in_one_act(floor: Floor, donor: Builder, taker: Axle) -> None:
    row, _ = rob_unit(unit=of(donor.axle), out=UnitOut("rush", "stock"), spot=Spot(taker), by=by(floor))
    assert (row.axle, states(taker)) == (taker, {"done"})
    with pytest.raises(Refusal, match="in this axle already"):
        rob_unit(unit=of(taker), out=UnitOut("rush", "stock"), spot=Spot(taker), by=by(floor))


def test_a_refused_robbery_leaves_it_where_it_was(floor: Floor, donor: Builder, taker: Axle) -> None:
    other = floor.builder(taker)
    other.kit()
    other.do("10/")
    other.do("200/")
    unit = of(donor.axle)
    with pytest.raises(Elsewhere, match="work was done on it"):
        rob_unit(unit=unit, out=UnitOut("rush", "stock"), spot=Spot(taker), by=by(floor))
    assert whole(unit.pk).axle == donor.axle
    assert not Parted.objects.exists()


def test_what_was_set_aside_for_it_waits_for_the_fresh_one(floor: Floor) -> None:
    builder = floor.builder(floor.axle())
    builder.kit()
    unit = of(builder.axle)
    aside = KitLine.objects.filter(host=unit.item, returned_at=None).count()
    assert aside
    to_stock(floor, unit)
    assert KitLine.objects.filter(host=of(builder.axle).item, returned_at=None).count() == aside
    assert not any(need.to_kit for need in needs_of(builder.axle) if need.in_kit)


def test_a_receiver_with_parts_set_aside_has_them_returned_first(floor: Floor, donor: Builder, taker: Axle) -> None:
    other = floor.builder(taker)
    other.kit()
    unit = of(donor.axle)
    to_stock(floor, unit)
    with pytest.raises(Elsewhere, match=r"Set aside for .*: .*Return that to stock first"):
        join_unit(unit=whole(unit.pk), spot=Spot(taker), reason="rush", by=by(floor))


def test_other_options_are_refused_by_the_work_that_differs(floor: Floor, donor: Builder) -> None:
    locking = floor.axle(differential="locking_air", air_port="yes")
    unit = of(donor.axle)
    to_stock(floor, unit)
    with pytest.raises(WrongKind, match="was built for other options"):
        join_unit(unit=whole(unit.pk), spot=Spot(locking), reason="rush", by=by(floor))


def test_what_waits_for_a_decision_joins_nothing(floor: Floor, donor: Builder, taker: Axle) -> None:
    unit = of(donor.axle)
    ring = Fitted.objects.now().get(host=unit.item, role="ring_gear").part
    to_stock(floor, unit)
    tag = open_tag(wrong=Wrong(ring, "a nick in a tooth"), by=by(floor))
    with pytest.raises(NotFree, match=f"red tag {tag.number} open: a nick"):
        join_unit(unit=whole(unit.pk), spot=Spot(taker), reason="rush", by=by(floor))


def test_to_the_red_tag_shelf_with_a_tag_of_its_own(floor: Floor, donor: Builder, taker: Axle) -> None:
    unit = of(donor.axle)
    part_unit(unit=unit, out=UnitOut("It whined on the bench.", "red_tag"), by=by(floor))
    tag = RedTag.objects.get(item=unit.item)
    assert (tag.axle, tag.cause) == (None, "It whined on the bench.")
    with pytest.raises(NotFree, match="on the red-tag shelf"):
        join_unit(unit=whole(unit.pk), spot=Spot(taker), reason="rush", by=by(floor))


def test_a_tag_on_the_unit_goes_with_it_and_no_longer_stops_the_axle(floor: Floor, donor: Builder) -> None:
    unit = of(donor.axle)
    open_tag(wrong=Wrong(unit.item, "noise", donor.axle, stops_axle=True), by=by(floor))
    assert states(donor.axle, ("240/",)) == {"stopped"}
    part_unit(unit=unit, out=UnitOut("noise", "stock", "used"), by=by(floor))
    assert states(donor.axle, ("240/",)) == {"not yet"}


def test_work_in_hand_on_it_is_refused(floor: Floor, donor: Builder) -> None:
    unit = of(donor.axle, "hub", "right")
    donor.begin("340/right")
    with pytest.raises(NotReady, match=r"340 .* is in hand"):
        to_stock(floor, unit)
    assert not Parted.objects.exists()


@pytest.mark.parametrize(
    ("out", "said"),
    [
        (UnitOut("", "stock", "used"), "Say why"),
        (UnitOut("x" * 301, "stock", "used"), "longer than 300"),
        (UnitOut("worn", "stock"), "what happened to it"),
        (UnitOut("worn", "moon", "used"), "Say where it goes"),
        (UnitOut("worn", "stock", "n" * 121), "longer than 120"),
    ],
)
def test_what_is_not_said_is_asked(floor: Floor, donor: Builder, out: UnitOut, said: str) -> None:
    with pytest.raises(Refusal, match=said):
        part_unit(unit=of(donor.axle), out=out, by=by(floor))


def test_scrapping_asks_for_every_part_in_it(floor: Floor, donor: Builder) -> None:
    unit = of(donor.axle)
    rows = list(Fitted.objects.now().filter(host=unit.item).select_related("part"))
    every = {row.pk: PartTo("scrap") for row in rows}
    kept = next(row for row in rows if row.role == "differential")
    forgotten = {pk: to for pk, to in every.items() if pk != kept.pk}
    with pytest.raises(Refusal, match=f"Not said: differential {kept.part.mark}"):
        part_unit(unit=unit, out=UnitOut("dropped", "scrap", parts=forgotten), by=by(floor))
    with pytest.raises(Refusal, match=f"what happened to what goes to stock: differential {kept.part.mark}"):
        part_unit(unit=unit, out=UnitOut("dropped", "scrap", parts=every | {kept.pk: PartTo("stock")}), by=by(floor))
    assert not Removal.objects.exists()
    tagged = next(row for row in rows if row.role == "ring_gear")
    said = every | {kept.pk: PartTo("stock", "used, not hurt"), tagged.pk: PartTo("red_tag", "dropped on a tooth")}
    part_unit(unit=unit, out=UnitOut("dropped", "scrap", parts=said), by=by(floor))
    assert not Fitted.objects.now().filter(host=unit.item).exists()
    places = {
        row.part.mark: Place.objects.filter(pk=row.part_id).values_list("where", flat=True).first() for row in rows
    }
    assert places[kept.part.mark] == "stock"
    assert places[tagged.part.mark] == "red_tag"
    assert RedTag.objects.get(item=tagged.part).cause == "dropped on a tooth"
    assert set(places.values()) <= {"stock", "red_tag", "scrap", "floor"}  # a lot and an open drum stay where they are
    assert Place.objects.get(pk=unit.pk).where == "scrap"
    assert set(Fitted.objects.filter(host=unit.item).values_list("axle", flat=True)) == {donor.axle.pk}


def test_scrapped_from_the_shelf(floor: Floor, donor: Builder) -> None:
    unit = of(donor.axle)
    to_stock(floor, unit)
    said = {row.pk: PartTo("scrap") for row in Fitted.objects.now().filter(host=unit.item)}
    with pytest.raises(Refusal, match="Not said"):
        scrap_unit(unit=unit, reason="bent", parts={}, by=by(floor))
    assert scrap_unit(unit=unit, reason="bent", parts=said, by=by(floor)) == []
    with pytest.raises(Elsewhere, match="in the scrap bin already"):
        scrap_unit(unit=unit, reason="bent", parts={}, by=by(floor))


def test_nobody_without_a_role_takes_it(floor: Floor, donor: Builder) -> None:
    with pytest.raises(Refusal):
        part_unit(unit=of(donor.axle), out=UnitOut("worn", "stock", "used"), by=floor.who("mirelle"))


def test_only_the_axle_of_a_fit_may_change(floor: Floor, donor: Builder) -> None:
    row = Fitted.objects.now().filter(host=of(donor.axle).item)[0]
    with pytest.raises(IntegrityError), transaction.atomic():
        Fitted.objects.filter(pk=row.pk).update(at=row.at - timedelta(days=1))
    with pytest.raises(IntegrityError), transaction.atomic():
        Fitted.objects.filter(pk=row.pk).update(host=donor.axle.item)
    Fitted.objects.filter(pk=row.pk).update(axle=None)  # the control


def test_the_rows_of_joining_and_leaving_are_for_ever(floor: Floor, donor: Builder, taker: Axle) -> None:
    unit = of(donor.axle)
    to_stock(floor, unit)
    join_unit(unit=whole(unit.pk), spot=Spot(taker), reason="rush", by=by(floor))
    for model in (Joined, Parted):
        for change in (lambda rows: rows.update(reason="other"), lambda rows: rows.delete()):
            with pytest.raises(IntegrityError), transaction.atomic():
                change(model.objects.all())  # type: ignore[attr-defined]


def test_a_third_one_has_a_mark_of_its_own(floor: Floor, donor: Builder) -> None:
    axle, first = donor.axle, of(donor.axle)
    to_stock(floor, first)
    to_stock(floor, of(axle))
    assert of(axle).item.mark == f"{first.item.mark}-3"
    assert Item.objects.filter(kind="unit", mark__startswith=first.item.mark).count() == 3
