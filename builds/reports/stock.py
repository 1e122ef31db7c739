"""The material drawer: heats, bars, lots, drums and serial parts, with where each of them is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Count, Q, Sum

from builds.models import AxleModel, Fitted, Revision, RevisionState
from builds.reports.kit import shown
from shop.models import Drum, Heat, Lot, Part, PartKind, Piece, Tracking, Where

#: Rows of each list where all stand on one page, and of one that is looked at alone; more are found by their mark.
FEW, MOST = 20, 200
LISTS = ("heats", "pieces", "lots", "drums", "parts")
#: Without words the drawer shows what lies here; what was fitted, cut up or sent is found by its mark.
HERE = (Where.STOCK, Where.QUARANTINE, Where.KIT, Where.FLOOR, Where.RED_TAG)
#: A list for a spreadsheet is not cut short.
EVERY = 1_000_000


@dataclass(frozen=True)
class Drawer:
    """What the page lists; `more` names the lists that were cut short."""

    heats: list[Heat]
    pieces: list[Piece]
    lots: list[LotRow]
    drums: list[Drum]
    parts: list[PartRow]
    today: date
    more: tuple[str, ...]


@dataclass(frozen=True)
class LotRow:
    lot: Lot
    used: Decimal
    expired: bool

    @property
    def left(self) -> str:
        """Counted parts only: of a bulk good the drums tell."""
        if self.lot.kind.tracking != Tracking.LOT:
            return ""
        return shown(self.lot.received - self.used)


@dataclass(frozen=True)
class PartRow:
    part: Part

    @property
    def stands(self) -> str:
        """What stands on it: "pinion mark +2, etched backlash .008"."""
        return ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in self.part.facts.items())


def drawer(words: str, today: date, *, most: int = MOST, only: str = "") -> Drawer:
    """Everything whose mark, maker, kind or set holds the words; what lies here when there are none. `only`: one
    list."""
    heats = Heat.objects.select_related("item__place", "supplier").annotate(bars=Count("pieces"))
    pieces = Piece.objects.select_related("item__place__host", "kind", "heat__item", "parent__item")
    lots = Lot.objects.select_related("item__place", "kind", "supplier")
    drums = Drum.objects.select_related("item__place", "lot__item", "lot__kind")
    parts = Part.objects.select_related("item__place__host", "kind", "supplier", "heat__item")
    if words:
        marked = Q(item__mark__icontains=words) | Q(item__maker__icontains=words)
        heats = heats.filter(marked | Q(material__icontains=words))
        pieces = pieces.filter(marked | Q(heat__item__mark__icontains=words) | Q(kind__name__icontains=words))
        lots = lots.filter(marked | Q(kind__name__icontains=words))
        drums = drums.filter(marked | Q(lot__item__mark__icontains=words))
        parts = parts.filter(marked | Q(set_mark__icontains=words) | Q(kind__name__icontains=words))
    else:
        pieces, parts = pieces.filter(item__place__where__in=HERE), parts.filter(item__place__where__in=HERE)
    end = {name: most + 1 if only in ("", name) else 0 for name in LISTS}
    found = Drawer(
        heats=list(heats.order_by("-pk")[: end["heats"]]),
        pieces=list(pieces.order_by("item__mark")[: end["pieces"]]),
        lots=_lot_rows(list(lots.order_by("-received_on", "-pk")[: end["lots"]]), today),
        drums=list(drums.order_by("shut_at", "-opened_at")[: end["drums"]]),
        parts=[PartRow(row) for row in parts.order_by("kind__name", "item__mark")[: end["parts"]]],
        today=today,
        more=(),
    )
    return _cut(found, most)


def _cut(found: Drawer, most: int) -> Drawer:
    lists = {name: getattr(found, name) for name in LISTS}
    return Drawer(
        **{name: rows[:most] for name, rows in lists.items()},
        today=found.today,
        more=tuple(name for name, rows in lists.items() if len(rows) > most),
    )


def _lot_rows(lots: list[Lot], today: date) -> list[LotRow]:
    used = dict(
        Fitted.objects.used_up()
        .filter(part__in=[lot.pk for lot in lots])
        .values_list("part")
        .annotate(total=Sum("quantity"))
        .order_by()
    )
    return [
        LotRow(
            lot,
            Decimal(used.get(lot.pk) or 0),
            lot.expires_on is not None and lot.expires_on < today,
        )
        for lot in lots
    ]


def pieces_of(heat: Heat) -> list[Piece]:
    rows = Piece.objects.filter(heat=heat).select_related("item__place__host", "kind", "parent__item")
    return list(rows.order_by("item__mark"))


def newest_cards() -> list[Revision]:
    """The newest released revision of every model: what new material is judged by."""
    rows = Revision.objects.filter(state=RevisionState.RELEASED).select_related("model").defer("text")
    newest: dict[int, Revision] = {}
    for revision in rows.order_by("released_at", "pk"):
        newest[revision.model_id] = revision
    return [newest[model.pk] for model in AxleModel.objects.all() if model.pk in newest]


def facts_of(kind: PartKind) -> tuple[str, ...]:
    """What the cards in force want written down of each part of this kind."""
    found: dict[str, None] = {}
    for revision in newest_cards():
        for known in revision.card.part_kinds:
            if known.code == kind.code:
                found |= dict.fromkeys(known.facts)
    return tuple(found)
