"""One thing with an identity of its own: what it is, where it is, where it was, and what was found wrong with it."""

from __future__ import annotations

from dataclasses import dataclass

from builds.models import Fitted, KitLine, LabelPrint, RedTag, Unit
from builds.reports.balance import Balance, balance_of
from builds.reports.labels import FITTING, remnant_kind
from builds.reports.marks import describe
from shop.clock import shop_day
from shop.models import Drum, Heat, Item, ItemKind, Lot, Part, Piece, Tracking, Where

#: Rows of each list; a lot of bolts goes into every axle.
MOST = 200
SHOWN = (ItemKind.UNIT, ItemKind.PART, ItemKind.PIECE, ItemKind.LOT, ItemKind.DRUM, ItemKind.HEAT)


@dataclass(frozen=True)
class Fact:
    """One line of what is known of it. `of`: the thing that the value names, when it has a page."""

    label: str
    value: str
    of: Item | None = None


@dataclass(frozen=True)
class ItemFile:
    """What the page shows. `more`: how many places were left out at the end of the lists."""

    item: Item
    words: str
    facts: list[Fact]
    fitted: list[Fitted]
    formerly: list[Fitted]
    inside: list[Fitted]
    kits: list[KitLine]
    tags: list[RedTag]
    printed: int
    label: str
    more: int
    #: Of a bar: where its length went, and the kind of the tag for what is left of it (empty before the first cut).
    balance: Balance | None = None
    remnant_tag: str = ""
    counted: bool = False

    @property
    def may_quarantine(self) -> bool:
        place = getattr(self.item, "place", None)
        kinds = (ItemKind.PIECE, ItemKind.LOT, ItemKind.DRUM, ItemKind.PART)
        return self.item.kind in kinds and place is not None and place.where in (Where.STOCK, Where.FLOOR)

    @property
    def open_tags(self) -> list[RedTag]:
        return [tag for tag in self.tags if getattr(tag, "disposition", None) is None]


def item_file(item: Item) -> ItemFile:
    rows = Fitted.objects.filter(part=item).select_related("host", "axle__item", "removal", "person", "part")
    count, newest = rows.count(), list(rows.order_by("-at", "-pk")[:MOST])
    out = [row for row in newest if getattr(row, "removal", None) is not None]
    tags = RedTag.objects.filter(item=item).select_related("opened_by", "disposition__signature__person")
    kits = KitLine.objects.filter(part=item, returned_at=None).select_related("axle__item")
    label = FITTING[ItemKind(item.kind)][0]
    bar = Piece.objects.filter(pk=item.pk, parent=None).first()
    return ItemFile(
        item=item,
        words=describe(item),
        facts=_facts(item),
        fitted=[row for row in newest if row not in out],
        formerly=out,
        inside=list(Fitted.objects.now().filter(host=item).select_related("part", "person").order_by("pk")),
        kits=list(kits.exclude(axle__in=[row.axle_id for row in newest if row not in out]).order_by("pk")[:MOST]),
        tags=list(tags.order_by("-number")),
        printed=LabelPrint.objects.filter(item=item, kind=label).count(),
        label=label,
        more=max(0, count - MOST),
        balance=balance_of(bar) if bar is not None else None,
        remnant_tag=remnant_kind(item),
        counted=Lot.objects.filter(pk=item.pk, kind__tracking=Tracking.LOT).exists(),
    )


def _facts(item: Item) -> list[Fact]:
    found = {
        ItemKind.UNIT: _of_unit,
        ItemKind.PART: _of_part,
        ItemKind.PIECE: _of_piece,
        ItemKind.LOT: _of_lot,
        ItemKind.DRUM: _of_drum,
        ItemKind.HEAT: _of_heat,
    }[ItemKind(item.kind)](item.pk)
    return [fact for fact in found if fact.value]


def _of_unit(pk: int) -> list[Fact]:
    unit = Unit.objects.select_related("axle__item", "revision__model").defer("revision__text").get(pk=pk)
    axle = unit.axle.item if unit.axle is not None else None
    built = str(unit.revision) if unit.revision is not None else ""
    return [Fact("Unit", unit.words), Fact("Of axle", axle.mark if axle else "none now", axle), Fact("Built to", built)]


def _of_part(pk: int) -> list[Fact]:
    part = Part.objects.select_related("kind", "supplier", "heat__item").get(pk=pk)
    stands = [Fact(name.replace("_", " ").capitalize(), str(value)) for name, value in part.facts.items()]
    return [
        Fact("Part", part.kind.name),
        Fact("Maker", part.supplier.name if part.supplier else ""),
        Fact("Set", part.set_mark),
        *_heat(part.heat),
        *stands,
    ]


def _of_piece(pk: int) -> list[Fact]:
    piece = Piece.objects.select_related("kind", "heat__item", "parent__item").get(pk=pk)
    cut = piece.parent.item if piece.parent is not None else None
    heat = _heat(piece.heat) or [Fact("Heat", "not determinable")]
    length = f"{piece.length.normalize():f} {piece.length_unit}" if piece.length is not None else ""
    return [
        Fact("Steel", piece.kind.name),
        *heat,
        Fact("Cut from", cut.mark if cut else "", cut),
        Fact("Length", length),
        Fact("Heat mark", "" if piece.mark_readable else "cannot be read"),
    ]


def _of_lot(pk: int) -> list[Fact]:
    lot = Lot.objects.select_related("kind", "supplier").get(pk=pk)
    return [
        Fact("Lot of", lot.kind.name),
        Fact("Maker", lot.supplier.name if lot.supplier else ""),
        Fact("Came on", f"{lot.received_on:%Y-%m-%d}" + (f", {lot.received} of them" if lot.received else "")),
        Fact("May be used to the end of", f"{lot.expires_on:%Y-%m-%d}" if lot.expires_on else "no end"),
    ]


def _of_drum(pk: int) -> list[Fact]:
    drum = Drum.objects.select_related("lot__item", "lot__kind").get(pk=pk)
    return [
        Fact("Of", drum.lot.kind.name),
        Fact("Lot", drum.lot.item.mark, drum.lot.item),
        Fact("Opened on", f"{shop_day(drum.opened_at):%Y-%m-%d}"),
        Fact("May be used to the end of", f"{drum.last_day:%Y-%m-%d}" if drum.last_day else "no end"),
    ]


def _of_heat(pk: int) -> list[Fact]:
    heat = Heat.objects.select_related("supplier").get(pk=pk)
    mill = heat.supplier.name if heat.supplier else ""
    return [Fact("Steel", heat.material), Fact("Mill", mill), Fact("State", heat.get_status_display())]


def _heat(heat: Heat | None) -> list[Fact]:
    return [Fact("Heat", heat.item.mark, heat.item)] if heat is not None else []
