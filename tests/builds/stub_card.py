"""The third model with a stub that may be built for stock: its steel is looked at, sawn and held, it is welded, looked
at when it is cold, and the whole axle is bought off a day after its last arc."""

from __future__ import annotations

from tests.shopfloor import THIRD

_STEEL = """
[[part_kind]]
code = "stub_bar"
name = "bar for stubs"
tracking = "heat"
material = "e355"
"""
_LOOK = """[[operation]]
number = 12
name = "Look at the steel"
station = "CUT"
per = "stub"
zone = "tube"
starts_after = [7]
signs = ["receiver"]
minutes = [1, 2, 3]
need = [{ part_kind = "stub_bar", role = "steel" }]

[operation.hold]
kind = "first_heat"
by = ["inspector"]
looks_at = [12]

[[operation.characteristic]]
code = "12.a"
name = "Heat number on the bar equals the certificate"
kind = "yes_no"
recorded_only = true

"""
_SAWN = """
[operation.hold]
kind = "hold"
by = ["inspector"]
looks_at = [17]

[[operation.characteristic]]
code = "17.b"
name = "Sawn length"
kind = "measured"
unit = "mm"
low = 600
high = 604
decimals = 0
gauge_kind = "tape_or_rule"
on_low = "tag"
on_high = "tag"
reaction = "Red tag"
source = "test figure"
class = "F"

[[operation.characteristic]]
code = "17.c"
name = "What is left of the bar"
kind = "measured"
unit = "mm"
decimals = 0
gauge_kind = "tape_or_rule"
recorded_only = true

"""
_WAITS = """
[[after]]
operation = 37
event = "last_arc"
minutes = 60
reason = "The joint must be cold."

[[after]]
operation = 77
event = "last_arc"
minutes = 1440
reason = "Cold cracks open late."
"""


def _with(text: str, before: str, more: str) -> str:
    assert text.count(before) == 1, before
    return text.replace(before, more + before)


def stub_card() -> str:
    text = THIRD.read_text("utf-8")
    text = _with(text, 'sides = ["left"]\n\n[[unit]]\nrole = "core"', "for_stock = true\n")
    text = _with(text, '\n[[part_kind]]\ncode = "stub_flange"', _STEEL)
    text = _with(text, "[[operation]]\nnumber = 17\n", _LOOK)
    text = text.replace('starts_after = [7]\nsigns = ["tube_prep"]', 'starts_after = [12]\nsigns = ["tube_prep"]')
    sawn = 'sawn_length = ["17.b"], remnant_length = "17.c", heat_from = "steel"'
    text = text.replace('role = "tube" }', f'role = "tube", {sawn} }}')
    return _with(text, '\n[[operation.characteristic]]\ncode = "17.1"', _SAWN) + _WAITS
