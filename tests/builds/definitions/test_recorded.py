"""Every "also recorded" word of the shop's list has a home: a characteristic, a part, a weld or a hold."""

import pytest

from builds.definitions.card import Card
from builds.definitions.words import Tracking
from tests.builds.definitions.cards import SORREL, TEASEL

# operation: what the list says is also recorded -> where it is kept. "part x" is a part scanned in role x,
# "weld" the weld record (procedure with revision, welder, end of arc), "visit" the number of the visit.
RECORDED: dict[int, dict[str, str]] = {
    10: {
        "ring and pinion set number": "part ring_gear, part pinion",
        "pinion mark": "10.a",
        "etched backlash": "10.b",
        "differential serial": "part differential",
        "lot of every lot part": "every lot part is in the kit",
    },
    20: {
        "heat number on bar end = certificate": "20.a",
        "chemistry, tensile": "20.1, 20.8",
        "certificate type": "20.b",
    },
    30: {"piece mark of each cut piece": "part tube", "remnant length": "30.a"},
    40: {"piece mark": "40.a", "tool offset note": "40.b"},
    50: {"piece mark": "50.a", "reading A and B at 90 deg": "50.3"},
    60: {"visual yes/no": "60.a"},
    70: {"spindle heat/lot": "part spindle", "peak press force": "70.1", "shoulder seated": "70.b"},
    80: {
        "procedure + revision, welder, end time": "weld",
        "filler lot": "part weld_wire",
        "gas": "part shielding_gas",
        "V/A/speed": "80.3, 80.4, 80.5",
        "preheat, interpass": "80.1, 80.2",
        "wire storage": "80.c",
        "slow cooling under a blanket": "80.d",
    },
    90: {"temperature at look": "90.1", "defect list": "90.a"},
    100: {"TIR left and right": "100.1"},
    110: {
        "centre housing serial/heat": "part centre_housing",
        "clock angle": "110.b",
        "peak force": "110.1",
        "span": "110.3",
    },
    120: {"count per side": "120.2", "hole size": "120.1"},
    130: {
        "as op 80": "weld, part weld_wire, part shielding_gas",
        "count filled": "130.2",
        "wire storage": "130.c",
        "slow cooling under a blanket": "130.d",
    },
    140: {"port list": "140.a", "thread plug turns": "140.b"},
    150: {
        "family + revision": "150.a, part bracket",
        "each bracket: weld record": "weld",
        "tack-only where order says so": "150.f",
        "wire storage": "150.d",
        "slow cooling under a blanket": "150.e",
    },
    160: {
        "reading left/right x vertical/horizontal": "160.1, 160.2",
        "heat or press used": "160.a, 160.b, 160.c",
    },
    165: {"hours since last weld on axle": "165.1", "defect list": "165.a"},
    170: {"wash batch": "170.a", "water-break yes/no": "170.b", "mask count in": "170.c"},
    180: {
        "paint batch": "180.a",
        "mix time": "180.b",
        "pot-life end": "180.c",
        "air/surface temp, RH": "180.d, 180.e, 180.f",
        "cure time": "180.g",
    },
    190: {"5 spots x 3": "190.a", "coupon grade": "190.2", "mask count out": "190.d"},
    200: {"case serial": "part differential", "TIR": "200.1"},
    210: {"gear temp": "210.1", "guide studs": "210.a", "gap at 4 points": "210.2"},
    220: {
        "every bolt reading": "220.1",
        "thread adhesive lot": "part thread_adhesive",
        "bolt lot": "part ring_bolt",
        "TIR": "220.2",
    },
    230: {"bearing lots": "part side_bearing", "press seated": "230.b"},
    240: {"burr/chip check": "240.a", "magnet sweep": "240.b"},
    250: {"checking distance": "250.a", "shim list": "250.b, 250.c"},
    260: {"4 readings": "260.1", "shim list left/right": "260.a", "try number": "visit"},
    270: {
        "gear cut": "270.a",
        "drive/coast position code": "270.b",
        "try number": "visit",
        "action chosen": "270.c",
    },
    280: {
        "pinion shim": "280.a",
        "preload shim": "280.b",
        "bearing lots": "part head_bearing, part tail_bearing",
        "rotating torque": "280.1",
    },
    290: {
        "shims L/R": "290.a, 290.1",
        "cap left/right marks match": "290.b",
        "every cap-bolt reading": "290.3",
        "spread": "290.2",
    },
    300: {"all points": "300.1", "drive/coast re-look": "300.a", "rotating torque": "300.b"},
    310: {"pressure start/end": "310.1, 310.a", "time": "310.b", "cycles": "310.3"},
    320: {"seal lot": "part pinion_seal", "nut torque": "320.1", "rotating torque again": "320.2"},
    330: {"sealant lot": "part sealant", "sealant time": "330.a", "every bolt reading": "330.1"},
    340: {"hub lot/serial": "part hub", "cup lots": "part wheel_cup", "gap gauge": "340.1"},
    350: {"stud lot": "part wheel_stud", "count": "350.a", "seated": "350.1"},
    360: {
        "grease lot": "part grease",
        "mass": "360.1",
        "bearing lots": "part wheel_cone",
        "seal lot/date": "part hub_seal, 360.a",
        "seal depth": "360.2",
    },
    370: {"bolt lot": "part anchor_bolt", "every reading": "370.1"},
    380: {
        "seat torque": "380.1",
        "back-off": "380.4",
        "end play L/R": "380.2",
        "lock confirmed each side": "380.5",
    },
    390: {"runout L/R": "390.1"},
    400: {"shaft serial/heat L/R": "part axle_shaft", "every bolt reading": "400.1"},
    410: {
        "start/end pressure": "410.1, 410.d",
        "gas temperature": "410.b, 410.e",
        "barometer": "410.a",
        "time": "410.c",
        "result": "410.2",
        "soap findings": "410.f",
    },
    420: {
        "turn by hand": "420.a",
        "brake apply/release": "420.b",
        "plate serial = record": "420.c, part plate",
        "open items = none": "420.d",
        "records complete": "420.e",
    },
    430: {
        "certificate signature": "hold",
        "oil/dry tag": "430.a",
        "crate": "430.b",
        "carrier": "430.c",
        "consignee": "430.d",
    },
}
BOTH = pytest.mark.parametrize("card", [SORREL, TEASEL], ids=["sorrel", "teasel"])


def homeless(card: Card, recorded: dict[int, dict[str, str]]) -> list[str]:
    """What the list wants recorded and this card has no place for."""
    missing = []
    kitted = {need.role for operation in card.operations for need in operation.needs if need.kit}
    for operation in card.operations:
        codes = {found.code for found in operation.characteristics}
        roles = {need.role for need in operation.needs} | (kitted if operation.number == 10 else set())
        places = codes | {f"part {role}" for role in roles} | {"visit", "every lot part is in the kit"}
        places |= {"weld"} if operation.welds else set()
        places |= {"hold"} if operation.hold else set()
        for words, homes in recorded[operation.number].items():
            missing += [f"{operation.number} {words}: {h}" for h in homes.split(", ") if h not in places]
    return missing


@BOTH
def test_everything_also_recorded_has_a_home(card: Card) -> None:
    assert homeless(card, RECORDED) == []


@BOTH
def test_a_missing_home_would_be_found(card: Card) -> None:
    assert homeless(card, RECORDED | {30: {"colour of the saw": "30.z"}}) == ["30 colour of the saw: 30.z"]


@BOTH
def test_every_lot_part_on_the_axle_is_picked_with_the_kit(card: Card) -> None:
    """Except the brackets, which follow the order, and the parts of the air circuit."""
    loose = {
        need.role
        for operation in card.operations
        for need in operation.needs
        if card.part_kind(need.part_kind).tracking is Tracking.LOT and not need.kit
    }
    assert loose <= {"bracket", "air_line_kit", "air_port_seal"}


@BOTH
def test_every_part_kind_is_needed_somewhere(card: Card) -> None:
    needed = {need.part_kind for operation in card.operations for need in operation.needs}
    assert {kind.code for kind in card.part_kinds} == needed


PHOTOS = {
    10: ["set numbers"],
    20: ["bar-end stamp"],
    80: ["finished bead"],
    90: ["weld"],
    130: ["plugs left", "plugs right"],
    165: ["finding"],
    190: ["overall, front", "overall, rear"],
    220: ["bolt circle with torque stripe"],
    240: ["inside of housing"],
    270: ["drive", "coast"],
    290: ["torque stripes on the caps"],
    300: ["dial on tooth", "pattern"],
    320: ["nut stripe"],
    380: ["lock left", "lock right"],
    400: ["stripes left", "stripes right"],
    410: ["gauge at start", "gauge at end"],
    420: ["front", "rear", "left", "right", "plate"],
    430: ["crated"],
}


@BOTH
def test_photos_asked_for(card: Card) -> None:
    asked = {o.number: [photo.name for photo in o.photos] for o in card.operations if o.photos}
    brackets = asked.pop(150)
    assert asked == PHOTOS
    assert brackets[:3] == ["overall", "bracket left 1", "bracket right 1"]
    finding = card.operation(165).photos[0]
    assert finding.required == "on_finding"
