"""A tube that joins another axle was turned for another housing: its interference is worked out again with that one's
bore, and nothing else that was done on the tube is asked again."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.actions import joining
from builds.actions.exchanging import _require_read_nowhere_else
from builds.actions.joining import Spot, join_unit, own_unit
from builds.actions.kitting import return_part
from builds.actions.parting import UnitOut, part_unit, whole
from builds.definitions.plan import for_options
from builds.definitions.reading import read_file
from builds.definitions.unit_plan import read_with_its_axle
from builds.errors import NotReady
from builds.models import Axle, KitLine, Reopening, Unit, Visit
from builds.reports.facts import standing
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from measurements.models import Reading
from tests.shopfloor import SORREL, TEASEL, THIRD, Floor, open_shop

pytestmark = pytest.mark.django_db
OWN = tuple(f"{number}/left" for number in range(30, 91, 10))


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def tube(floor: Floor) -> Unit:
    """A left tube with its spindle, done, in stock: turned to 3.5033 and for a housing bored 3.5007, so .0026."""
    builder = floor.builder(floor.axle(), c40_1="3.5033", c40_2="3.5007")
    builder.kit()
    builder.run(until=100)
    floor.now = builder.now
    unit = own_unit(Spot(builder.axle, "left"), "tube")
    part_unit(unit=unit, out=UnitOut("the axle waits", "stock", "not used"), by=floor.who("tam"), now=builder.now)
    return whole(unit.pk)


@pytest.fixture(scope="module")
def taker(floor: Floor, tube: Unit) -> Builder:
    """An axle whose own housing is bored 3.5012."""
    builder = floor.builder(floor.axle(), c40_1="3.5033", c40_2="3.5012")
    builder.kit()
    builder.do("10/")
    builder.do("20/")
    for line in KitLine.objects.filter(host=own_unit(Spot(builder.axle, "left"), "tube").item, returned_at=None):
        return_part(line=line, by=floor.who("jory"), now=builder.now)  # its own tube's spindle: the other has one
    return builder


def joined(floor: Floor, tube: Unit, taker: Builder) -> Axle:
    by = floor.who("tam")
    join_unit(unit=whole(tube.pk), spot=Spot(taker.axle, "left"), reason="the rush", by=by, now=taker.now)
    return Axle.objects.get(pk=taker.axle.pk)


def interferences(tube: Unit) -> list[Decimal | None]:
    rows = Reading.objects.filter(item=tube.item, characteristic__code="40.3").order_by("pk")
    return [row.value for row in rows]


def test_only_its_interference_is_to_do_again(floor: Floor, tube: Unit, taker: Builder) -> None:
    axle = joined(floor, tube, taker)
    slots = standing(axle, taker.now).slots
    assert {key: str(slots[key].state) for key in OWN} == dict.fromkeys(OWN, "done") | {"40/left": "to redo"}
    (row,) = Reopening.objects.filter(visit__item=tube.item)
    assert (row.only, row.cause, row.reason) == (["40.2", "40.3"], joining.OTHER_PARTS, "the rush")
    assert not slots["100/left"].can_start


def test_it_is_worked_out_with_the_housing_that_it_goes_into(floor: Floor, tube: Unit, taker: Builder) -> None:
    """Calculated: 3.5033 - 3.5007 = .0026 as it was read with the first one; 3.5033 - 3.5012 = .0021 with this one."""
    before = interferences(tube)
    assert before == [Decimal(".0026")]
    taker.bench = joined(floor, tube, taker)
    visit = taker.do("40/left")
    assert interferences(tube) == [Decimal(".0026"), Decimal(".0021")]
    work = work_of(Visit.objects.get(pk=visit.pk))
    assert {place.asked.code for place in work.places} == {"40.2", "40.3"}
    assert standing(taker.axle, taker.now).slots["40/left"].finished


def test_one_that_does_not_fit_the_other_housing_gets_a_red_tag(floor: Floor, tube: Unit, taker: Builder) -> None:
    """Calculated: 3.5028 at least - 3.5014 at most is .0014; here 3.5033 - 3.4994 = .0039, over .0037."""
    taker.bench = joined(floor, tube, taker)
    taker.values = dict(taker.values) | {"40.2": "3.4994"}
    visit = taker.begin("40/left")
    taker.fill(visit)
    assert interferences(tube)[-1] == Decimal(".0039")
    tags = visit.axle.red_tags.filter(reading__characteristic__code="40.3")  # type: ignore[union-attr]
    assert [tag.item for tag in tags] == [tube.item]


def test_control_as_it_was_the_first_housings_figure_stood(
    floor: Floor, tube: Unit, taker: Builder, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(joining, "read_with_its_axle", lambda plan, role, side: {})
    axle = joined(floor, tube, taker)
    assert all(standing(axle, taker.now).slots[key].finished for key in OWN)
    assert interferences(tube) == [Decimal(".0026")]


def test_where_it_left_the_other_side_is_not_asked_again(floor: Floor, tube: Unit, taker: Builder) -> None:
    joined(floor, tube, taker)
    assert not Reopening.objects.filter(visit__operation__number=40, visit__item__unit__side="right").exists()


@pytest.mark.parametrize("card", [SORREL, TEASEL])
def test_of_the_shipped_cards_it_is_the_tube_alone(card: object) -> None:
    """The spindle's own bore (50.6) goes along with it; nothing of a differential, a pack or a hub is of outside."""
    plan = for_options(read_file(card), {})  # type: ignore[arg-type]
    found = {
        (unit.role, side): read_with_its_axle(plan, unit.role, side)
        for unit in plan.card.units
        for side in unit.sides or ("",)
    }
    codes = ["40.2", "40.3"]
    assert {key: value for key, value in found.items() if value} == {
        ("tube", "left"): {"40/left": codes}, ("tube", "right"): {"40/right": codes},
    }  # fmt: skip


def test_a_card_without_such_a_value_names_nothing() -> None:
    plan = for_options(read_file(THIRD), {})
    assert all(
        not read_with_its_axle(plan, unit.role, side) for unit in plan.card.units for side in unit.sides or ("",)
    )


def test_after_the_axle_has_left_nobody_reads_it_so_it_is_not_exchanged(
    floor: Floor, tube: Unit, taker: Builder
) -> None:
    """What an exchange asks: the operations that would be read again out there."""
    with pytest.raises(NotReady, match=r"Operation 40 of .* is read in its axle, and out there nobody does it"):
        _require_read_nowhere_else(whole(tube.pk), taker.axle, "left")
