"""The computations a card may name are those the engineering tables work out, with the same inputs."""

import pytest

from builds.definitions.card import Card
from builds.definitions.computations import COMPUTATIONS, feeds
from builds.definitions.words import UNITS
from measurements.engineering import computations as engineering
from measurements.engineering.units import unit_named
from tests.builds.definitions.cards import SORREL, TEASEL, THIRD


def test_the_names_agree() -> None:
    assert set(COMPUTATIONS) == set(engineering.COMPUTATIONS)


@pytest.mark.parametrize("name", sorted(set(COMPUTATIONS) - {"hours_since_last_arc"}))
def test_the_inputs_and_constants_agree(name: str) -> None:
    ours, theirs = COMPUTATIONS[name], engineering.COMPUTATIONS[name]
    assert set(ours.inputs) == set(theirs.inputs) - set(theirs.optional_inputs)
    assert set(ours.may_have) == set(theirs.optional_inputs)
    assert set(ours.constants) == set(theirs.constants)


def test_hours_count_from_an_event_instead_of_readings() -> None:
    assert COMPUTATIONS["hours_since_last_arc"].event
    assert COMPUTATIONS["hours_since_last_arc"].inputs == ()


@pytest.mark.parametrize("card", [SORREL, TEASEL, THIRD])
def test_every_computation_of_the_cards_is_accepted(card: Card) -> None:
    computed = [c.computation for o in card.operations for c in o.characteristics if c.computation]
    assert computed
    for computation in computed:
        if not computation.event:
            engineering.check_card(
                computation.name, dict(computation.inputs), [name for name, _ in computation.constants]
            )


@pytest.mark.parametrize("unit", UNITS)
def test_every_unit_can_be_converted(unit: str) -> None:
    assert unit_named(unit)


@pytest.mark.parametrize(
    ("label", "position", "feeding"),
    [
        ("left 3", "left 3", True),
        ("left 3", "left", True),
        ("left 3", "", True),
        ("", "left 3", True),
        ("left 3", "right", False),
        ("left 13", "left 1", False),
        ("lefty", "left", False),
    ],
)
def test_which_readings_feed_which_position(label: str, position: str, feeding: bool) -> None:
    assert feeds(label, position) is feeding
