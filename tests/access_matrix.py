"""Every address and who may use it. An address that is not in this table fails `tests/shop/test_access.py`.

To add a page, add a line: its name, the roles, the arguments of its address (they need not name anything
that exists: the role is asked before the thing is looked up), the methods it takes, and `station` when it
belongs to a terminal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from shop.models import Role

R = Role
EVERYBODY = frozenset(Role)


@dataclass(frozen=True)
class Page:
    """Who may use one address. `roles` EVERYBODY: whoever is signed in; `open`: nobody needs to be."""

    roles: frozenset[Role] = EVERYBODY
    args: Mapping[str, object] = field(default_factory=dict)
    methods: tuple[str, ...] = ("GET",)
    open: bool = False
    station: bool = False


POST = ("POST",)
BOTH = ("GET", "POST")
OPEN = Page(open=True)
ONE = {"code": "nobody-here"}
PEOPLE = frozenset({R.MANAGER, R.QUALITY})
MANAGER = frozenset({R.MANAGER})
OFFICE = frozenset({R.OFFICE, R.MANAGER})
CARD = {"model": "none", "letter": "A"}
CARD_READERS = frozenset({R.ENGINEER, R.MANAGER, R.QUALITY, R.INSPECTOR, R.LEAD_BUILDER, R.OFFICE})
ENGINEER = frozenset({R.ENGINEER})
ORDER = {"number": "O-0000"}
BOOKERS = frozenset({R.OFFICE, R.MANAGER, R.QUALITY})
ORDER_READERS = BOOKERS | {R.LEAD_BUILDER, R.SHIPPER, R.ENGINEER, R.INSPECTOR}
AXLE = {"serial": "TBK-25-0000-X"}
VISIT = AXLE | {"number": 10, "side": "left"}
ALONE = {"serial": "25-U000-H", "number": 340}
KITS = frozenset({R.RECEIVER, R.LEAD_BUILDER})
KIT_READERS = KITS | {R.MANAGER, R.QUALITY, R.INSPECTOR, R.ASSEMBLER, R.HUB_BENCH, R.TUBE_PREP}
TAKES_IN = frozenset({R.RECEIVER, R.INSPECTOR})
STOCK_READERS = TAKES_IN | {R.MANAGER, R.QUALITY, R.LEAD_BUILDER, R.ENGINEER}
GAUGE_KEEPERS = frozenset({R.INSPECTOR, R.ENGINEER, R.QUALITY})
LAPSE_READERS = GAUGE_KEEPERS | {R.MANAGER}
GAUGE_READERS = GAUGE_KEEPERS | {R.MANAGER, R.LEAD_BUILDER, R.OFFICE}
REACH_READERS = frozenset({R.MANAGER, R.QUALITY, R.INSPECTOR, R.ENGINEER, R.OFFICE, R.LEAD_BUILDER})
UNIT_MOVERS = frozenset({R.TUBE_PREP, R.WELDER, R.ASSEMBLER, R.HUB_BENCH, R.LEAD_BUILDER, R.INSPECTOR, R.ENGINEER})
UNIT_BEGINNERS = frozenset({R.LEAD_BUILDER, R.MANAGER, R.ENGINEER, R.QUALITY})
NOTICE_MAKERS = frozenset({R.MANAGER, R.QUALITY, R.ENGINEER})
NOTICE = {"number": 1}
RETURN_TAKERS = frozenset({R.OFFICE, R.QUALITY, R.MANAGER, R.INSPECTOR, R.ENGINEER})
BUYERS = OFFICE | {R.RECEIVER}

PAGES: dict[str, Page] = {
    # Signing in
    "health": OPEN,
    "theme": Page(open=True, methods=POST),
    "sign_in": Page(open=True, methods=BOTH),
    "sign_in_pin": Page(open=True, methods=BOTH),
    "office_sign_in": Page(open=True, methods=BOTH),
    "sign_out": Page(open=True, methods=POST),
    # Everybody's own
    "home": Page(),
    "extend": Page(methods=POST),
    "mine": Page(),
    "my_pin": Page(methods=POST),
    "my_password": Page(methods=POST),
    # People
    "people": Page(PEOPLE, methods=BOTH),
    "person": Page(PEOPLE, ONE),
    "badge_issue": Page(MANAGER, ONE, POST),
    "badge_revoke": Page(MANAGER, ONE, POST),
    "pin_set": Page(MANAGER, ONE, POST),
    "password_set": Page(MANAGER, ONE, POST),
    "role_give": Page(MANAGER, ONE, POST),
    "role_end": Page(MANAGER, ONE | {"number": 1}, POST),
    "skill_give": Page(PEOPLE, ONE, POST),
    "skill_end": Page(PEOPLE, ONE | {"number": 1}, POST),
    "retire": Page(MANAGER, ONE, POST),
    # Stations
    "terminals": Page(MANAGER),
    "terminal_register": Page(MANAGER, methods=POST),
    "terminal_revoke": Page(MANAGER, ONE, POST),
    "station_add": Page(MANAGER, methods=POST),
    "shift_set": Page(MANAGER, methods=POST),
    "record": Page(PEOPLE),
    # Customers and suppliers
    "partners": Page(BUYERS),
    "customer_add": Page(OFFICE, methods=POST),
    "customer": Page(OFFICE, ONE, BOTH),
    "supplier_add": Page(BUYERS, methods=POST),
    # Build cards
    "cards": Page(CARD_READERS, methods=BOTH),
    "card": Page(CARD_READERS, CARD),
    "card_release": Page(ENGINEER, CARD, POST),
    "card_text": Page(CARD_READERS, CARD),
    "card_difference": Page(CARD_READERS, CARD | {"other": "B"}),
    "card_document": Page(CARD_READERS, CARD | {"number": 10, "code": "I-1"}, BOTH),
    # Orders
    "orders": Page(ORDER_READERS, methods=BOTH),
    "order": Page(ORDER_READERS, ORDER),
    "line_add": Page(BOOKERS, ORDER | CARD, BOTH),
    "line_book": Page(BOOKERS, ORDER | {"line": 1}, POST),
    # Kits and stock
    "kits": Page(KIT_READERS),
    "kit": Page(KIT_READERS, AXLE),
    "kit_scan": Page(KITS, AXLE, POST),
    "kit_return": Page(KITS, AXLE | {"line": 1}, POST),
    "stock": Page(STOCK_READERS),
    "bench_book": Page(),
    "bench_entry": Page(args={"name": "nothing-here"}),
    "cutting": Page(STOCK_READERS | {R.TUBE_PREP}),
    "heat": Page(STOCK_READERS, {"pk": 1}),
    "heat_free": Page(frozenset({R.INSPECTOR}), {"pk": 1}, POST),
    "heat_correct": Page(TAKES_IN, {"pk": 1}, POST),
    "heat_paper": Page(TAKES_IN, {"pk": 1}, POST),
    "scan_of_paper": Page(STOCK_READERS, {"pk": 1}),
    "deliveries": Page(STOCK_READERS, methods=BOTH),
    "delivery": Page(STOCK_READERS, {"pk": 1}),
    "materials": Page(STOCK_READERS, methods=BOTH),
    "heat_new": Page(TAKES_IN, CARD | {"kind": "tube"}, BOTH),
    "bar_new": Page(TAKES_IN, methods=BOTH),
    "lot_new": Page(TAKES_IN, methods=BOTH),
    "part_new": Page(TAKES_IN, {"kind": "none"}, BOTH),
    "drum_new": Page(EVERYBODY - OFFICE, methods=BOTH),
    "drum_shut": Page(EVERYBODY - OFFICE, {"pk": 1}, POST),
    "item": Page(args={"pk": 1}),
    "item_quarantine": Page(TAKES_IN, {"pk": 1}, POST),
    "item_count": Page(TAKES_IN, {"pk": 1}, POST),
    "item_measure": Page(frozenset({R.TUBE_PREP, R.RECEIVER, R.INSPECTOR}), {"pk": 1}, POST),
    "item_tag": Page(args={"pk": 1}, methods=POST),
    # Station work: everybody may look; who may sign what is the card's to say and the action's to check
    "waiting": Page(args={"code": "NONE"}),
    "scan": Page(methods=POST),
    "axle_here": Page(args=AXLE),
    "station": Page(args=VISIT),
    "station_changes": Page(args=VISIT),
    "station_take_up": Page(args=VISIT, methods=POST),
    "station_reading": Page(args=VISIT, methods=POST),
    "station_scan": Page(args=VISIT, methods=POST),
    "station_set_down": Page(args=VISIT, methods=POST),
    "station_wrong": Page(args=VISIT, methods=POST),
    "station_back": Page(args=VISIT, methods=POST),
    "station_finish": Page(args=VISIT, methods=POST),
    "station_second": Page(args=VISIT, methods=POST),
    "blank_card": Page(args=VISIT),
    # The file of an axle, holds and red tags
    "axle": Page(args=AXLE),
    "axle_inside": Page(args=AXLE),
    "axle_units": Page(args=AXLE),
    "units": Page(),
    "unit_begin": Page(UNIT_BEGINNERS, CARD | {"role": "hub"}, BOTH),
    "unit_stock": Page(UNIT_MOVERS, {"pk": 1}, POST),
    "unit_bench": Page(UNIT_MOVERS, {"pk": 1}, POST),
    "unit_blank_card": Page(args=ALONE),
    "unit_station": Page(args=ALONE),
    "unit_station_changes": Page(args=ALONE),
    "unit_station_take_up": Page(args=ALONE, methods=POST),
    "unit_station_reading": Page(args=ALONE, methods=POST),
    "unit_station_scan": Page(args=ALONE, methods=POST),
    "unit_station_set_down": Page(args=ALONE, methods=POST),
    "unit_station_wrong": Page(args=ALONE, methods=POST),
    "unit_station_back": Page(args=ALONE, methods=POST),
    "unit_station_finish": Page(args=ALONE, methods=POST),
    "unit_station_second": Page(args=ALONE, methods=POST),
    "unit": Page(args={"pk": 1}),
    "unit_part_out": Page(UNIT_MOVERS, {"pk": 1, "fitted": 1}, POST),
    "unit_void": Page(args={"pk": 1, "reading": 1}, methods=POST),
    "unit_send_back": Page(args={"pk": 1, "number": 340}, methods=POST),
    "unit_out": Page(UNIT_MOVERS, {"pk": 1}, POST),
    "unit_in": Page(UNIT_MOVERS, {"pk": 1}, POST),
    "unit_scrap": Page(UNIT_MOVERS, {"pk": 1}, POST),
    "holds": Page(),
    "red_tags": Page(),
    "red_tag": Page(args={"number": 1}, methods=BOTH),
    "look_back": Page(GAUGE_READERS, {"pk": 1}, BOTH),
    "look_back_ask": Page(GAUGE_READERS, {"mark": "G-0"}),
    "look_back_axle": Page(args={"pk": 1}, methods=BOTH),
    "lapse": Page(LAPSE_READERS, {"code": "nobody", "process": "gas_metal_arc"}, BOTH),
    "lapsed_axle": Page(LAPSE_READERS, {"pk": 1}, BOTH),
    # The floor, closing, certificate, labels
    "floor": Page(),
    "axles": Page(),
    "closing": Page(args=AXLE),
    "closing_close": Page(args=AXLE, methods=POST),
    "closing_certify": Page(args=AXLE, methods=POST),
    "closing_reissue": Page(args=AXLE, methods=POST),
    "closing_again": Page(args=AXLE, methods=POST),
    "closing_put_in": Page(GAUGE_KEEPERS, AXLE | {"pk": 1}, POST),
    "closing_ship": Page(args=AXLE, methods=POST),
    "certificate": Page(args=AXLE | {"issue": 1}),
    "frozen_record": Page(args=AXLE),
    "labels": Page(args=AXLE),
    "badge_print": Page(MANAGER, ONE, POST),
    "label": Page(args={"pk": 1, "kind": "plate"}, methods=BOTH),
    # The customer's window: open to whoever holds a link; the check is for everybody
    "links": Page(OFFICE, ORDER, BOTH),
    "link_revoke": Page(OFFICE, ORDER | {"pk": 1}, POST),
    "customer_enter": Page(open=True, methods=BOTH),
    "customer_enter_token": Page(open=True, args={"token": "x"}, methods=BOTH),
    "customer_order": OPEN,
    "customer_certificate": Page(open=True, args=AXLE | {"issue": 1}),
    "verify": Page(open=True, methods=BOTH),
    # What one cause touched
    "reach": Page(REACH_READERS),
    "notices": Page(REACH_READERS),
    "notice_new": Page(NOTICE_MAKERS, methods=BOTH),
    "notice": Page(REACH_READERS, NOTICE),
    "notice_step": Page(REACH_READERS - {R.LEAD_BUILDER}, NOTICE, POST),
    "notice_again": Page(REACH_READERS, NOTICE, BOTH),
    "notice_close": Page(frozenset({R.QUALITY, R.ENGINEER}), NOTICE, POST),
    "notice_frozen": Page(REACH_READERS, NOTICE | {"revision": 1}),
    "notice_letter": Page(REACH_READERS, NOTICE | {"key": 1}),
    # What came back
    "returns": Page(RETURN_TAKERS),
    "returns_of": Page(RETURN_TAKERS, AXLE, BOTH),
    "returns_exchange": Page(UNIT_MOVERS | {R.OFFICE, R.QUALITY}, AXLE, POST),
    "return_finding": Page(RETURN_TAKERS, {"number": 1}, POST),
    "return_photo": Page(RETURN_TAKERS, {"number": 1}, POST),
    "return_picture": Page(RETURN_TAKERS, {"pk": 1}),
    "returns_share": Page(RETURN_TAKERS),
    # Gauges and weld procedures
    "gauges": Page(GAUGE_READERS, methods=BOTH),
    "gauge": Page(GAUGE_READERS, {"mark": "G-0"}),
    "gauge_calibrate": Page(GAUGE_KEEPERS, {"mark": "G-0"}, POST),
    "gauge_recall": Page(GAUGE_KEEPERS, {"mark": "G-0"}, POST),
    "gauge_uses": Page(GAUGE_KEEPERS, {"mark": "G-0"}, POST),
    "gauge_retire": Page(GAUGE_KEEPERS, {"mark": "G-0"}, POST),
    "procedures": Page(CARD_READERS, methods=BOTH),
    "procedure_withdraw": Page(ENGINEER, {"pk": 1}, POST),
    "photo": Page(args={"pk": 1}),
    "photo_small": Page(args={"pk": 1}),
    "axle_tag": Page(args=AXLE, methods=POST),
    "axle_take_out": Page(args=AXLE | {"pk": 1}, methods=POST),
    "axle_void": Page(args=AXLE | {"pk": 1}, methods=POST),
    "axle_shorten": Page(args=VISIT, methods=POST),
    "axle_send_back": Page(args=VISIT, methods=POST),
    # The look's own gallery
    "gallery": Page(),
    "gallery_page": Page(args={"kind": "station"}),
}
