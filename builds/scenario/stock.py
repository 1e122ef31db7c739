"""Material for the invented shop: taken in when an axle needs it, by the same actions as the receiving pages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from builds.actions.receiving import (
    NewBar,
    NewLot,
    NewPart,
    open_drum,
    take_in_bar,
    take_in_lot,
    take_in_part,
)
from builds.actions.receiving_heats import NewHeat, free_heat, take_in_heat
from builds.definitions.words import Tracking
from builds.models import Bench, Delivery, Fitted, KitLine, Revision
from builds.reports.kit import NeedState
from shop.actions.signing import GRANT_LASTS, Grant
from shop.clock import shop_day
from shop.codes import running_number
from shop.models import Heat, Item, PartKind, Piece, Place, Supplier, Where
from shop.record.who import Who

#: Lots and drums that the scenario names, by part kind.
LOTS = {
    "head_bearing": "PB-5521",
    "tail_bearing": "PB-5522",
    "side_bearing": "PB-5530",
    "wheel_cup": "PB-5602",
    "wheel_cone": "PB-5603",
    "pinion_seal": "PS-121",
    "wheel_stud": "ST-77",
    "ring_bolt": "RG-40",
    "weld_wire": "OW-2210",
    "grease": "GR-9",
    "thread_adhesive": "TA-3",
    "paint": "WX-604",
}
TUBE_STEEL = {
    "20.1": "0.300", "20.2": "0.490", "20.3": "0.011", "20.4": "0.006", "20.5": "0.240", "20.6": "0.960",
    "20.7": "0.190", "20.8": "112", "20.9": "94", "20.10": "16",
}  # fmt: skip
BAR_LENGTH = Decimal("240")


@dataclass(frozen=True)
class GearSet:
    """Ring and pinion lapped together: the set's mark, the pinion's in thousandths, the backlash etched on them."""

    mark: str
    pinion: str = "0"
    backlash: str = "0.008"


@dataclass
class Stock:
    """Finds a part for a need, and takes one in where there is none."""

    receiver: Who
    inspector: Who
    lots: dict[str, str] = field(default_factory=lambda: dict(LOTS))
    heats: dict[tuple[str, str], str] = field(default_factory=dict)
    sets: dict[str, GearSet] = field(default_factory=dict)
    #: The melts that serial parts of a kind are of, where the shop knows them.
    melts: dict[str, str] = field(default_factory=dict)
    serials: dict[tuple[str, str], str] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)

    def find(self, bench: Bench, need: NeedState, now: datetime) -> str:
        """The mark to scan for this need of this axle, or of this unit that is in none."""
        code = need.planned.need.part_kind
        if need.tracking is Tracking.LOT:
            return self._lot(code, now)
        if need.tracking is Tracking.BULK:
            return self._drum(code, now)
        if need.tracking is Tracking.HEAT:
            return self.heat_for(bench, need.slot.side or need.planned.side, now)
        if need.tracking is Tracking.PIECE:
            return self._bar(bench, need, now)
        return self._serial(bench, need, now)

    def heat_for(self, bench: Bench, side: str, now: datetime) -> str:
        """The tube heat the scenario names for this axle and side, else the model's usual one."""
        usual = {"SORREL-960": "Q7714"}.get(bench.card_revision.model.code.upper().replace("_", "-"), "R7120")
        number = _number(bench)
        return self.heats.get((number, side), self.heats.get((number, ""), usual))

    def take_in_tube_heat(
        self,
        mark: str,
        revision: Revision,
        now: datetime,
        *,
        values: Mapping[str, str] | None = None,
        came: Delivery | None = None,
    ) -> Heat:
        """A heat of tube stock as its certificate states it; freed by the inspector unless it is refused."""
        mill, number = Supplier.objects.get(code="QTM"), f"QTM-{mark}"
        asked = {found.code for operation in revision.card.operations for found in operation.characteristics}
        stated = {code: value for code, value in (TUBE_STEEL | dict(values or {})).items() if code in asked}
        kept = frozenset(TUBE_STEEL)
        new = NewHeat(mark, mill, _tube_kind(revision), number, "3.1", stated, kept, delivery=came)
        return self._freed(take_in_heat(heat=new, revision=revision, by=self.receiver, now=now), now)

    def take_in_melt(self, mark: str, kind: str, revision: Revision, now: datetime) -> None:
        """The melt that serial parts of this kind are forged from."""
        maker = Supplier.objects.get(code="AGF")
        new = NewHeat(mark, maker, PartKind.objects.get(code=kind), f"AGF-{mark}", "3.1", {}, frozenset())
        self._freed(take_in_heat(heat=new, revision=revision, by=self.receiver, now=now), now)
        self.melts[kind] = mark

    def take_in_spindles(self, kind: str, number: str, now: datetime) -> None:
        """The two forgings of an axle. They come with their melt: its chain stands in the order of the days."""
        melt, maker = Heat.objects.get(item__mark=self.melts[kind]), self._supplier(kind)
        for side in "LR":
            made = PartKind.objects.get(code=kind)
            new = NewPart(f"S-{number}{side}", made, maker, heat=melt, facts={"heat": self.melts[kind]}, sure=True)
            take_in_part(part=new, by=self.receiver, now=now)

    def _freed(self, heat: Heat, now: datetime) -> Heat:
        """An inspector frees the first use of what is not refused."""
        if heat.status != "held":
            return heat
        assert self.inspector.person is not None
        grant = Grant(self.inspector.person, self.inspector.terminal, "released", now + GRANT_LASTS)
        return free_heat(heat=heat, grant=grant, by=self.inspector, now=now)

    def _next(self, name: str) -> int:
        self.counts[name] = self.counts.get(name, 0) + 1
        return self.counts[name]

    def _lot(self, code: str, now: datetime) -> str:
        short = code[:8].upper().replace("_", "")
        mark = self.lots.setdefault(code, f"L-{short}-{len(self.lots) + 1}")
        if not Item.objects.filter(kind="lot", mark=mark).exists():
            new = NewLot(mark, PartKind.objects.get(code=code), self._supplier(code), shop_day(now), 500)
            take_in_lot(lot=new, by=self.receiver, now=now)
        return mark

    def _drum(self, code: str, now: datetime) -> str:
        lot = self._lot(code, now)
        mark = f"{lot}-D1"[:14]
        if not Item.objects.filter(kind="drum", mark=mark).exists():
            row = Item.objects.get(kind="lot", mark=lot).lot
            open_drum(lot=row, mark=mark, by=self.receiver, now=now)
        return mark

    def _bar(self, bench: Bench, need: NeedState, now: datetime) -> str:
        heat = self.heat_for(bench, need.slot.side, now)
        mark = f"{heat}-{_number(bench)[1:]}"
        found = Piece.objects.filter(item__mark=mark, parent=None).select_related("item").first()
        if found is not None:
            return str(found.item.mark)
        self.take_in_bar(heat, mark, now)
        return mark

    def take_in_bar(self, heat: str, mark: str, now: datetime, length: Decimal = BAR_LENGTH) -> None:
        """A bar, or a remnant, of a heat that is known."""
        melt = Heat.objects.get(item__mark=heat)
        card = next(
            revision.card
            for revision in Revision.objects.filter(state="released")
            if any(kind.code == melt.item.sort for kind in revision.card.part_kinds)
        )
        kind = next(kind.code for kind in card.part_kinds if kind.tracking is Tracking.PIECE)
        bar = NewBar(mark, PartKind.objects.get(code=kind), melt, length)
        take_in_bar(bar=bar, by=self.receiver, now=now)

    def _serial(self, bench: Bench, need: NeedState, now: datetime) -> str:
        kind = need.planned.need.part_kind
        number = _number(bench)
        mark = self.serials.get((number, kind)) or self._own_mark(bench, need, number)
        item = Item.objects.filter(kind="part", sort=kind, mark=mark).first()
        if item is None:
            self._take_in(bench, need, mark, now)
        elif self._is_elsewhere(item, bench):
            mark = f"{mark}-{self._next(mark) + 1}"
            self._take_in(bench, need, mark, now)
        return mark

    def _own_mark(self, bench: Bench, need: NeedState, number: str) -> str:
        kind = need.planned.need.part_kind
        if kind == "plate":
            return bench.serial
        if need.planned.need.matched_set:
            return self.gear_set(number).mark
        if kind in self.melts:
            return f"S-{number}{(need.slot.side or need.planned.side)[:1].upper()}"
        short = "".join(word[0] for word in kind.split("_")).upper()
        return f"{short}-{number}{(need.slot.side or need.planned.side)[:1].upper()}"

    def _is_elsewhere(self, item: Item, bench: Bench) -> bool:
        place = Place.objects.filter(pk=item.pk).first()
        if place is None or place.where == Where.STOCK:
            return False
        mine = KitLine.objects.filter(axle=bench.as_axle, part=item, returned_at=None).exists()
        return not mine or Fitted.objects.now().filter(part=item).exists()

    def gear_set(self, number: str) -> GearSet:
        """The set the scenario names for this axle, else one of its own."""
        return self.sets.get(number, GearSet(f"AG-{number}"))

    def etched(self, number: str) -> dict[str, str]:
        """What is read off the set when the kit is paired, by the code that asks for it."""
        found = self.gear_set(number)
        return {"10.a": found.pinion} | ({"10.b": found.backlash} if found.backlash else {})

    def _take_in(self, bench: Bench, need: NeedState, mark: str, now: datetime) -> None:
        kind = need.planned.need.part_kind
        gears = self.gear_set(_number(bench))
        known = {"pinion_mark": gears.pinion, "etched_backlash": gears.backlash, "lot": "HL-20", "heat": "M-551"}
        facts = {fact: known.get(fact, "") for fact in bench.card_revision.card.part_kind(kind).facts}
        new = NewPart(
            mark,
            PartKind.objects.get(code=kind),
            self._supplier(kind),
            set_mark=gears.mark if need.planned.need.matched_set else "",
            facts=facts,
            sure=True,
        )
        take_in_part(part=new, by=self.receiver, now=now)

    def _supplier(self, code: str) -> Supplier:
        if "bearing" in code or code.startswith("wheel_c"):
            return Supplier.objects.get(code="PB")
        if code in ("paint",):
            return Supplier.objects.get(code="WL")
        if code in ("weld_wire", "shielding_gas"):
            return Supplier.objects.get(code="OW")
        return Supplier.objects.get(code="AGF")


def _number(bench: Bench) -> str:
    """0143 of an axle's serial; U014 of the mark of a unit that is in none."""
    return running_number(bench.serial) if bench.as_axle is not None else bench.serial.split("-")[1]


def _tube_kind(revision: Revision) -> PartKind:
    """The part kind this card knows by its heat: each tube size is a kind of its own."""
    known = [kind for kind in revision.card.part_kinds if kind.tracking in (Tracking.HEAT, Tracking.PIECE)]
    code = min(known, key=lambda kind: kind.tracking is not Tracking.HEAT).code
    return PartKind.objects.get(code=code)
