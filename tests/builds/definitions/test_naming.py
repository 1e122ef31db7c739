"""A card's name beside one side: the side is said once, by rule (builds.definitions.naming)."""

from __future__ import annotations

import re

import pytest

from builds.definitions.card import Card
from builds.definitions.naming import of_one_side, says_side, with_side
from builds.definitions.plan import for_options
from builds.definitions.words import SIDES
from tests.builds.definitions.cards import SORREL, TEASEL, THIRD


@pytest.mark.parametrize(
    ("name", "side", "said"),
    [
        ("Press spindles (left, right)", "left", "Press spindles, left"),
        ("Press spindles (left, right)", "right", "Press spindles, right"),
        ("Press spindles (left, right)", "", "Press spindles (left, right)"),
        ("Fit stubs (right/left)", "left", "Fit stubs, left"),
        ("Fit stubs ( Left and Right )", "right", "Fit stubs, right"),
        ("Fit stubs (left, and right) and caps", "right", "Fit stubs and caps, right"),
        ("Saw tubes left and right; carry the mark", "left", "Saw tubes left; carry the mark"),
        ("Saw tubes", "left", "Saw tubes, left"),
        ("Saw tubes", "", "Saw tubes"),
        ("Sawn length left", "left", "Sawn length left"),
        ("Sawn length left", "right", "Sawn length left, right"),
        ("Left-over length", "left", "Left-over length, left"),
        ("Leftover length", "left", "Leftover length, left"),
        ("Upright (left)", "right", "Upright (left), right"),
        ("Turn to the left, rightly", "left", "Turn to the left, rightly"),
        ("Grease (front, rear)", "left", "Grease (front, rear), left"),
    ],
)
def test_the_side_is_said_once(name: str, side: str, said: str) -> None:
    assert with_side(name, side) == said


def test_a_word_that_only_holds_the_side_does_not_say_it() -> None:
    assert says_side("bore left 1A", "left")
    assert not says_side("leftover", "left")
    assert of_one_side("leftover", "left") == "leftover"


@pytest.mark.parametrize("card", [SORREL, TEASEL, THIRD], ids=["sorrel", "teasel", "third"])
def test_no_slot_of_a_shipped_card_says_a_side_twice_or_the_other_one(card: Card) -> None:
    for slot in for_options(card, {}).slots:
        if slot.side:
            words = re.findall(r"\w+", slot.named.lower())
            assert words.count(slot.side) == 1, slot.named
            assert not set(words) & (set(SIDES) - {slot.side}), slot.named
