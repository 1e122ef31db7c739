"""Two small cards for the tests of one axle's life: one to build from, one with every way of entering a value."""

from __future__ import annotations

_HEAD = """
[axle]
code = "bench_axle"
name = "Bench axle"
revision = "A"
title = "Axle of the tests"
drawing = "DR-2"
unit_system = "in"
sides = ["left", "right"]

[[station]]
code = "B1"
name = "Bench"

[[station]]
code = "W1"
name = "Weld bench"

[[part_kind]]
code = "shaft"
name = "Axle shaft"
tracking = "serial"

[[operation]]
number = 10
name = "Bore the hub"
station = "B1"
signs = ["assembler"]
minutes = [1, 2, 3]

[[operation.characteristic]]
code = "10.1"
name = "Hub bore"
kind = "measured"
unit = "in"
low = 3.0625
high = 3.0637
decimals = 4
step = 0.0001
positions = ["A", "B"]
gauge_kind = "bore_gauge"
needs_setting = true
class = "S"
on_low = "tag"
on_high = "tag"
source = "test figure"

[[operation.characteristic]]
code = "10.2"
name = "Out of round"
kind = "computed"
unit = "in"
high = 0.0005
decimals = 4
computation = { name = "out_of_round", inputs = { readings = "10.1" } }
on_high = "tag"
source = "test figure"
"""
_TIGHTEN = """
[[operation]]
number = 20
name = "Tighten the bolts"
station = "B1"
signs = ["assembler"]
minutes = [1, 2, 3]
starts_after = [10]
hold = { kind = "hold", by = ["inspector"], looks_at = [10, 20] }
need = [{ part_kind = "shaft", role = "shaft" }]

[[operation.characteristic]]
code = "20.1"
name = "Bolt torque"
kind = "measured"
unit = "ft-lb"
target = 105
tolerance = 5
positions = 3
gauge_kind = "torque_wrench"
on_low = "repeat 1"
on_high = "tag"
source = "test figure"

[[operation]]
number = 30
name = "Buy-off"
station = "B1"
signs = ["inspector"]
minutes = [1, 2, 3]
starts_after = [20]
hold = { kind = "hold", by = ["inspector"], looks_at = "all", is_the_work = true }

[[operation.characteristic]]
code = "30.1"
name = "Turns by hand"
kind = "yes_no"
accepted = ["yes"]
on_low = "tag"
source = "test rule"

[[operation]]
number = 40
name = "Send it off"
station = "B1"
closing = false
signs = ["shipper"]
minutes = [1, 2, 3]
starts_after = [30]

[[invalidates]]
cause = "shaft"
name = "another shaft"
operations = [20, 30]
parts = ["shaft"]

[[invalidates]]
cause = "bore"
name = "bored again"
operations = [10, 20, 30]
"""
BENCH_CARD = _HEAD + _TIGHTEN


def one(code: str, kind: str, rest: str) -> str:
    """One characteristic of a card."""
    return f'\n[[operation.characteristic]]\ncode = "{code}"\nname = "N {code}"\nkind = "{kind}"\n{rest}\n'


def card_with(number: int, *asked: str) -> str:
    """The bench card with one operation more, at B1, that asks for these."""
    head = f'number = {number}\nname = "One more"\nstation = "B1"\nsigns = ["assembler"]\nminutes = [1, 2, 3]\n'
    before = "\n[[operation]]\nnumber = 20\n"
    return BENCH_CARD.replace(before, f"\n[[operation]]\n{head}{''.join(asked)}{before}")


_LIMITED = 'on_low = "tag"\non_high = "tag"\nsource = "test figure"\n'
_EVERYTHING = """
[[operation]]
number = 12
name = "Every kind"
station = "B1"
signs = ["assembler"]
minutes = [1, 2, 3]
photo = [{ name = "bench" }]
""" + "".join(
    (
        one("12.1", "measured", f'unit = "in"\nlow = 0.006\nhigh = 0.009\ndecimals = 4\nstep = 0.0001\n{_LIMITED}'
             'gauge_kind = "dial_indicator"\npositions = 4'),
        one("12.2", "measured", f'unit = "in"\nhigh = 0.003\ndecimals = 4\n{_LIMITED}gauge_kind = "dial_indicator"'),
        one("12.3", "measured", f'unit = "in"\nlow = 0.5\ndecimals = 4\n{_LIMITED}gauge_kind = "depth_gauge"'),
        one("12.4", "measured", f'unit = "ft-lb"\ntarget = 105\ntolerance = 5\n{_LIMITED}'
             'gauge_kind = "torque_wrench"'),
        one("12.5", "measured", f'unit = "F"\nlow = 200\nhigh = 250\nnever_above = 275\n{_LIMITED}'
             'gauge_kind = "contact_pyrometer"'),
        one("12.6", "counted", f'unit = "count"\nlow = 0\nhigh = 0\n{_LIMITED}'),
        one("12.7", "text", "recorded_only = true"),
        one("12.8", "choice", 'choices = ["straw", "blue"]\naccepted = ["straw"]\non_low = "tag"\nsource = "test"'),
        one("12.9", "yes_no", 'accepted = ["yes"]\non_low = "tag"\nsource = "test"'),
        one("12.10", "time", "recorded_only = true"),
        one("12.11", "photo", "recorded_only = true"),
        one("12.12", "measured", f'unit = "mil"\nlow = 4\nhigh = 8\ndecimals = 1\n{_LIMITED}'),
        one("12.13", "measured", f'unit = "in"\nlow = 3.06\nhigh = 3.07\ndecimals = 4\n{_LIMITED}'),
        one("12.14", "measured", f'unit = "in"\nlow = 3.06\nhigh = 3.07\ndecimals = 4\n{_LIMITED}'),
        one("12.15", "computed", f'unit = "in"\nlow = 0.001\nhigh = 0.002\ndecimals = 4\n{_LIMITED}'
             'computation = { name = "difference", inputs = { first = "12.13", second = "12.14" } }'),
        one("12.16", "computed", 'unit = "in"\nhigh = 0.002\ndecimals = 4\non_high = "tag"\nsource = "test"\n'
             'computation = { name = "variation", inputs = { readings = "12.1" } }'),
    )
)  # fmt: skip
_WELD = """
[[operation]]
number = 14
name = "Weld it"
station = "W1"
signs = ["welder"]
skill = "gas_metal_arc"
minutes = [1, 2, 3]
""" + one("14.1", "measured", f'unit = "F"\nlow = 200\nhigh = 400\n{_LIMITED}gauge_kind = "contact_pyrometer"')
_HUBS = """
[[unit]]
role = "hub"
name = "Hub"
sides = ["left", "right"]

[[operation]]
number = 16
name = "Fill the hub"
station = "B1"
per = "hub"
signs = ["assembler"]
minutes = [1, 2, 3]
""" + one("16.1", "yes_no", 'accepted = ["yes"]\non_low = "tag"\nsource = "test"')
MEASURING_CARD = _HEAD + _EVERYTHING + _WELD + _HUBS + _TIGHTEN
