"""The saw list: the tubes that the axles in the house still need, out of the bars and remnants on the rack.

What to cut reads from the card (sawn_length, heat_from); what is there from the record. A bar whose length left cannot
be told, or that may not be used, is named with the reason and planned with nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from math import ceil

from builds.definitions.characteristic import Characteristic
from builds.models import Axle, Fitted, RedTag
from builds.reports.balance import balances
from builds.reports.facts import AxleStanding
from builds.reports.kit import NeedState, PartRows, needs_of, part_rows
from builds.reports.planning.nesting import GRAIN, Bar, Cuts, Plan, Saw, Wanted, nest
from builds.reports.waiting import house
from measurements.engineering.limits import plain
from measurements.engineering.units import convert
from measurements.models import Reading
from shop.models import HeatStatus, Piece, Where

#: A bar that waits somewhere else is named with its reason, so that nobody looks for it in vain.
_ON_THE_RACK = (Where.STOCK, Where.QUARANTINE, Where.RED_TAG)


@dataclass(frozen=True)
class Tube:
    """A piece to cut: for which axle and side, between which limits, and of which heat where one was looked at."""

    axle: Axle
    side: str
    promised: date
    kind: str
    kind_name: str
    low: Decimal
    high: Decimal
    unit: str
    heat: str

    @property
    def length(self) -> Decimal:
        """The middle of its limits in inches, up to the next ten-thousandth."""
        middle = convert(Fraction(self.low + self.high) / 2, self.unit, "in")
        return short(ceil(middle / Fraction(GRAIN)) * GRAIN)


def short(length: Decimal) -> Decimal:
    """The same length without trailing zeros."""
    return Decimal(plain(length))


@dataclass(frozen=True)
class Sawn:
    """One line of the list: the mark to stamp before the saw starts, and what it is for."""

    mark: str
    tube: Tube


@dataclass(frozen=True)
class BarPlan:
    cuts: Cuts
    pieces: tuple[Sawn, ...]

    @property
    def length(self) -> Decimal:
        return short(self.cuts.bar.length)

    @property
    def remnant(self) -> Decimal:
        return short(self.cuts.left)


@dataclass(frozen=True)
class KindPlan:
    """One size of tube: each bar with its pieces, and those that no bar at hand gives."""

    name: str
    plan: Plan
    bars: tuple[BarPlan, ...]
    short: tuple[Tube, ...]

    @property
    def cut(self) -> Decimal:
        """The length of the pieces."""
        return short(sum((piece.tube.length for bar in self.bars for piece in bar.pieces), Decimal(0)))

    @property
    def used(self) -> Decimal:
        return short(self.plan.used)

    @property
    def at_most_better(self) -> Decimal:
        """How much less steel a better plan could take into use; nothing where the plan is the best."""
        return short(self.plan.used - self.plan.bound)


@dataclass(frozen=True)
class LeftOut:
    """A bar that the plan does not touch, and why."""

    mark: str
    why: str


@dataclass(frozen=True)
class CuttingPlan:
    kinds: tuple[KindPlan, ...]
    left_out: tuple[LeftOut, ...]


def cutting_plan(now: datetime, saw: Saw) -> CuttingPlan:
    """A constant number of queries, however many axles and bars. Kerf and trim in inches."""
    tubes = wanted_tubes(house(now))
    bars, left_out = _rack({tube.kind for tube in tubes}, saw.kerf)
    by_kind: dict[str, list[Tube]] = defaultdict(list)
    for tube in sorted(tubes, key=lambda one: (one.promised, one.axle.serial, one.side)):
        by_kind[tube.kind].append(tube)
    return CuttingPlan(tuple(_plan(tubes, bars[kind], saw) for kind, tubes in sorted(by_kind.items())), left_out)


def wanted_tubes(stands: Sequence[AxleStanding]) -> list[Tube]:
    """What is still to saw for these axles."""
    rows = part_rows([each.axle for each in stands])
    return [tube for each in stands for tube in _of_axle(each, rows)]


def _of_axle(stands: AxleStanding, rows: PartRows) -> Iterable[Tube]:
    needs = needs_of(stands.axle, rows=rows)
    cited = {(need.planned.need.role, need.planned.side or need.slot.side): need for need in needs}
    for need in needs:
        asked = _sawn(need)
        if asked is None or not need.to_fit or need.aside:
            continue
        assert asked.low is not None
        assert asked.high is not None
        heat = cited.get((need.planned.need.heat_from, need.slot.side))
        yield Tube(
            axle=stands.axle,
            side=need.slot.side,
            promised=stands.axle.line.promised_to,
            kind=need.planned.need.part_kind,
            kind_name=need.kind_name,
            low=asked.low,
            high=asked.high,
            unit=asked.unit,
            heat=heat.fitted[-1].part.mark if heat is not None and heat.fitted else "",
        )


def _sawn(need: NeedState) -> Characteristic | None:
    """The characteristic of this slot that limits the length the piece is cut to."""
    codes = need.planned.need.sawn_length
    asked = [planned.characteristic for planned in need.slot.characteristics if planned.code in codes]
    return asked[0] if asked else None


def _plan(tubes: Sequence[Tube], bars: Sequence[tuple[Bar, int]], saw: Saw) -> KindPlan:
    by_name = {f"{number}": tube for number, tube in enumerate(tubes)}
    wanted = [Wanted(name, tube.length, tube.heat) for name, tube in by_name.items()]
    plan = nest([bar for bar, _ in bars], wanted, saw)
    cut_before = {bar.mark: count for bar, count in bars}
    return KindPlan(
        name=tubes[0].kind_name,
        plan=plan,
        bars=tuple(_bar(cuts, cut_before[cuts.bar.mark], by_name) for cuts in plan.cuts),
        short=tuple(by_name[piece.name] for piece in plan.short),
    )


def _bar(cuts: Cuts, before: int, tubes: Mapping[str, Tube]) -> BarPlan:
    """The marks are those that a scan of the bar at the saw will give, as long as it is cut in this order."""
    pieces = (
        Sawn(f"{cuts.bar.mark}-{number}", tubes[piece.name]) for number, piece in enumerate(cuts.pieces, before + 1)
    )
    return BarPlan(cuts, tuple(pieces))


def _rack(kinds: Collection[str], kerf: Decimal) -> tuple[dict[str, list[tuple[Bar, int]]], tuple[LeftOut, ...]]:
    """Bars by kind with what is left of each and how often it was cut; and those that cannot be planned."""
    rows = (
        Piece.objects.filter(
            parent=None, kind__code__in=kinds, item__place__where__in=(Where.STOCK, Where.QUARANTINE, Where.RED_TAG)
        )
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
