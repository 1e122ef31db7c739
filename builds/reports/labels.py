"""Which labels an axle has, and what stands on each."""

from __future__ import annotations

from django.conf import settings

from builds.certificates.labels import Label, scan_text
from builds.models import Axle, Fitted, RedTag, Unit
from builds.reports.balance import balance_of
from measurements.engineering.limits import plain
from shop.clock import shop_day
from shop.codes import ScanKind
from shop.models import Item, ItemKind, Piece

SCAN_KINDS = {
    ItemKind.AXLE: ScanKind.AXLE,
    ItemKind.UNIT: ScanKind.UNIT,
    ItemKind.PART: ScanKind.PART,
    ItemKind.PIECE: ScanKind.PIECE,
    ItemKind.LOT: ScanKind.LOT,
    ItemKind.DRUM: ScanKind.DRUM,
    ItemKind.HEAT: ScanKind.HEAT,
    ItemKind.GAUGE: ScanKind.GAUGE,
}
KINDS = {
    "plate": "steel plate",
    "kit": "kit cart tag",
    "unit": "unit tag",
    "piece": "piece tag",
    "mark": "mark label",
}
_RED_TAG = "red-tag-"
_REMNANT = "remnant-"
#: Which labels an item of each kind may carry; everything that is not named has the plain one.
FITTING: dict[ItemKind, tuple[str, ...]] = dict.fromkeys(SCAN_KINDS, ("mark",)) | {
    ItemKind.AXLE: ("plate", "kit"),
    ItemKind.UNIT: ("unit",),
    ItemKind.PIECE: ("piece",),
}


def label_for(item: Item, kind: str) -> Label:
    """The label of an item. Kinds: plate and kit (an axle's), unit, piece, and mark for everything else."""
    scan = scan_text(SCAN_KINDS[ItemKind(item.kind)], item.mark)
    if item.kind == ItemKind.AXLE:
        return _axle_label(item, kind, scan)
    if item.kind == ItemKind.UNIT:
        return _unit_label(item, scan)
    if item.kind == ItemKind.PIECE:
        return _piece_label(item, scan)
    return _mark_label(item, scan)


def _axle_label(item: Item, kind: str, scan: str) -> Label:
    axle = Axle.objects.select_related("revision__model", "line__order__customer").get(pk=item.pk)
    options = dict(axle.plan.chosen)
    ratio = f"ratio {options['ratio']}" if "ratio" in options else ""
    if kind == "kit":
        lines = (f"order {axle.line.order.number}", f"{axle.revision}", "Kit: parts of this axle only")
        return Label("Kit cart", item.mark, lines, scan)
    made = f"{shop_day(axle.booked_at):%Y-%m}"
    told = tuple(filter(None, (axle.revision.model.name, ratio, made, settings.SHOP_NAME)))
    return Label("Axle", item.mark, told, scan, wide=True)


def _unit_label(item: Item, scan: str) -> Label:
    unit = Unit.objects.select_related("axle__item", "revision__model").defer("revision__text").get(pk=item.pk)
    stands = unit.axle.serial if unit.axle is not None else f"in no axle, built to {unit.revision or 'no card yet'}"
    return Label("Unit", item.mark, (unit.words, stands), scan)


def _piece_label(item: Item, scan: str) -> Label:
    piece = item.piece
    heat = piece.heat.item.mark if piece.heat is not None else "not determinable"
    fitted = Fitted.objects.filter(part=item).now().select_related("axle__item", "host__unit").first()
    where = ""
    if fitted is not None and fitted.axle is not None:
        unit = getattr(fitted.host, "unit", None)
        where = f"{fitted.axle.serial} {unit.side if unit is not None else ''}".strip()
    lines = tuple(filter(None, (f"heat {heat}", where, piece.kind.name)))
    return Label("Tube piece" if piece.parent_id else "Bar", item.mark, lines, scan)


def _mark_label(item: Item, scan: str) -> Label:
    lines: list[str] = [item.maker] if item.maker else []
    if item.kind == ItemKind.LOT:
        lot = item.lot
        lines += [lot.kind.name, f"received {lot.received_on:%Y-%m-%d}"]
        lines += [f"expires {lot.expires_on:%Y-%m-%d}"] if lot.expires_on else []
    if item.kind == ItemKind.DRUM:
        drum = item.drum
        lines += [drum.lot.kind.name, f"lot {drum.lot.item.mark}", f"opened {shop_day(drum.opened_at):%Y-%m-%d}"]
        lines += [f"use by {drum.last_day:%Y-%m-%d}"] if drum.last_day else []
    if item.kind == ItemKind.GAUGE:
        last = item.gauge.calibrations.order_by("-made_on").first()
        lines += [item.gauge.name] + ([f"due {last.due_on:%Y-%m-%d}"] if last is not None else [])
        lines += [f"or after {last.due_after:,} uses"] if last is not None and last.due_after else []
    return Label(str(item.get_kind_display()).capitalize(), item.mark, tuple(lines), scan)


def remnant_kind(item: Item) -> str:
    """The kind of the tag for what is left of a bar: each cut leaves another remnant, so each tag is one of its own.
    Empty for what is no bar, and before its first cut."""
    bar = Piece.objects.filter(pk=item.pk, parent=None).first()
    cuts = bar.cut.count() if bar is not None else 0
    return f"{_REMNANT}{cuts}" if cuts else ""


def _remnant_label(item: Item) -> Label:
    """The remnant keeps its heat and the bar's mark; the length is what the tape or the reckoning says now."""
    bar = Piece.objects.select_related("heat__item", "kind").get(pk=item.pk)
    now = balance_of(bar)
    heat = bar.heat.item.mark if bar.heat is not None else "not determinable"
    how = "measured" if now.remnant is not None else "reckoned"
    length = f"{plain(now.left)} {now.unit} {how}" if now.left is not None else "length not known"
    scan = scan_text(ScanKind.PIECE, item.mark)
    return Label("Remnant", item.mark, (f"heat {heat}", length, bar.kind.name), scan)


def red_tag_kind(tag: RedTag) -> str:
    """The kind under which the print of a red tag is logged on its item: each tag is a label of its own."""
    return f"{_RED_TAG}{tag.number}"


def find_label(item: Item, kind: str) -> Label | None:
    """The label of this kind for this item, or None when there is no such label."""
    if kind.startswith(_RED_TAG):
        tags = {red_tag_kind(tag): tag for tag in RedTag.objects.filter(item=item)}
        return red_tag_label(tags[kind]) if kind in tags else None
    if kind.startswith(_REMNANT):
        return _remnant_label(item) if kind == remnant_kind(item) else None
    return label_for(item, kind) if kind in FITTING[ItemKind(item.kind)] else None


def kind_words(kind: str) -> str:
    return "remnant tag" if kind.startswith(_REMNANT) else KINDS.get(kind, "red tag")


def red_tag_label(tag: RedTag) -> Label:
    lines = (tag.cause[:90], tag.item.mark)
    scan = scan_text(ScanKind.RED_TAG, str(tag.number))
    return Label("Red tag", str(tag.number), lines, scan, wide=True, loud="DO NOT USE")


def badge_label(name: str, code: str) -> Label:
    return Label("Badge", name, (settings.SHOP_NAME,), scan_text(ScanKind.BADGE, code))


def labels_of(axle: Axle) -> list[tuple[Item, str, str]]:
    """Every label that can be printed for an axle: (item, kind, words)."""
    found = [(axle.item, "plate", KINDS["plate"]), (axle.item, "kit", KINDS["kit"])]
    units = Unit.objects.filter(axle=axle).select_related("item").order_by("item__mark")
    found += [(unit.item, "unit", f"{KINDS['unit']}, {unit.words}") for unit in units]
    pieces = Fitted.objects.filter(axle=axle, part__kind=ItemKind.PIECE).now().select_related("part")
    found += [(row.part, "piece", KINDS["piece"]) for row in pieces]
    return found
