"""A small axle for the tests of booking, kits and fitting: every way of keeping a part's identity, once."""

from __future__ import annotations

SMALL_CARD = """
[axle]
code = "small_axle"
name = "Small axle"
revision = "A"
title = "Small axle for tests"
drawing = "DR-1"
unit_system = "in"
sides = ["left", "right"]

[[station]]
code = "K1"
name = "Kits"

[[station]]
code = "B1"
name = "Bench"

[[unit]]
role = "tube"
name = "Tube"
sides = ["left", "right"]

[[unit]]
role = "carrier"
name = "Carrier"

[[material]]
code = "st_a"
name = "Steel A"
grade = "A"
weldable = true

[[material]]
code = "st_e"
name = "Steel E"
grade = "E"
rounding = "E29"

[[part_kind]]
code = "tube_stock"
name = "Tube stock"
tracking = "piece"
material = "st_a"

[[part_kind]]
code = "e_stock"
name = "Stock bought to E29"
tracking = "piece"
material = "st_e"

[[part_kind]]
code = "ring_gear"
name = "Ring gear"
tracking = "serial"
facts = ["set_mark", "etched_backlash"]

[[part_kind]]
code = "pinion"
name = "Pinion"
tracking = "serial"
facts = ["set_mark", "pinion_mark"]

[[part_kind]]
code = "shaft"
name = "Axle shaft"
tracking = "serial"

[[part_kind]]
code = "bearing"
name = "Bearing"
tracking = "lot"

[[part_kind]]
code = "grease"
name = "Grease"
tracking = "bulk"

[[part_kind]]
code = "cap"
name = "Cap blank"
tracking = "heat"
material = "st_a"

[[document]]
code = "IS-10"
revision = "B"
title = "How to pair a gear set"

[[option]]
axis = "ratio"
label = "Ratio"
default = "low"

[[option.value]]
code = "low"
label = "3.70"

[[option.value]]
code = "high"
label = "4.30"

[[option]]
axis = "lock"
label = "Locking"
default = "none"

[[option.value]]
code = "none"
label = "none"

[[option.value]]
code = "air"
label = "by air"

[[refusal]]
when = { ratio = "high", lock = "air" }
reason = "A locking differential does not fit ratio 4.30."

[[operation]]
number = 10
name = "Pick the kit"
station = "K1"
signs = ["receiver"]
minutes = [1, 2, 3]
documents = ["IS-10"]

[[operation]]
number = 20
name = "Look at the steel"
station = "K1"
per = "tube"
signs = ["receiver"]
minutes = [1, 2, 3]
starts_after = [10]
hold = { kind = "first_heat", by = ["inspector"] }

[[operation.need]]
part_kind = "tube_stock"
role = "tube"

[[operation.characteristic]]
code = "20.1"
name = "Carbon"
kind = "given"
unit = "%"
low = 0.28
high = 0.33
decimals = 3
class = "S"
reaction = "reject the heat"
on_low = "tag"
on_high = "tag"
sample = "each heat"
source = "invented"
given = { source = "heat", role = "tube" }

[[operation]]
number = 30
name = "Seat the gears"
station = "B1"
per = "carrier"
signs = ["assembler"]
minutes = [1, 2, 3]
starts_after = [10]

[[operation.need]]
part_kind = "ring_gear"
role = "ring"
matched_set = "gears"
kit = true

[[operation.need]]
part_kind = "pinion"
role = "pinion"
matched_set = "gears"
kit = true

[[operation.need]]
part_kind = "bearing"
role = "bearings"
quantity = 4
kit = true

[[operation.need]]
part_kind = "grease"
role = "grease"
quantity = 0.5
unit = "lb"

[[operation.characteristic]]
code = "30.1"
name = "Gears seated"
kind = "text"
recorded_only = true
class = "F"
source = "invented"

[[operation]]
number = 40
name = "Slide the shafts"
station = "B1"
signs = ["assembler"]
minutes = [1, 2, 3]
starts_after = [20, 30]

[[operation.need]]
part_kind = "shaft"
role = "shaft"
sides = ["left", "right"]
kit = true

[[operation.need]]
part_kind = "cap"
role = "cap"
quantity = 2

[[invalidates]]
cause = "gear_set"
name = "another gear set"
operations = [30, 40]
parts = ["ring_gear", "pinion"]
"""

#: The same card with a tighter carbon limit and one operation more.
SMALL_CARD_B = (
    SMALL_CARD.replace('revision = "A"', 'revision = "B"', 1).replace("high = 0.33", "high = 0.32")
    + """
[[operation]]
number = 50
name = "Look it over"
station = "B1"
signs = ["inspector"]
minutes = [1, 2, 3]
starts_after = [40]
"""
)

#: The same card with a hub, which may be begun for stock and has one operation of its own.
SMALL_CARD_HUB = (
    SMALL_CARD
    + """
[[unit]]
role = "hub"
name = "Hub"
for_stock = true

[[operation]]
number = 50
name = "Grease the hub"
station = "B1"
per = "hub"
signs = ["assembler"]
minutes = [1, 2, 3]
"""
)
