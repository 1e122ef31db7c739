"""The bars and remnants on the rack: what is left of each, and which may not be planned with, with the reason."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from builds.models import Fitted, RedTag
from builds.reports.balance import balances
from builds.reports.planning.nesting import GRAIN, Bar
from measurements.engineering.units import convert
from measurements.models import Reading
from shop.models import HeatStatus, Piece, Where

#: A bar that waits somewhere else is named with its reason, so that nobody looks for it in vain.
_ON_THE_RACK = (Where.STOCK, Where.QUARANTINE, Where.RED_TAG)


@dataclass(frozen=True)
class LeftOut:
    """A bar that the plan does not touch, and why."""

    mark: str
    why: str


def rack(kinds: Collection[str], kerf: Decimal) -> tuple[dict[str, list[tuple[Bar, int]]], tuple[LeftOut, ...]]:
    """Bars by kind with what is left of each and how often it was cut; and those that cannot be planned."""
    rows = (
        Piece.objects.filter(parent=None, kind__code__in=kinds, item__place__where__in=_ON_THE_RACK)
        .select_related("item__place", "kind", "heat__item")
        .order_by("item__mark")
    )
    bars = list(rows)
    cut = _cut_from(bars)
    tagged = _tagged(bars)
    measured = balances(bars)
    found: dict[str, list[tuple[Bar, int]]] = defaultdict(list)
    out = []
    for bar in bars:
        now = measured[bar.pk]
        why = _why_not(bar, tagged) or ("" if now.remnant is not None else _why_no_length(bar, cut[bar.pk]))
        if why:
            out.append(LeftOut(bar.item.mark, why))
            continue
        assert bar.heat is not None
        if now.remnant is not None:
            left = _grains(now.remnant, bar.length_unit)
        else:
            gone = sum((length + kerf for length in cut[bar.pk].values() if length), Decimal(0))
            left = _in_inches(bar) - gone - _grains(now.scrap, bar.length_unit)
        if left > 0:
            found[bar.kind.code].append((Bar(bar.item.mark, left, bar.heat.item.mark), len(cut[bar.pk])))
    return found, tuple(out)


def _in_inches(bar: Piece) -> Decimal:
    assert bar.length is not None
    return _grains(bar.length, bar.length_unit)


def _grains(length: Decimal, unit: str) -> Decimal:
    """In inches, down to the next ten-thousandth."""
    return int(convert(length, unit, "in") / Fraction(GRAIN)) * GRAIN


def _why_not(bar: Piece, tagged: Mapping[int, int]) -> str:
    if bar.heat is None:
        return "its heat is not determinable"
    if bar.heat.status == HeatStatus.REFUSED:
        return f"heat {bar.heat.item.mark} is refused"
    if bar.item.place.where == Where.QUARANTINE:
        return "it is in quarantine"
    number = tagged.get(bar.pk) or tagged.get(bar.heat.pk)
    return f"red tag {number} is open" if number else ""


def _why_no_length(bar: Piece, cut: Mapping[str, Decimal | None]) -> str:
    if bar.length is None:
        return "its length was not recorded when it was taken in"
    unread = [mark for mark, length in cut.items() if length is None]
    return f"the sawn length of {', '.join(unread)} is not read yet" if unread else ""


def _tagged(bars: Sequence[Piece]) -> dict[int, int]:
    """The number of the open red tag on a bar or its heat, by item."""
    items = {bar.pk for bar in bars} | {bar.heat_id for bar in bars if bar.heat_id}
    return dict(RedTag.objects.open().filter(item__in=items).values_list("item", "number"))


def _cut_from(bars: Sequence[Piece]) -> dict[int, dict[str, Decimal | None]]:
    """The sawn length in inches of every piece cut from these bars, by bar and mark; None where none was read."""
    pieces = {
        piece.pk: piece for piece in Piece.objects.filter(parent__in=[bar.pk for bar in bars]).select_related("item")
    }
    fitted = Fitted.objects.filter(part__in=pieces).select_related("axle__revision", "visit")
    read = _read_at([row for row in fitted if row.visit_id])
    found: dict[int, dict[str, Decimal | None]] = defaultdict(dict)
    for piece in pieces.values():
        assert piece.parent_id is not None
        found[piece.parent_id][piece.item.mark] = None
    for row in fitted:
        piece = pieces[row.part_id]
        if row.visit_id in read and piece.parent_id is not None:
            found[piece.parent_id][piece.item.mark] = read[row.visit_id]
    return found


def _read_at(fitted: Sequence[Fitted]) -> dict[int | None, Decimal]:
    """The newest sawn length read at each of these visits, in inches."""
    units = {
        (row.axle.revision.key, asked.code): asked.unit
        for row in fitted
        if row.axle is not None
        for slot in row.axle.plan.slots
        for planned in slot.needs
        for asked in (one.characteristic for one in slot.characteristics)
        if asked.code in planned.need.sawn_length
    }
    rows = (
        Reading.objects.standing()
        .filter(
            characteristic__code__in={code for _, code in units},
            sheet__visit_links__visit__in=[row.visit_id for row in fitted],
        )
        .exclude(value=None)
        .order_by("pk")
        .values_list("sheet__visit_links__visit", "value", "characteristic__card_key", "characteristic__code")
    )
    return {
        visit: ceil(convert(value, units[card, code], "in") / Fraction(GRAIN)) * GRAIN
        for visit, value, card, code in rows
        if value is not None and (card, code) in units
    }
