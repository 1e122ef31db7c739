"""Addresses of the build: one list for each module of views, joined at the end."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, path

from builds.views import (
    axle_file,
    bench_book,
    blank_card,
    cards,
    closing,
    customer,
    cutting,
    deliveries,
    exchange,
    floor,
    gallery,
    heats,
    holds,
    inside,
    items,
    kits,
    labels,
    lapses,
    look_back,
    look_back_ask,
    notice_letter,
    notices,
    orders,
    photos,
    procedures,
    reach,
    returns,
    station,
    stock,
    stock_units,
    unit_mending,
    units,
    waiting,
)

Addresses = list[URLPattern | URLResolver]

CARDS: Addresses = [
    path("cards/", cards.cards, name="cards"),
    path("cards/<slug:model>/<str:letter>/", cards.card, name="card"),
    path("cards/<slug:model>/<str:letter>/release/", cards.card_release, name="card_release"),
    path("cards/<slug:model>/<str:letter>/definition/", cards.card_text, name="card_text"),
    path("cards/<slug:model>/<str:letter>/to/<str:other>/", cards.card_difference, name="card_difference"),
    path(
        "cards/<slug:model>/<str:letter>/<int:number>/documents/<path:code>/",
        cards.card_document,
        name="card_document",
    ),
]

ORDERS: Addresses = [
    path("orders/", orders.orders, name="orders"),
    path("orders/<str:number>/", orders.order, name="order"),
    path("orders/<str:number>/lines/<int:line>/book/", orders.line_book, name="line_book"),
    path("orders/<str:number>/lines/<slug:model>/<str:letter>/", orders.line_add, name="line_add"),
]

KITS: Addresses = [
    path("kits/", kits.kits, name="kits"),
    path("kits/<str:serial>/", kits.kit, name="kit"),
    path("kits/<str:serial>/scan/", kits.kit_scan, name="kit_scan"),
    path("kits/<str:serial>/return/<int:line>/", kits.kit_return, name="kit_return"),
]

STOCK: Addresses = [
    path("stock/", stock.stock, name="stock"),
    path("stock/deliveries/", deliveries.delivery_list, name="deliveries"),
    path("stock/deliveries/<int:pk>/", deliveries.delivery, name="delivery"),
    path("stock/materials/", deliveries.materials, name="materials"),
    path("stock/heats/<int:pk>/", heats.heat, name="heat"),
    path("stock/heats/<int:pk>/free/", heats.heat_free, name="heat_free"),
    path("stock/heats/<int:pk>/correct/", heats.heat_correct, name="heat_correct"),
    path("stock/heats/<int:pk>/paper/", heats.heat_paper, name="heat_paper"),
    path("stock/heats/new/<slug:model>/<str:letter>/<slug:kind>/", heats.heat_new, name="heat_new"),
    path("stock/scans/<int:pk>/", heats.scan, name="scan_of_paper"),
    path("stock/bars/new/", stock.bar_new, name="bar_new"),
    path("stock/lots/new/", stock.lot_new, name="lot_new"),
    path("stock/parts/new/<slug:kind>/", stock.part_new, name="part_new"),
    path("stock/drums/new/", stock.drum_new, name="drum_new"),
    path("stock/drums/<int:pk>/shut/", stock.drum_shut, name="drum_shut"),
    path("stock/items/<int:pk>/", items.item, name="item"),
    path("stock/items/<int:pk>/tag/", items.item_tag, name="item_tag"),
    path("stock/items/<int:pk>/measure/", items.item_measure, name="item_measure"),
    path("stock/items/<int:pk>/quarantine/", items.item_quarantine, name="item_quarantine"),
    path("stock/items/<int:pk>/count/", items.item_count, name="item_count"),
    path("stock/cutting/", cutting.cutting, name="cutting"),
]

WAITING: Addresses = [
    path("stations/<str:code>/", waiting.waiting, name="waiting"),
    path("scan/", waiting.scan, name="scan"),
    path("axles/<str:serial>/here/", waiting.axle_here, name="axle_here"),
]

_AT = "axles/<str:serial>/operations/<int:number>/<str:side>/"


def _station(at: str, name: str, **more: object) -> Addresses:
    """Everything that is done at one operation, under one address."""
    return [
        path(at, station.station, more, name=f"{name}station"),
        path(f"{at}changes/", station.station_changes, more, name=f"{name}station_changes"),
        path(f"{at}take-up/", station.station_take_up, more, name=f"{name}station_take_up"),
        path(f"{at}reading/", station.station_reading, more, name=f"{name}station_reading"),
        path(f"{at}scan/", station.station_scan, more, name=f"{name}station_scan"),
        path(f"{at}set-down/", station.station_set_down, more, name=f"{name}station_set_down"),
        path(f"{at}wrong/", station.station_wrong, more, name=f"{name}station_wrong"),
        path(f"{at}back/", station.station_back, more, name=f"{name}station_back"),
        path(f"{at}finish/", station.station_finish, more, name=f"{name}station_finish"),
        path(f"{at}second/", station.station_second, more, name=f"{name}station_second"),
        path(f"{at}card/", blank_card.blank_card, more, name=f"{name}blank_card"),
    ]


STATION: Addresses = [
    *_station(_AT, ""),
    *_station("units/<str:serial>/operations/<int:number>/", "unit_", alone=True),
]

AXLES: Addresses = [
    path("floor/", floor.floor, name="floor"),
    path("axles/", floor.axles, name="axles"),
    path("axles/<str:serial>/", axle_file.axle, name="axle"),
    path("axles/<str:serial>/inside/", inside.axle_inside, name="axle_inside"),
    path("axles/<str:serial>/units/", units.axle_units, name="axle_units"),
    path("units/", stock_units.units, name="units"),
    path("units/begin/<slug:model>/<str:letter>/<slug:role>/", stock_units.unit_begin, name="unit_begin"),
    path("units/<int:pk>/", units.unit, name="unit"),
    path("units/<int:pk>/stock/", stock_units.unit_stock, name="unit_stock"),
    path("units/<int:pk>/bench/", stock_units.unit_bench, name="unit_bench"),
    path("units/<int:pk>/parts/<int:fitted>/out/", unit_mending.unit_part_out, name="unit_part_out"),
    path("units/<int:pk>/readings/<int:reading>/void/", unit_mending.unit_void, name="unit_void"),
    path("units/<int:pk>/holds/<int:number>/send-back/", unit_mending.unit_send_back, name="unit_send_back"),
    path("units/<int:pk>/out/", units.unit_out, name="unit_out"),
    path("units/<int:pk>/in/", units.unit_in, name="unit_in"),
    path("units/<int:pk>/scrap/", units.unit_scrap, name="unit_scrap"),
    path("axles/<str:serial>/tag/", axle_file.axle_tag, name="axle_tag"),
    path("axles/<str:serial>/parts/<int:pk>/out/", axle_file.axle_take_out, name="axle_take_out"),
    path("axles/<str:serial>/readings/<int:pk>/void/", axle_file.axle_void, name="axle_void"),
    path(f"{_AT}shorten/", axle_file.axle_shorten, name="axle_shorten"),
    path(f"{_AT}send-back/", axle_file.axle_send_back, name="axle_send_back"),
    path("photos/<int:pk>/", photos.photo, name="photo"),
    path("photos/<int:pk>/small/", photos.photo_small, name="photo_small"),
    path("procedures/", procedures.procedures, name="procedures"),
    path("procedures/<int:pk>/withdraw/", procedures.procedure_withdraw, name="procedure_withdraw"),
]

BOOK: Addresses = [
    path("bench-book/", bench_book.bench_book, name="bench_book"),
    path("bench-book/<slug:name>/", bench_book.bench_entry, name="bench_entry"),
]

REACH: Addresses = [path("reach/", reach.reach_list, name="reach")]

NOTICES: Addresses = [
    path("notices/", notices.notices, name="notices"),
    path("notices/new/", notices.notice_new, name="notice_new"),
    path("notices/<int:number>/", notices.notice, name="notice"),
    path("notices/<int:number>/steps/", notices.notice_step, name="notice_step"),
    path("notices/<int:number>/again/", notices.notice_again, name="notice_again"),
    path("notices/<int:number>/close/", notices.notice_close, name="notice_close"),
    path("notices/<int:number>/list/<int:revision>/", notices.notice_frozen, name="notice_frozen"),
    path("notices/<int:number>/letters/<int:key>/", notice_letter.notice_letter, name="notice_letter"),
]

RETURNS: Addresses = [
    path("returns/", returns.returns, name="returns"),
    path("returns/shared/", returns.returns_share, name="returns_share"),
    path("returns/axles/<str:serial>/", returns.returns_of, name="returns_of"),
    path("returns/axles/<str:serial>/exchange/", exchange.returns_exchange, name="returns_exchange"),
    path("returns/<int:number>/finding/", returns.return_finding, name="return_finding"),
    path("returns/<int:number>/photo/", returns.return_photo, name="return_photo"),
    path("returns/photos/<int:pk>/", photos.return_picture, name="return_picture"),
]

HOLDS: Addresses = [
    path("holds/", holds.holds, name="holds"),
    path("red-tags/", holds.red_tags, name="red_tags"),
    path("red-tags/<int:number>/", holds.red_tag, name="red_tag"),
    path("look-backs/<int:pk>/", look_back.look_back_page, name="look_back"),
    path("look-backs/ask/<str:mark>/", look_back_ask.look_back_ask, name="look_back_ask"),
    path("look-backs/axles/<int:pk>/", look_back.look_back_axle, name="look_back_axle"),
    path("lapses/<str:code>/<str:process>/", lapses.lapse, name="lapse"),
    path("lapses/axles/<int:pk>/decision/", lapses.lapsed_axle, name="lapsed_axle"),
]

CLOSING: Addresses = [
    path("axles/<str:serial>/closing/", closing.closing, name="closing"),
    path("axles/<str:serial>/closing/close/", closing.closing_close, name="closing_close"),
    path("axles/<str:serial>/closing/certify/", closing.closing_certify, name="closing_certify"),
    path("axles/<str:serial>/closing/reissue/", closing.closing_reissue, name="closing_reissue"),
    path("axles/<str:serial>/closing/again/", closing.closing_again, name="closing_again"),
    path("axles/<str:serial>/closing/put-in/<int:pk>/", closing.closing_put_in, name="closing_put_in"),
    path("axles/<str:serial>/closing/ship/", closing.closing_ship, name="closing_ship"),
    path("axles/<str:serial>/certificate/<int:issue>/", closing.certificate, name="certificate"),
    path("axles/<str:serial>/record/", closing.frozen_record, name="frozen_record"),
    path("orders/<str:number>/links/", closing.links, name="links"),
    path("orders/<str:number>/links/<int:pk>/revoke/", closing.link_revoke, name="link_revoke"),
    path("axles/<str:serial>/labels/", labels.labels, name="labels"),
    path("labels/<int:pk>/<slug:kind>/", labels.label, name="label"),
    path("people/<slug:code>/badge/print/", labels.badge_print, name="badge_print"),
]

CUSTOMER: Addresses = [
    path("yours/", customer.customer_enter, name="customer_enter"),
    path("yours/order/", customer.customer_order, name="customer_order"),
    path("yours/<str:serial>/<int:issue>/", customer.customer_certificate, name="customer_certificate"),
    path("yours/<str:token>/", customer.customer_enter, name="customer_enter_token"),
    path("verify/", customer.verify, name="verify"),
]

GALLERY: Addresses = [
    path("gallery/", gallery.gallery, name="gallery"),
    path("gallery/<str:kind>/", gallery.gallery_page, name="gallery_page"),
]

urlpatterns: Addresses = [
    # An address is looked for from above: what every terminal asks for all day stands first.
    *STATION,
    *WAITING,
    *CARDS,
    *ORDERS,
    *KITS,
    *STOCK,
    *AXLES,
    *BOOK,
    *REACH,
    *NOTICES,
    *RETURNS,
    *HOLDS,
    *CLOSING,
    *CUSTOMER,
    *GALLERY,
]
