"""What one axle of the generated shop is made of: so many passes, readings and parts, read from the released card.

25 passes, 120 readings, about 40 parts; the operations, characteristics, positions, roles, units and joints are the
card's own, so that every page can draw such an axle. It is an axle with some of its card's operations, not all.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from builds.definitions.plan import BuildPlan, Slot
from builds.definitions.words import Kind, Tracking
from builds.models import Operation, Revision
from measurements.models import Characteristic, Gauge
from shop.models import PartKind, Terminal
from shop.models.fields import SCALE
from tests.benchmarks.scale.tables import NONE

PASSES = (
    "30/left", "30/right", "50/left", "50/right", "70/left", "70/right", "80/left", "80/right", "110/", "130/",
    "200/", "210/", "220/", "230/", "260/", "280/", "290/", "300/", "320/", "330/", "340/left", "340/right",
    "360/left", "360/right", "400/",
)  # fmt: skip
READINGS = 120
#: Where the planted causes have their hand: the pass of the bearings, and the pass of the last measurements.
BEARINGS, MEASURED = "280/", "300/"
#: How many axles a lot of a role, a heat and a bar last.
LOT_LASTS = (50, 100, 125, 200, 250, 400, 500)
DRUM_LASTS = (20, 25, 40, 50)


@dataclass(frozen=True)
class Unit:
    """A unit of every axle; `place` is its number among the axle's things."""

    role: str
    side: str
    place: int


@dataclass(frozen=True)
class Read:
    """One reading of every axle: the words between the keys, and the gauges that take turns."""

    characteristic: int
    position: str
    words: str
    gauges: tuple[int, ...]


@dataclass(frozen=True)
class Fit:
    """One part of every axle. `shared`: the number of its lots or drums; `own`: the place of a serial part."""

    role: str
    kind: str
    tracking: str
    host: int
    lasts: int = 0
    shared: int = -1
    own: int = -1


@dataclass(frozen=True)
class Pass:
    """One pass of every axle. `host`: the place of the thing it is on; `first`: the number of its first reading."""

    key: str
    operation: int
    host: int
    terminal: int
    reads: tuple[Read, ...]
    fits: tuple[Fit, ...]
    joints: tuple[str, ...]
    first: int
    first_fit: int
    first_joint: int


@dataclass(frozen=True)
class Shape:
    """Every axle. `things`: items of its own, the axle itself at place 0, then units, then parts and pieces."""

    units: tuple[Unit, ...]
    passes: tuple[Pass, ...]
    things: int
    fits: int
    kinds: dict[str, int]

    @cached_property
    def reads(self) -> int:
        return sum(len(one.reads) for one in self.passes)

    @cached_property
    def joints(self) -> int:
        return sum(len(one.joints) for one in self.passes)


class _Shaper:
    def __init__(self, revision: Revision, plan: BuildPlan) -> None:
        self.plan = plan
        self.slots = [plan.slot(key) for key in PASSES]
        self.operations = dict(Operation.objects.filter(revision=revision).values_list("number", "pk"))
        self.characteristics = {row.code: row for row in Characteristic.objects.filter(card_key=revision.key)}
        self.terminals = dict(Terminal.objects.values_list("station__code", "pk"))
        self.kinds = dict(PartKind.objects.values_list("code", "pk"))
        self.gauges: dict[str, list[int]] = {}
        for row in Gauge.objects.filter(retired_at=None).order_by("pk"):
            self.gauges.setdefault(row.kind, []).append(row.pk)
        names = sorted({(slot.unit, slot.side) for slot in plan.slots} - {("axle", "")})
        self.units = tuple(Unit(role, side, place + 1) for place, (role, side) in enumerate(names))
        self.place = {("axle", ""): 0, **{(unit.role, unit.side): unit.place for unit in self.units}}
        self.things, self.shared = 1 + len(names), 0

    def shape(self) -> Shape:
        reads, passes, first = self._reads(), [], (0, 0, 0)
        for slot in self.slots:
            made = self._pass(slot, tuple(reads[slot.key]), first)
            first = (first[0] + len(made.reads), first[1] + len(made.fits), first[2] + len(made.joints))
            passes.append(made)
        return Shape(self.units, tuple(passes), self.things, first[1], self.kinds)

    def _reads(self) -> dict[str, list[Read]]:
        """So many as are wanted: one of each characteristic at first, then what is read at more positions."""
        every = [
            (depth, slot.key, planned, label)
            for slot in self.slots
            for planned in slot.characteristics
            for depth, label in enumerate(planned.labels)
            if planned.characteristic.kind in (Kind.MEASURED, Kind.COMPUTED, Kind.YES_NO, Kind.GO_NO_GO)
        ]
        chosen = sorted(every, key=lambda one: (one[0], PASSES.index(one[1])))[:READINGS]
        found: dict[str, list[Read]] = {key: [] for key in PASSES}
        for _, key, planned, label in chosen:
            found[key].append(self._read(planned.code, label))
        return found

    def _read(self, code: str, label: str) -> Read:
        row = self.characteristics[code]
        gauges = tuple(self.gauges.get(row.gauge_kind, ())) if row.gauge_kind else ()
        if row.kind in (Kind.YES_NO, Kind.GO_NO_GO):
            words = ["1", "yes" if row.kind == Kind.YES_NO else "go", "", NONE, "", NONE, NONE, NONE, "in"]
            return Read(row.pk, label, "\t".join(words), gauges)
        low, high = row.low or Decimal(0), row.high if row.high is not None else (row.low or Decimal(1)) * 2
        middle = (low + high) / 2
        limits = [NONE if value is None else _billionths(value) for value in (row.low, row.high, row.never_above)]
        words = ["1", f"{middle:f}", row.unit, _billionths(middle), "", *limits, "in"]
        return Read(row.pk, label, "\t".join(words), gauges)

    def _pass(self, slot: Slot, reads: tuple[Read, ...], first: tuple[int, int, int]) -> Pass:
        host = self.place[slot.unit, slot.side]
        fits = tuple(self._fit(slot.role_of(need), need.need.part_kind, host) for need in slot.needs)
        terminal = self.terminals[slot.operation.station]
        joints = tuple(weld.joint for weld in slot.welds)
        return Pass(slot.key, self.operations[slot.operation.number], host, terminal, reads, fits, joints, *first)

    def _fit(self, role: str, kind: str, host: int) -> Fit:
        tracking = str(self.plan.card.part_kind(kind).tracking)
        if tracking in (Tracking.SERIAL, Tracking.PIECE):
            self.things += 1
            return Fit(role, kind, tracking, host, own=self.things - 1)
        self.shared += 1
        lasts = DRUM_LASTS if tracking == Tracking.BULK else LOT_LASTS
        return Fit(role, kind, tracking, host, lasts[self.shared % len(lasts)], self.shared - 1)


def _billionths(value: Decimal) -> str:
    return str(int(value.scaleb(SCALE)))


def shape_of(revision: Revision, plan: BuildPlan) -> Shape:
    return _Shaper(revision, plan).shape()
