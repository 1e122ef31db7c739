"""What re-opens, and nothing else: the made-invalid-by table of the shipped axle, by cause, as literals."""

from __future__ import annotations

import pytest

from builds.actions.reopening import keys_back, reopen_for_cause
from builds.definitions.plan import BuildPlan, for_options
from builds.definitions.reading import read_file
from builds.models import Visit
from tests.shopfloor import SORREL, Floor, open_shop

LOCKING = {"differential": "locking_air", "air_port": "yes"}
TUBE_LEFT = {"30", "40", "50", "60", "70", "80", "90"}
# House rules, "Made invalid", written out operation by operation.
TABLE = {
    "gear_set": {210, 220, 250, 260, 270, 280, 290, 300, 310, 320, 330, 400, 410},
    "differential": {200, 210, 220, 230, 260, 270, 290, 300, 310, 330, 400, 410},
    "cap_bolts": {290, 300, 330},
    "weld_repair": {90, 100, 160, 165, 170, 180, 190, 410},
    "tube": {30, 40, 50, 60, 70, 80, 90, 100, 110, 120, 130, 140, 150, 160, 165, 170, 180, 190, 240, 250, 260, 270,
             280, 290, 300, 310, 320, 330, 400, 410},
}  # fmt: skip
HUBS = {340, 350, 360}


@pytest.fixture(scope="module")
def plan() -> BuildPlan:
    return for_options(read_file(SORREL), LOCKING)


def numbers(keys: frozenset[str]) -> set[int]:
    return {int(key.partition("/")[0]) for key in keys}


@pytest.mark.parametrize("cause", TABLE)
def test_the_cause_re_opens_exactly_its_operations(plan: BuildPlan, cause: str) -> None:
    assert numbers(plan.made_invalid_by(cause, "left")) == TABLE[cause]


@pytest.mark.parametrize("cause", TABLE)
def test_hubs_stay(plan: BuildPlan, cause: str) -> None:
    assert not numbers(plan.made_invalid_by(cause, "left")) & HUBS


def test_a_tube_re_opens_its_own_side_only(plan: BuildPlan) -> None:
    keys = plan.made_invalid_by("tube", "left")
    assert {f"{number}/left" for number in TUBE_LEFT} <= keys
    assert not {f"{number}/right" for number in TUBE_LEFT} & keys


def test_a_weld_repair_asks_two_single_readings_again(plan: BuildPlan) -> None:
    codes = {code for _, code in plan.characteristics_made_invalid_by("weld_repair")}
    assert codes == {"110.3", "150.2"}


def test_a_change_of_depth_re_opens_what_follows(plan: BuildPlan) -> None:
    rule = next(found for found in plan.card.invalidates if 260 in found.changed_at)
    assert numbers(plan.made_invalid_by(rule.cause)) == {280, 290, 300, 320, 330}


def test_going_back_re_opens_the_way_there(plan: BuildPlan) -> None:
    assert numbers(keys_back(plan, "300/", 260)) == {260, 270, 280, 290, 300, 320, 330}


def test_back_to_itself_re_opens_only_itself(plan: BuildPlan) -> None:
    assert keys_back(plan, "50/left", 50) == {"50/left"}


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.mark.django_db
def test_only_what_was_done_is_re_opened(floor: Floor) -> None:
    builder = floor.builder(floor.axle())
    builder.kit()
    for key in ("10/", "200/", "210/", "220/", "340/left"):
        builder.do(key)
    found = reopen_for_cause(
        bench=builder.axle, cause="gear_set", reason="changed", by=floor.who("wenzel"), now=builder.now
    )
    assert found == ["210/", "220/"]
    done = Visit.objects.filter(axle=builder.axle, state="done").values_list("operation__number", flat=True)
    assert sorted(done) == [10, 200, 340]
