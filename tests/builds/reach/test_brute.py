"""The reach list against a brute-force walk over objects, in random shops, for every cause, alone and together."""

from __future__ import annotations

from datetime import timedelta

import pytest

from builds.models import Fitted, Parted, Visit
from builds.reports.reach.answer import Reached, Spot
from builds.reports.reach.cause import Between, Cause, CauseKind, Question, Together
from builds.reports.reach.found import reach
from builds.reports.reach.statements import edges, rows
from shop.models import Item, Lot, Part, Station
from tests.builds.reach.brute import DOUBT, FORMER, NOW, afresh, axles_touched, melts_of
from tests.builds.reach.world import World, small, thing

pytestmark = pytest.mark.django_db
SEEDS = range(4)
_SURE = (Spot.FLOOR, Spot.CLOSED, Spot.SHIPPED, Spot.BACK)


def shop(seed: int) -> World:
    afresh()
    return small(seed)


def every_cause(world: World, between: Between) -> list[Cause]:
    def one(kind: CauseKind, *ids: int, **more: object) -> Cause:
        return Cause(kind, ids, f"{kind} {ids}", between, **more)  # type: ignore[arg-type]

    things = [*world.bars[:2], *world.lots[:3], *world.drums[:2], *Item.objects.filter(mark__startswith="GEAR")[:3]]
    supplier = world.suppliers[0].pk
    theirs = [*Part.objects.filter(supplier=supplier), *Lot.objects.filter(supplier=supplier)]
    shift = (world.day(0), world.day(1.2)), (world.day(2), world.day(2.1))
    return [
        *(one(CauseKind.ITEM, heat.pk, steel=True) for heat in world.heats),
        *(one(CauseKind.ITEM, item.pk) for item in things),
        one(CauseKind.MATCHED_SET, *Part.objects.filter(set_mark="SET1").values_list("pk", flat=True)),
        one(CauseKind.SUPPLIER, *melts_of(supplier), *(row.pk for row in theirs), steel=True),
        *(one(CauseKind.GAUGE, gauge.pk) for gauge in world.gauges),
        *(one(CauseKind.PERSON, person.pk) for person in world.people),
        *(one(CauseKind.PROCEDURE, found.pk) for found in world.procedures),
        *(one(CauseKind.TERMINAL, found.pk) for found in world.terminals),
        *(one(CauseKind.REVISION, found.pk) for found in world.revisions),
        one(CauseKind.STATION_SHIFT, Station.objects.get().pk, shifts=shift),
    ]


def told(found: Reached) -> dict[str, str]:
    """Serial: now, former or doubt, as the places say."""
    words = {row.axle: FORMER for row in found.at_spot(Spot.FORMERLY) if row.axle}
    words |= {row.axle: DOUBT for row in found.at_spot(Spot.UNKNOWN) if row.is_axle and row.axle not in words}
    return words | {row.axle: NOW for spot in _SURE for row in found.at_spot(spot)}


@pytest.mark.parametrize("seed", SEEDS)
def test_every_cause_alone(seed: int) -> None:
    world = shop(seed)
    narrow = Between(world.day(1), world.day(3.3))
    for between in (Between(), narrow):
        for cause in every_cause(world, between):
            assert told(reach(Question([cause]))) == axles_touched(cause), f"seed {seed}: {cause}"


@pytest.mark.parametrize("seed", SEEDS)
def test_two_causes_together(seed: int) -> None:
    world = shop(seed)
    causes = every_cause(world, Between())
    for _ in range(12):
        pair = world.chance.sample(causes, 2)
        one, other = (axles_touched(cause) for cause in pair)
        either = reach(Question(pair, Together.EITHER))
        assert set(told(either)) == one.keys() | other.keys(), f"seed {seed}: {pair}"
        both = reach(Question(pair, Together.BOTH))
        assert set(told(both)) == one.keys() & other.keys(), f"seed {seed}: {pair}"
        sure = {serial for serial in one.keys() & other.keys() if one[serial] == other[serial] == NOW}
        assert {row.axle for spot in _SURE for row in both.at_spot(spot)} == sure


@pytest.mark.parametrize("seed", SEEDS)
def test_a_lot_and_a_person_at_the_same_work(seed: int) -> None:
    """By brute force: the passes in which the lot was fitted by, or with a hand of, the person."""
    world = shop(seed)
    for lot in world.lots:
        for person in world.people:
            expected = set()
            for visit in Visit.objects.all():
                mine = {span.person_id for span in visit.spans.all()}
                mine |= {row.person_id for link in visit.sheet_links.all() for row in link.sheet.readings.all()}
                mine |= {row.welder_id for row in visit.welds.all()}
                mine |= {row.person_id for row in visit.fitted.all()}
                mine |= {row.removal.person_id for row in visit.fitted.all() if hasattr(row, "removal")}
                if person.pk in mine and _had_of(visit, lot):
                    expected |= {visit.axle.serial} if visit.axle is not None else set()
                    stays = Parted.objects.filter(unit=visit.item_id, at__gt=visit.claimed_at)
                    expected |= {stay.axle.serial for stay in stays}
            causes = [Cause(CauseKind.ITEM, (lot.pk,), "lot"), Cause(CauseKind.PERSON, (person.pk,), "person")]
            assert set(told(reach(Question(causes, Together.SAME_WORK)))) == expected


def _had_of(visit: Visit, lot: Item) -> bool:
    """Something of the lot was fitted in this pass, or in a part that was, or its wire was welded."""
    went_in = [*(row.part for row in visit.fitted.all()), *(weld.wire for weld in visit.welds.all() if weld.wire)]
    return any(_is_of(item, lot) for item in went_in)


def _is_of(item: Item, lot: Item) -> bool:
    if item.pk == lot.pk or (item.kind == "drum" and item.drum.lot_id == lot.pk):
        return True
    return any(_is_of(row.part, lot) for row in item.parts_in.all())


def test_a_day_after_the_work_finds_nothing() -> None:
    """The control of the ranges: the same questions over days on which nobody worked."""
    world = shop(1)
    empty = Between(world.day(200), world.day(201))
    for cause in every_cause(world, empty):
        if cause.kind not in (CauseKind.STATION_SHIFT,) and not cause.is_thing:
            assert reach(Question([cause])).rows == ()
    assert reach(Question([every_cause(world, empty)[-3]])).axles == []
    assert timedelta(days=1) < world.day(201) - world.day(0)


def test_a_part_that_went_into_a_unit_after_it_had_left_was_never_in_the_axle_it_left() -> None:
    """The control of the walk in time: along the bare edges the donor would be told."""
    world = shop(0)
    moved = Parted.objects.order_by("pk").first()
    assert moved is not None
    part = thing("part", "LATE-1", "gear")
    Part.objects.create(item=part, kind=world.kinds["gear"])
    Fitted.objects.create(
        part=part, host=moved.unit.item, role="gear", person=world.people[0], at=moved.at + timedelta(minutes=1)
    )
    afresh()
    cause = Cause(CauseKind.ITEM, (part.pk,), "late")
    assert moved.axle.serial not in told(reach(Question([cause])))
    assert told(reach(Question([cause]))) == axles_touched(cause)
    assert moved.axle_id in {row[2] for row in rows(edges([part.pk], Between()))}
