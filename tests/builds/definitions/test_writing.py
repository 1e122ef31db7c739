"""Canonical text: reading it gives an equal card; and what two revisions differ by."""

import tomllib
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.definitions.card import Card
from builds.definitions.difference import differences
from builds.definitions.reading import read_text
from builds.definitions.writing import value_text, write_card
from tests.builds.definitions.cards import SHIPPED, SORREL, TEASEL, THIRD, THIRD_FILE

ALL = pytest.mark.parametrize("card", [SORREL, TEASEL, THIRD], ids=["sorrel", "teasel", "third"])


@ALL
def test_text_to_card_to_text_to_card_is_equal(card: Card) -> None:
    text = write_card(card)
    again = read_text(text, "again.toml")
    assert again == card
    assert write_card(again) == text


@pytest.mark.parametrize("name", ["sorrel_960", "teasel_680"])
def test_the_shipped_files_are_canonical_below_their_first_remark(name: str) -> None:
    text = (SHIPPED / f"{name}.toml").read_text(encoding="utf-8")
    body = text[text.index("[axle]") :]
    assert body == write_card(read_text(text, name))


def test_figures_keep_the_decimals_of_the_drawing() -> None:
    assert "high = 3.5000\n" not in write_card(SORREL)
    assert "low = 3.5000\n" in write_card(SORREL)


@given(st.text())
def test_any_text_survives(text: str) -> None:
    assert tomllib.loads(f"a = {value_text(text)}")["a"] == text


@given(st.decimals(min_value=-1000, max_value=1000, places=6))
def test_any_figure_survives_exactly(number: Decimal) -> None:
    assert tomllib.loads(f"a = {value_text(number)}", parse_float=Decimal)["a"] == number


THIRD_TEXT = THIRD_FILE.read_text(encoding="utf-8")

CHANGES = [
    ("high = 60.04", "high = 60.05", ["changed 17.1 high 60.040 -> 60.050"]),
    ("tolerance = 3", "tolerance = 4", ["changed 47.1 low 47 -> 46", "changed 47.1 high 53 -> 54"]),
    ('name = "Set the worm"', 'name = "Set it"', ["changed operation 57 name Set the worm -> Set it"]),
    ("minutes = 30", "minutes = 45", ["changed wait of operation 77 minutes 30 -> 45"]),
    ("quantity = 5", "quantity = 6", ["changed operation 47 part bolt quantity 5 -> 6"]),
    ('revision = "1"', 'revision = "2"', ["changed axle revision 1 -> 2"]),
    ('positions = ["A", "B"]', 'positions = ["A", "B", "C"]',
     ['changed 17.1 positions ["A", "B"] -> ["A", "B", "C"]']),
    ('caution = ["Pinch"]\n', "", ['changed operation 47 caution ["Pinch"] -> nothing']),
    ("operations = [47, 57]", "operations = [57]",
     ["changed made invalid by worm_set operations [47, 57] -> [57]"]),
    ("looks_at = [47, 57]", "looks_at = [57]", ["changed operation 57 hold looks_at [47, 57] -> [57]"]),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "lines"), CHANGES)
def test_a_change_is_one_line(old: str, new: str, lines: list[str]) -> None:
    assert old in THIRD_TEXT
    assert list(differences(THIRD, read_text(THIRD_TEXT.replace(old, new, 1), "new.toml"))) == lines


def test_added_and_removed_operations() -> None:
    shorter = replace(THIRD, operations=tuple(o for o in THIRD.operations if o.number != 67))
    removed = differences(THIRD, shorter)
    assert "removed operation 67 Fit the breather" in removed
    assert "removed 67.1 Breather open" in removed
    assert "added operation 67 Fit the breather" in differences(shorter, THIRD)


def test_a_changed_order_is_told() -> None:
    turned = replace(THIRD, stations=THIRD.stations[::-1])
    assert differences(THIRD, turned) == ("changed the order of what stays",)


@ALL
def test_equal_cards_do_not_differ(card: Card) -> None:
    assert differences(card, replace(card)) == ()
