"""The tooth that is pressed on: the card's own words, each at its place, for both cuts of gear."""

from __future__ import annotations

import pytest

from builds.definitions.reading import read_file
from builds.views.station_tooth import tooth_of
from tests.shopfloor import SORREL, TEASEL

CARDS = [read_file(SORREL), read_file(TEASEL)]
#: Top row first, toe first. Toe is the inner end and left, top is the crown of the tooth.
GRID = [
    ["high toe", "high middle", "high heel"],
    ["toe", "centre, centre slanted", "heel"],
    ["low toe", "low middle", "low heel"],
]


@pytest.mark.parametrize("card", CARDS, ids=["sorrel", "teasel"])
@pytest.mark.parametrize("code", ["270.b", "300.a"])
def test_every_word_of_the_card_stands_at_its_place_on_the_tooth(card: object, code: str) -> None:
    choices = card.characteristic(code).choices  # type: ignore[attr-defined]
    tooth = tooth_of(choices, "drive", "face-hobbed")
    assert tooth is not None
    assert [[", ".join(choice["word"] for choice in cell) for cell in row] for row in tooth["rows"]] == GRID
    assert [edge["word"] for edge in tooth["edges"]] == ["edge line or double mark"]


def test_a_word_that_is_no_mark_leaves_the_plain_keys() -> None:
    assert tooth_of(("high toe", "high heel"), "coast", "face-milled") is not None
    assert tooth_of(("high toe", "somewhere"), "coast", "face-milled") is None


def test_the_heel_of_a_milled_tooth_is_taller_and_its_mark_lies_straight() -> None:
    milled, hobbed = (tooth_of(("heel", "toe"), "drive", cut) for cut in ("face-milled", "face-hobbed"))
    assert milled is not None
    assert hobbed is not None
    assert "M2,18 L298,2" in milled["flank"]
    assert "M2,2 L298,2" in hobbed["flank"]
    assert "rotate" not in milled["rows"][1][0][0]["spot"]
    assert "rotate" in hobbed["rows"][1][0][0]["spot"]
