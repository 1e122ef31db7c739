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
from builds.models import Axle, Removal
from builds.reports.facts import AxleStanding
from builds.reports.kit import NeedState, PartRows, needs_of, part_rows
from builds.reports.planning.nesting import GRAIN, Bar, Cuts, Plan, Saw, Wanted, nest
from builds.reports.planning.rack import LeftOut, rack
from builds.reports.waiting import house
from measurements.engineering.limits import plain
from measurements.engineering.units import convert


@dataclass(frozen=True)
class Tube:
    """A piece to cut: for which axle and side, between which limits, and of which heats where one was looked at (the
    side's own first; a piece made anew may be of any that was looked at for its axle). `look`: whether one has to be.
    """

    axle: Axle
    side: str
    promised: date
    kind: str
    kind_name: str
    low: Decimal
    high: Decimal
    unit: str
    heats: tuple[str, ...]
    look: bool

    @property
    def heat(self) -> str:
        return " or ".join(self.heats)

    @property
    def look_first(self) -> bool:
        """Whether no heat is looked at yet: the saw takes none before."""
        return self.look and not self.heats

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
class CuttingPlan:
    kinds: tuple[KindPlan, ...]
    left_out: tuple[LeftOut, ...]


def cutting_plan(now: datetime, saw: Saw) -> CuttingPlan:
    """A constant number of queries, however many axles and bars. Kerf and trim in inches."""
    tubes = wanted_tubes(house(now))
    bars, left_out = rack({tube.kind for tube in tubes}, saw.kerf)
    by_kind: dict[str, list[Tube]] = defaultdict(list)
    for tube in sorted(tubes, key=lambda one: (one.promised, one.axle.serial, one.side)):
        by_kind[tube.kind].append(tube)
    return CuttingPlan(tuple(_plan(tubes, bars[kind], saw) for kind, tubes in sorted(by_kind.items())), left_out)


def wanted_tubes(stands: Sequence[AxleStanding]) -> list[Tube]:
    """What is still to saw for these axles."""
    rows = part_rows([each.axle for each in stands])
    out = Removal.objects.filter(fitted__axle__in=[each.axle.pk for each in stands])
    anew = set(out.values_list("fitted__host", "fitted__role"))
    return [tube for each in stands for tube in _of_axle(each, rows, anew)]


def _of_axle(stands: AxleStanding, rows: PartRows, anew: Collection[tuple[int, str]]) -> Iterable[Tube]:
    needs = needs_of(stands.axle, rows=rows)
    for need in needs:
        asked = _sawn(need)
        if asked is None or not need.to_fit or need.aside:
            continue
        assert asked.low is not None
        assert asked.high is not None
        yield Tube(
            axle=stands.axle,
            side=need.slot.side,
            promised=stands.axle.line.promised_to,
            kind=need.planned.need.part_kind,
            kind_name=need.kind_name,
            low=asked.low,
            high=asked.high,
            unit=asked.unit,
            heats=_heats(need, needs, anew=(need.host.pk, need.role) in anew),
            look=bool(need.planned.need.heat_from),
        )


def _heats(need: NeedState, needs: Sequence[NeedState], *, anew: bool) -> tuple[str, ...]:
    """What stands in the looks now: a heat whose look was taken out is asked for no more."""
    looks = [
        look for look in needs if need.planned.need.heat_from and look.planned.need.role == need.planned.need.heat_from
    ]
    own = [look for look in looks if (look.planned.side or look.slot.side) in ("", need.slot.side)]
    marks = [row.part.mark for look in (*own, *(looks if anew else ())) for row in look.fitted]
    return tuple(dict.fromkeys(marks))


def _sawn(need: NeedState) -> Characteristic | None:
    """The characteristic of this slot that limits the length the piece is cut to."""
    codes = need.planned.need.sawn_length
    asked = [planned.characteristic for planned in need.slot.characteristics if planned.code in codes]
    return asked[0] if asked else None


def _plan(tubes: Sequence[Tube], bars: Sequence[tuple[Bar, int]], saw: Saw) -> KindPlan:
    by_name = {f"{number}": tube for number, tube in enumerate(tubes)}
    wanted = [Wanted(name, tube.length, _from(tube, bars)) for name, tube in by_name.items()]
    plan = nest([bar for bar, _ in bars], wanted, saw)
    cut_before = {bar.mark: count for bar, count in bars}
    return KindPlan(
        name=tubes[0].kind_name,
        plan=plan,
        bars=tuple(_bar(cuts, cut_before[cuts.bar.mark], by_name) for cuts in plan.cuts),
        short=tuple(by_name[piece.name] for piece in plan.short),
    )


def _from(tube: Tube, bars: Sequence[tuple[Bar, int]]) -> str:
    """The first of its heats of which a bar at hand is long enough; the first one where none is; any where none is
    looked at."""
    there = {bar.heat for bar, _ in bars if bar.length >= tube.length}
    return next((heat for heat in tube.heats if heat in there), next(iter(tube.heats), ""))


def _bar(cuts: Cuts, before: int, tubes: Mapping[str, Tube]) -> BarPlan:
    """The marks are those that a scan of the bar at the saw will give, as long as it is cut in this order."""
    pieces = (
        Sawn(f"{cuts.bar.mark}-{number}", tubes[piece.name]) for number, piece in enumerate(cuts.pieces, before + 1)
    )
    return BarPlan(cuts, tuple(pieces))
