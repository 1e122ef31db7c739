"""Every form of the build with a right way to fill it in, and what each field may take beside that."""

from __future__ import annotations

from django.utils import timezone

from builds.models import Axle, NoticeLine
from shop.clock import shop_day
from shop.models import Customer, Lot
from tests.bad_input import SENSELESS
from tests.builds.scene import DAY, PIN, Form, Scene, Taken, at, kind_pk, on, on_day, supplier_pk

CLEAN = {value for value in SENSELESS if value.strip() and value.isprintable() and "\ud800" not in value}


def text(value: str) -> bool:
    """Somebody's words, not nonsense."""
    return value in CLEAN


def today(_: Scene) -> str:
    return str(shop_day(timezone.now()))


def empty(value: str) -> bool:
    return not value.strip()


def note(value: str) -> bool:
    return text(value) or empty(value)


def only(*values: str) -> Taken:
    return lambda value: value in values


def dropped(value: str) -> bool:
    """What a first try has no use for is not stored with it; a reason too long is refused all the same."""
    return len(value) < 400


def mark(value: str) -> bool:
    """A mark that somebody may really have stamped."""
    return value in {"0", "12abc", "NaN", "Infinity", "1e309", DAY, "9999-12-31", "0001-01-01", "2025-02-30", "25:61",
                     "-1", "9" * 40, "3,0652", "1,234.5", "nothing like it", "../../etc/passwd"}  # fmt: skip


READING = {"characteristic": "10.1", "position": "A", "value": "3.0630", "unit": "in", "gauge": "G-1", "ring": "G-2",
           "reason": "", "try": "1"}  # fmt: skip
FORMS = {
    "one Enter": Form(
        "station_reading", at(10), READING, {"unit": only(""), "reason": dropped, "try": lambda value: True}),
    "a scan at the bench": Form("station_scan", at(10), {"scan": "~G:G-1"}),
    "set down": Form("station_set_down", at(10), {"note": "lunch"}, {"note": note}),
    "something is wrong": Form("station_wrong", at(10), {"what": "odd noise"}, {"what": text}),
    "the doer's signature": Form("station_finish", at(20), {"pin": PIN}),
    "the hold": Form("station_second", at(21), {"pin": PIN, "part": "hold"}),
    "taken up": Form("station_take_up", on("free", 10, "-"), {"worked_by": "omni", "worked_at": "2026-01-05T10:00"}),
    "a tag on an axle": Form("axle_tag", on("off"), {"cause": "odd"}, {"cause": text}),
    "a part taken out": Form(
        "axle_take_out", lambda s: [s.visits[20].axle.serial, s.fitted.pk],  # type: ignore[union-attr]
        {"reason": "worn", "to": "stock", "note": "x"}, {"reason": text, "note": note}),
    "a reading declared void": Form(
        "axle_void", lambda s: [s.visits[10].axle.serial, s.reading.pk],  # type: ignore[union-attr]
        {"reason": "other axle"}, {"reason": text}),
    "sent back": Form("axle_send_back", at(21), {"reason": "look again"}, {"reason": text}),
    "a red tag decided": Form(
        "red_tag", lambda s: [s.tag.number],
        {"decision": "use_as_is", "reason": "fits", "scope": "one", "agreed_by": "A. Buyer", "agreed_on": today,
         "agreed_how": "letter", "cause": "", "part": "", "pin": PIN},
        {"reason": text, "scope": note, "agreed_by": text, "agreed_how": text, "agreed_on": only("0001-01-01")}),
    "a kit's scan": Form("kit_scan", on("kitted"), {"scan": "KS-2", "role": "shaft right"}, {"role": empty}),
    "a kit's return": Form("kit_return", lambda s: [s.axles["kitted"].serial, s.kit.pk], {}),
    "a tag on a thing": Form("item_tag", lambda s: [s.heat.pk], {"cause": "rust"}, {"cause": text}),
    "a heat freed": Form("heat_free", lambda s: [s.heat.pk], {"pin": PIN}),
    "a new heat": Form(
        "heat_new", lambda s: ["small_axle", "A", "tube_stock"],
        {"mark": "HH9", "supplier": supplier_pk, "certificate": "C-9", "certificate_type": "3.1",
         "value-20.1": "0.300"},
        {"mark": mark, "certificate": text}),
    "a value put right": Form(
        "heat_correct", lambda s: [s.heat.pk], {"code": "20.1", "typed": "0.310", "reason": "wrong line"},
        {"reason": text}),
    "a further paper": Form(
        "heat_paper", lambda s: [s.heat.pk],
        {"certificate": "C-55", "certificate_type": "3.1", "compared": "on"},
        {"certificate": text, "compared": lambda value: value != ""}),
    "a delivery": Form(
        "deliveries", lambda s: [], {"slip": "PS-55", "supplier": supplier_pk, "came_on": DAY, "note": "one bent"},
        {"slip": mark, "note": note}),
    "a new bar": Form(
        "bar_new", lambda s: [], {"mark": "BAR-9", "kind": kind_pk("tube_stock"), "heat": "", "length": "120"},
        {"mark": mark, "heat": empty, "length": only("", " ")}),
    "a bar measured": Form(
        "item_measure", lambda s: [s.bar.pk], {"what": "length", "length": "120", "reason": "taped again"},
        {"reason": text}),
    "set in quarantine": Form(
        "item_quarantine", lambda s: [Lot.objects.get(item__mark="GR-1").pk], {"to": "quarantine", "reason": "leaks"},
        {"to": lambda value: value != "stock", "reason": text}),
    "a new lot": Form(
        "lot_new", lambda s: [],
        {"mark": "LOT-9", "kind": kind_pk("bearing"), "supplier": supplier_pk, "received_on": DAY, "received": "10",
         "expires_on": "2030-01-01"},
        {"mark": mark, "received": only("0"), "expires_on": only("", " "),
         "use_within_days": only("", " ")}),
    "a new part": Form(
        "part_new", lambda s: ["shaft"], {"mark": "PART-9", "supplier": supplier_pk, "heat": "", "set_mark": "9"},
        {"mark": mark, "set_mark": note}),
    "a new drum": Form(
        "drum_new", lambda s: [], {"lot": lambda _: str(Lot.objects.get(item__mark="GR-1").pk), "mark": "GR-1-Z"},
        {"mark": mark}),
    "a drum shut": Form("drum_shut", lambda s: [s.drum.pk], {}),
    "an order": Form(
        "orders", lambda s: [],
        {"number": "O-77", "customer": lambda _: str(Customer.objects.get(code="CUST").pk), "placed_on": DAY,
         "customer_reference": "PO 5", "paper": "A4"},
        {"number": mark, "customer_reference": note}),
    "an order's line": Form(
        "line_add", lambda s: [_order(s), "small_axle", "A"],
        {"quantity": "2", "promised_from": DAY, "promised_to": "2026-01-09", "option-ratio": "low",
         "option-lock": "none"}, {"promised_from": only("0001-01-01")}),
    "a booking": Form("line_book", lambda s: [_order(s), 1], {"count": "1"}),
    "a customer's link": Form("links", lambda s: [_order(s)], {"days": "30"}),
    "a card released": Form("card_release", lambda s: ["small_axle", "B"], {"sha256": lambda s: s.draft.sha256}),
    "closing": Form("closing_close", on("off"), {}),
    "certifying": Form("closing_certify", on("closed"), {"pin": PIN}),
    "a new issue": Form("closing_reissue", on("certified"), {"reason": "name", "pin": PIN}, {"reason": text}),
    "shipping": Form(
        "closing_ship", on("certified"),
        {"consignee": "A. Consignee", "carrier": "B. Carrier", "address": "C. Street", "numbers": "D-4", "pin": PIN},
        {"consignee": text, "carrier": text, "address": note, "numbers": note}),
    "a label": Form("label", lambda s: [s.axles["off"].pk, "plate"], {"reason": ""}, {"reason": note}),
    "a gauge": Form(
        "gauges", lambda s: [],
        {"mark": "G-55", "kind": "torque_wrench", "name": "wrench", "unit": "ft-lb", "step": "1", "low": "5",
         "high": "50", "setting": ""},
        {"mark": mark, "kind": text, "name": text, "step": empty, "low": note, "high": note, "setting": note}),
    "a calibration": Form(
        "gauge_calibrate", lambda s: ["G-1"],
        {"made_on": on_day(0), "due_on": on_day(365), "certificate": "L-5", "as_found": "0", "as_left": "0"},
        {"certificate": text, "as_found": note, "as_left": note}),
    "a gauge retired": Form("gauge_retire", lambda s: ["G-5"], {"reason": "dropped"}, {"reason": text}),
    "a procedure": Form(
        "procedures", lambda s: [],
        {"code": "P-5", "revision": "1", "process": "gas_metal_arc", "title": "T", "released_on": DAY},
        {"code": mark, "revision": mark, "title": text, "released_on": only("0001-01-01")}),
    "a procedure withdrawn": Form("procedure_withdraw", lambda s: [s.procedure.pk], {}),
    "a notice": Form(
        "notice_new", lambda s: [], {"found": "It is too soft.", "ask": "Call us."}, {"found": text, "ask": text},
        query="?cause=KS-2"),
    "a notice's step": Form(
        "notice_step", lambda s: [1],
        {"group": "others", "lines": lambda _: str(NoticeLine.objects.get(notice__number=1).pk), "kind": "inspected",
         "on": on_day(0), "note": "seen"},
        {"group": lambda value: True, "note": note}),
    "a notice drawn again": Form("notice_again", lambda s: [1], {}),
    "a notice closed": Form("notice_close", lambda s: [2], {"reason": "all done", "pin": PIN}, {"reason": text}),
}  # fmt: skip


def _order(scene: Scene) -> str:
    number: str = Axle.objects.get(pk=scene.axles["kitted"].pk).line.order.number
    return number
