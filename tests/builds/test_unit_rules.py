"""What a unit's leaving re-opens in its axle: the lists of the house rules "Made invalid", typed in here, on an axle
that was built to its end. The unit's own operations went with it and stand at the fresh one as not done.

The card has no row for a unit as such. A tube weldment is changed when its tube is, a carrier when its differential
and its ring gear are, a pinion pack when its pinion is, and those rows name the parts; what has no such part in it
re-opens all that came after it.
"""

from __future__ import annotations

from copy import deepcopy

import pytest

from builds.actions.joining import Spot, own_unit
from builds.actions.parting import CAUSE, UnitOut, part_unit
from builds.models import Reopening, Visit, VisitState
from builds.scenario.driver import Builder
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
GEAR_SET = {210, 220, *range(250, 331, 10), 400, 410}
DIFFERENTIAL = {200, 210, 220, 230, 260, 270, 290, 300, 310, 330, 400, 410}
TUBE = {*range(30, 91, 10), *range(100, 191, 10), 165, *range(240, 331, 10), 400, 410}
#: Hubs stay when something else is changed. A hub that goes itself is hung, adjusted and closed again, and whatever
#: looks at the whole axle looks again (no list in the rules: common practice, no source).
AFTER_A_HUB = {380, 390, 400, 410, 420}
OWN = {"carrier": {200, 210, 220, 230}, "pinion_pack": {280}, "tube": set(range(30, 91, 10)), "hub": {340, 350, 360}}


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


def left_by(floor: Floor, built: Builder, role: str, side: str) -> tuple[set[int], set[str], set[int]]:
    """The numbers that are to do again, under which causes, and the numbers that are still done."""
    axle = deepcopy(built.axle)
    unit = own_unit(Spot(axle, side), role)
    built_now = Visit.objects.filter(axle=axle, state=VisitState.DONE)
    before = set(built_now.values_list("pk", flat=True))
    part_unit(unit=unit, out=UnitOut("Wanted elsewhere.", "stock", "used"), by=floor.who("rusk", "GB"))
    again = Reopening.objects.filter(visit__in=before)
    numbers = set(again.values_list("visit__operation__number", flat=True))
    done = Visit.objects.filter(axle=axle, state=VisitState.DONE).values_list("operation__number", flat=True)
    return numbers, set(again.values_list("cause", flat=True)), set(done)


@pytest.mark.parametrize(
    ("role", "side", "rules"),
    [
        ("carrier", "", GEAR_SET | DIFFERENTIAL),
        ("pinion_pack", "", GEAR_SET),
        ("tube", "left", TUBE),
        ("tube", "right", TUBE),
    ],
)
def test_a_unit_re_opens_what_the_rules_name_for_what_is_in_it(
    floor: Floor, built: Builder, role: str, side: str, rules: set[int]
) -> None:
    every = set(Visit.objects.filter(axle=built.axle).values_list("operation__number", flat=True))
    again, causes, done = left_by(floor, built, role, side)
    assert again == (rules - OWN[role]) & every
    assert CAUSE not in causes
    assert {340, 350, 360} <= done, "hubs stay"
    assert done & (rules - OWN[role]) == set()


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_hub_re_opens_all_that_came_after_it_and_nothing_before(floor: Floor, built: Builder, side: str) -> None:
    every = set(Visit.objects.filter(axle=built.axle).values_list("operation__number", flat=True))
    again, causes, done = left_by(floor, built, "hub", side)
    assert again == AFTER_A_HUB & every
    assert CAUSE in causes
    assert done == every - AFTER_A_HUB, "the other hub's own operations stay"
