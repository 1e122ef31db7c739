"""A card with its options chosen, resolved for one axle."""

from dataclasses import replace

import pytest

from builds.definitions.plan import BuildPlan, for_options, refuse, slot_key
from tests.builds.definitions.cards import SORREL, TEASEL, THIRD

OPEN = for_options(SORREL, {})
LOCKING = for_options(SORREL, {"differential": "locking_air", "air_port": "yes", "brackets": "RB-2"})


def keys(plan: BuildPlan) -> list[str]:
    return [slot.key for slot in plan.slots]


def test_an_operation_of_two_units_is_two_slots() -> None:
    assert [slot.key for slot in OPEN.of_operation(30)] == ["30/left", "30/right"]
    assert [slot.key for slot in OPEN.of_operation(200)] == ["200/"]
    assert [slot.unit for slot in OPEN.of_operation(340)] == ["hub", "hub"]
    assert slot_key(10, "") == "10/"


def test_slots_stand_in_the_order_of_the_card() -> None:
    numbers = [slot.operation.number for slot in OPEN.slots]
    assert numbers == sorted(numbers)
    assert len(OPEN.slots) == 43 + 8 + 3  # 8 tube and 3 hub operations are done twice


def test_one_side_only() -> None:
    plan = for_options(THIRD, {})
    assert [slot.key for slot in plan.slots] == [
        "7/", "17/left", "27/left", "37/left", "47/", "57/", "67/", "77/", "87/",
    ]  # fmt: skip
    assert plan.slot("47/").planned("47.1").labels == ("1", "2", "3", "4", "5")


def test_an_option_adds_an_operation() -> None:
    assert "310/" not in keys(OPEN)
    assert "310/" in keys(LOCKING)


def test_an_operation_left_out_hands_on_what_came_before_it() -> None:
    assert LOCKING.slot("320/").starts_after == ("310/", "300/")
    assert OPEN.slot("320/").starts_after == ("300/",)
    bare = for_options(THIRD, {"breather": "no"})
    assert bare.slot("77/").starts_after == ("57/",)


def test_tube_operations_wait_for_their_own_side() -> None:
    assert OPEN.slot("40/left").starts_after == ("30/left",)
    assert set(OPEN.slot("110/").starts_after) == {"100/left", "100/right"}


@pytest.mark.parametrize("plan", [OPEN, LOCKING, for_options(TEASEL, {})])
def test_branches_start_after_the_kit_and_join(plan: BuildPlan) -> None:
    assert plan.slot("200/").starts_after == ("10/",)
    assert plan.slot("340/left").starts_after == ("10/",)
    assert set(plan.slot("250/").starts_after) == {"240/", "230/"}
    assert {"360/left", "360/right"} <= set(plan.slot("380/").starts_after)
    assert "230/" not in plan.before("240/")
    assert "230/" in plan.before("410/")


def test_the_second_look_comes_before_the_wash() -> None:
    assert "165/" in OPEN.before("170/")
    assert [after.minutes for after in OPEN.waits(165)] == [2880]
    assert OPEN.waits(170) == ()


def test_side_lengths_are_asked_of_their_own_side() -> None:
    assert {planned.code for planned in OPEN.slot("30/left").characteristics} == {"30.1", "30.a"}
    assert {planned.code for planned in OPEN.slot("30/right").characteristics} == {"30.2", "30.a"}


def test_the_housing_bore_of_the_units_own_neck_is_cited() -> None:
    planned = OPEN.slot("40/right").planned("40.2")
    assert planned.labels == ("A", "B")
    assert planned.labels_on_item == ("right A", "right B")


def test_needs_carry_their_side() -> None:
    shafts = [(n.need.role, n.side) for n in OPEN.slot("400/").needs if n.need.role == "axle_shaft"]
    assert shafts == [("axle_shaft", "left"), ("axle_shaft", "right")]
    assert [n.side for n in OPEN.slot("340/right").needs] == ["right", "right"]


def test_brackets_needed_and_photographed_follow_the_family() -> None:
    assert [n.need.quantity for n in LOCKING.slot("150/").needs if n.need.role == "bracket"] == [4]
    assert [n.need.quantity for n in OPEN.slot("150/").needs if n.need.role == "bracket"] == [2]
    assert [photo.name for photo in OPEN.slot("150/").photos] == [
        "overall", "bracket left 1", "bracket right 1",
    ]  # fmt: skip
    assert len(LOCKING.slot("150/").photos) == 5


def test_what_a_tube_of_one_side_reopens() -> None:
    again = OPEN.made_invalid_by("tube", "right")
    assert {"30/right", "90/right", "100/left", "100/right", "240/", "410/"} <= again
    assert not again & {"30/left", "90/left", "200/", "340/left", "340/right", "420/"}


def test_a_tube_of_an_unknown_side_reopens_both() -> None:
    sided = {"30/left", "30/right", "90/left", "90/right"}
    assert sided <= OPEN.made_invalid_by("tube")
    assert sided & OPEN.made_invalid_by("tube", "left") == {"30/left", "90/left"}


def test_what_a_weld_repair_reopens_singly() -> None:
    assert OPEN.characteristics_made_invalid_by("weld_repair") == {("110/", "110.3"), ("150/", "150.2")}
    assert "110/" not in OPEN.made_invalid_by("weld_repair")


def test_the_hubs_stay_whatever_changes() -> None:
    for cause in ("gear_set", "differential", "tube", "weld_repair", "cap_bolts"):
        assert not any(key.startswith(("340", "350", "360")) for key in OPEN.made_invalid_by(cause, "left"))


def test_options_that_cannot_be_built_are_refused_with_the_reason() -> None:
    assert refuse(SORREL, {"differential": "locking_air"}) == [
        "The locking differential is worked by air and the housing has no air port. "
        "Choose the air port as well, or another differential."
    ]
    assert refuse(SORREL, {"differential": "locking_air", "air_port": "yes"}) == []


@pytest.mark.parametrize(
    "chosen",
    [
        {"shaft_spline": "31", "differential": "limited_slip"},
        {"ratio": "4.875", "case": "heavy"},
        {"differential": "locking_air", "air_port": "no"},
        {"brackets": "own_tack_only"},
    ],
)
def test_the_four_impossible_combinations(chosen: dict[str, str]) -> None:
    assert len(refuse(SORREL, chosen)) == 1
    with pytest.raises(ValueError, match=r"\."):
        for_options(SORREL, chosen)


def test_unknown_options_are_refused_by_name() -> None:
    assert refuse(SORREL, {"colour": "red"}) == ["This axle has no option called colour."]
    assert refuse(SORREL, {"ratio": "5"}) == ["Ratio cannot be '5'; choose one of: 3.70, 4.30, 4.875."]


def test_plans_of_equal_cards_are_equal() -> None:
    assert for_options(replace(SORREL), {}) == OPEN


@pytest.mark.parametrize("plan", [OPEN, LOCKING, for_options(TEASEL, {}), for_options(THIRD, {})])
def test_what_is_kept_of_a_plan_is_what_its_slots_say(plan: BuildPlan) -> None:
    stations = {slot.operation.station for slot in plan.slots}
    assert [slot for station in stations for slot in plan.at_station(station)] == [
        slot for station in stations for slot in plan.slots if slot.operation.station == station
    ]
    assert plan.at_station("no such station") == ()
    kitted = {slot.key: [found for found in slot.needs if found.need.kit] for slot in plan.slots}
    told = {slot.key: [role for role, _ in needs] for slot, needs in plan.from_kit}
    assert told == {key: [plan.by_key[key].role_of(found) for found in needs] for key, needs in kitted.items() if needs}
    rank = list(plan.by_key).index
    assert all(list(plan.near[key]) == sorted(slot.starts_after, key=rank) for key, slot in plan.by_key.items())
