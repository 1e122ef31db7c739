"""Units that may be built for stock: what is asked of one by itself, and which a card cannot build so."""

from __future__ import annotations

import pytest

from builds.definitions.plan import for_options
from builds.definitions.reading import read_text
from builds.definitions.table import DefinitionError
from builds.definitions.unit_plan import buildable, counts_anywhere, hands_alike, plan_of_unit
from tests.builds.definitions.cards import SHIPPED, SORREL, THIRD_FILE

PLAN = for_options(SORREL, {})
TEXT = (SHIPPED / "sorrel_960.toml").read_text("utf-8")


def test_a_hub_by_itself_waits_for_its_own_work_only() -> None:
    own = plan_of_unit(PLAN, "hub", "")
    assert [(slot.key, slot.starts_after) for slot in own.slots] == [
        ("340/", ()), ("350/", ("340/",)), ("360/", ("350/",)),
    ]  # fmt: skip
    assert {need.side for slot in own.slots for need in slot.needs} == {""}


def test_of_a_side_it_keeps_its_side() -> None:
    assert list(plan_of_unit(PLAN, "hub", "right").by_key) == ["340/right", "350/right", "360/right"]


@pytest.mark.parametrize(("role", "alike"), [("hub", True), ("carrier", True), ("tube", False)])
def test_whether_the_hands_ask_the_same(role: str, alike: bool) -> None:
    """A tube's readings of its housing are left or right."""
    assert hands_alike(PLAN, role) is alike


def test_what_does_not_matter_to_it_is_chosen_so_that_it_can_be_built() -> None:
    """The locking differential needs an air port in the housing, which is not the differential's."""
    found = buildable(SORREL, "carrier", {"differential": "locking_air"})
    assert found is not None
    assert (found["differential"], found["air_port"]) == ("locking_air", "yes")
    assert buildable(SORREL, "carrier", {"ratio": "4.875", "case": "heavy"}) is None


def named(cause: str) -> frozenset[str]:
    return PLAN.made_invalid_by(cause)


def test_a_preload_after_the_depth_trial_counts_in_one_axle_only() -> None:
    """Of what the table names, the ring gear's seat counts with its carrier, a tube's own work with the tube."""
    assert counts_anywhere(PLAN, named("gear_set")) == {"210/", "220/"}
    assert counts_anywhere(PLAN, named("differential")) == {"200/", "210/", "220/", "230/"}
    assert counts_anywhere(PLAN, named("tube")) == {
        f"{number}/{side}" for number in range(30, 101, 10) for side in ("left", "right")
    }
    alone = named("gear_set") - {key for key in named("gear_set") if PLAN.slot(key).unit == "axle"}
    assert counts_anywhere(PLAN, alone) == alone - {"280/"}, "it follows the ring gear's seat as well"


def refused(text: str) -> str:
    with pytest.raises(DefinitionError) as caught:
        read_text(text, "card.toml")
    return str(caught.value)


def test_a_tube_is_not_built_without_its_housing() -> None:
    said = refused(TEXT.replace('name = "tube with spindle"\n', 'name = "tube with spindle"\nfor_stock = true\n'))
    assert "expected all its parts in itself: 40.2 is given by centre_housing of the axle" in said


def test_a_hold_that_looks_at_the_axles_work_keeps_it_in_the_axle() -> None:
    text = THIRD_FILE.read_text("utf-8")
    assert text.count("looks_at = [27]") == 1
    said = refused(
        text.replace("looks_at = [27]", "looks_at = [7]").replace(
            'name = "stub with flange"\n', 'name = "stub with flange"\nfor_stock = true\n'
        )
    )
    assert "the one of operation 37 looks at operations of the axle" in said
