"""Interchange rules in a card: read, written again alike, and every slip of the pen told with line and key."""

from __future__ import annotations

import pytest

from builds.definitions.plan import for_options
from builds.definitions.reading import read_text
from builds.definitions.table import DefinitionError
from builds.definitions.writing import write_card
from tests.builds.cards import SMALL_CARD

KINDS = """
[[part_kind]]
code = "ring_late"
name = "Ring gear, later"
tracking = "serial"

[[part_kind]]
code = "pinion_late"
name = "Pinion, later"
tracking = "serial"

[[part_kind]]
code = "bearing_hd"
name = "Heavy bearing"
tracking = "lot"
"""
SETS = """
[[interchange]]
name = "later gear sets"
needs = ["ring_gear", "pinion"]
takes = ["ring_late", "pinion_late"]
together = true
"""
HEAVY = """
[[interchange]]
name = "heavy bearings"
needs = ["bearing"]
takes = ["bearing_hd"]
when = { ratio = "high" }
"""
UNIT = """
[[interchange]]
name = "carriers of A"
unit = "carrier"
of = ["small_axle/A"]
same_options = ["ratio"]
redo = [30]
"""
TEXT = SMALL_CARD + KINDS + SETS + HEAVY + UNIT


def test_the_rules_are_read_and_written_again_alike() -> None:
    card = read_text(TEXT, "small.toml")
    assert [rule.name for rule in card.interchanges] == ["later gear sets", "heavy bearings", "carriers of A"]
    assert card.interchanges[0].pairs == {"ring_gear": "ring_late", "pinion": "pinion_late"}
    assert read_text(write_card(card), "again.toml") == card


def test_a_need_takes_what_the_rule_says_under_its_options() -> None:
    card = read_text(TEXT, "small.toml")
    for ratio, taken in (("low", False), ("high", True)):
        needs = [need for slot in for_options(card, {"ratio": ratio}).slots for need in slot.needs]
        bearing = next(need for need in needs if need.need.part_kind == "bearing")
        assert bearing.takes("bearing_hd") is taken
        assert bearing.takes("bearing")
        ring = next(need for need in needs if need.need.part_kind == "ring_gear")
        assert ring.takes("ring_late")
        assert not ring.takes("pinion_late")


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ('unit = "carrier"', 'unit = "gearbox"', "unit", "gearbox"),
        ('of = ["small_axle/A"]', 'of = ["small_axle"]', "of", "a card and its revision"),
        ('of = ["small_axle/A"]\n', "", "of", "none is named"),
        ('same_options = ["ratio"]', 'same_options = ["colour"]', "same_options", "colour"),
        ("redo = [30]", "redo = [40]", "redo", "done per carrier, found 40"),
        ("redo = [30]", "together = true", "together", "only in a rule of parts"),
        ('takes = ["bearing_hd"]', 'takes = ["bearing_hd", "grease"]', "takes", "one part for each"),
        ('takes = ["bearing_hd"]', 'takes = ["ring_late"]', "takes", "kept track of as bearing is: lot"),
        ('takes = ["bearing_hd"]', 'takes = ["bearing"]', "takes", "another kind than bearing"),
        ('takes = ["bearing_hd"]', 'takes = ["nut"]', "takes", "nut"),
        ('needs = ["bearing"]', 'needs = ["tube_stock"]', "needs", "tube_stock is steel"),
        ('when = { ratio = "high" }', "together = true", "together", "two parts or more"),
        ('when = { ratio = "high" }', 'when = { ratio = "huge" }', "when", "huge"),
        ('when = { ratio = "high" }', "redo = [30]", "redo", "only in a rule of units"),
        ('unit = "carrier"', 'unit = "carrier"\nneeds = ["bearing"]\ntakes = ["bearing_hd"]', "unit", "either a unit"),
        ('name = "heavy bearings"', 'name = "later gear sets"', "name", "stands twice"),
        ('name = "heavy bearings"', f'name = "{"x" * 121}"', "name", "at most 120"),
    ],
)  # fmt: skip
def test_a_slip_is_told_with_line_and_key(old: str, new: str, key: str, said: str) -> None:
    assert TEXT.count(old) >= 1
    broken = "".join(TEXT.rpartition(old)[:1]) + new + TEXT.rpartition(old)[2]
    with pytest.raises(DefinitionError) as refused:
        read_text(broken, "small.toml")
    first_rule = SMALL_CARD.count("\n") + KINDS.count("\n")
    told = [fault for fault in refused.value.faults if fault.key == key]
    assert told, refused.value.faults
    assert any(said in fault.expected and fault.line > first_rule for fault in told), told
