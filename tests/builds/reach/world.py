"""A random shop of bare rows: melts, bars, pieces, parts, lots and drums, units and axles, fitted, taken out, moved on.

Rows, not actions: it makes what no clean shop would, and as much of it as a benchmark wants.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from builds.models import (
    Axle,
    AxleModel,
    Fitted,
    Line,
    Operation,
    Order,
    Parted,
    Phase,
    Removal,
    Revision,
    Span,
    Unit,
    Visit,
    VisitSheet,
    Weld,
    WeldProcedure,
)
from measurements.models import Characteristic, Gauge, Reading, Sheet
from shop.models import (
    Customer,
    Drum,
    Heat,
    Item,
    Lot,
    Part,
    PartKind,
    Person,
    Piece,
    Place,
    Station,
    Supplier,
    Terminal,
)

BEGIN = datetime(2025, 3, 3, 8, tzinfo=UTC)
SIDES = ("left", "right")


@dataclass
class World:
    """Every row by its sort. `day(n)`: the morning of the n-th day."""

    chance: random.Random
    suppliers: list[Supplier] = field(default_factory=list)
    heats: list[Item] = field(default_factory=list)
    bars: list[Item] = field(default_factory=list)
    lots: list[Item] = field(default_factory=list)
    drums: list[Item] = field(default_factory=list)
    parts: list[Item] = field(default_factory=list)
    gauges: list[Item] = field(default_factory=list)
    people: list[Person] = field(default_factory=list)
    terminals: list[Terminal] = field(default_factory=list)
    procedures: list[WeldProcedure] = field(default_factory=list)
    revisions: list[Revision] = field(default_factory=list)
    operations: list[Operation] = field(default_factory=list)
    characteristic: Characteristic | None = None
    lines: list[Line] = field(default_factory=list)
    kinds: dict[str, PartKind] = field(default_factory=dict)
    axles: list[Item] = field(default_factory=list)

    def day(self, number: float) -> datetime:
        return BEGIN + timedelta(days=number)


def small(seed: int, axles: int = 6) -> World:
    """A shop with everything that can go wrong in its tree."""
    world = World(random.Random(seed))
    _house(world)
    _steel(world)
    _goods(world)
    for number in range(axles):
        _axle(world, number)
    _begun_for_stock(world)
    _units_moved(world)
    _moved_on(world)
    return world


def _house(world: World) -> None:
    for code in ("S1", "S2"):
        world.suppliers.append(Supplier.objects.create(code=code, name=f"Supplier {code}"))
    for code in ("ann", "bea", "cal"):
        world.people.append(Person.objects.create(code=code, name=f"{code.title()} Test"))
    station = Station.objects.create(code="TP", name="tube prep")
    for code in ("T1", "T2"):
        row = Terminal.objects.create(code=code, station=station, key_hash=code.lower(), registered_at=BEGIN)
        world.terminals.append(row)
    for name, tracking in (("tube_piece", "piece"), ("seal", "lot"), ("grease", "bulk"), ("gear", "serial"),
                           ("tube_stock", "heat")):  # fmt: skip
        world.kinds[name] = PartKind.objects.create(code=name, name=name, tracking=tracking)
    for mark in ("G-1", "G-2", "G-3"):
        item = Item.objects.create(kind="gauge", mark=mark)
        Gauge.objects.create(item=item, kind="bore_gauge", name=mark, unit="in")
        world.gauges.append(item)
    for letter in "AB":
        _revision(world, letter, station)
    for code in ("W-1", "W-2"):
        made = WeldProcedure.objects.create(
            code=code, revision="1", process="gmaw", title=code, released_on=date(2020, 1, 1)
        )
        world.procedures.append(made)
    world.characteristic = Characteristic.objects.create(card_key="T/A", code="50.3", name="bore", kind="measured")
    customer = Customer.objects.create(code="C1", name="Customer")
    order = Order.objects.create(number="O-1", customer=customer, placed_on=date(2025, 1, 1))
    for number, revision in enumerate(world.revisions):
        world.lines.append(
            Line.objects.create(
                order=order, number=number + 1, revision=revision, quantity=9999,
                promised_from=date(2025, 6, 1), promised_to=date(2025, 7, 1),
            )
        )  # fmt: skip


def _revision(world: World, letter: str, station: Station) -> None:
    model, _ = AxleModel.objects.get_or_create(code="T", defaults={"name": "Test"})
    revision = Revision.objects.create(
        model=model, letter=letter, text="", sha256=letter * 64, loaded_at=BEGIN, loaded_by=world.people[0]
    )
    world.revisions.append(revision)
    world.operations += [
        Operation.objects.create(revision=revision, number=number, name=f"work {number}", station=station, per="axle")
        for number in (50, 320)
    ]


def thing(kind: str, mark: str, sort: str = "", where: str = "stock", host: Item | None = None) -> Item:
    item = Item.objects.create(kind=kind, mark=mark, sort=sort)
    Place.objects.create(item=item, where=where, host=host, since=BEGIN)
    return item


#: The heat of each bar, and of which bar it is what was left; bar 6 has no readable mark.
_HEAT_OF = {0: 0, 1: 1, 2: 2, 3: 0, 4: 1, 5: 2, 7: 0, 8: 1}
_REST_OF = {3: 0, 4: 1, 5: 2, 7: 3, 8: 4}


def _steel(world: World) -> None:
    for number in range(3):
        item = thing("heat", f"H{number}", "tube_stock")
        Heat.objects.create(item=item, supplier=world.suppliers[number % 2], material="4130")
        world.heats.append(item)
    for number in range(9):
        item = thing("piece", f"BAR{number}", "tube_piece")
        heat = world.heats[_HEAT_OF[number]] if number in _HEAT_OF else None
        # Bars 3 to 5 are what was left of the first three, 7 and 8 of these: a remnant of a remnant.
        of = world.bars[_REST_OF[number]].piece if number in _REST_OF else None
        Piece.objects.create(
            item=item, kind=world.kinds["tube_piece"], heat=heat.heat if heat else None, parent=of,
            mark_readable=heat is not None,
        )  # fmt: skip
        world.bars.append(item)


def _goods(world: World) -> None:
    for number in range(3):
        for kind, found in (("seal", world.lots), ("grease", world.lots)):
            item = thing("lot", f"{kind.upper()}{number}", kind)
            Lot.objects.create(
                item=item, kind=world.kinds[kind], supplier=world.suppliers[number % 2], received_on=date(2025, 1, 1)
            )
            found.append(item)
            if kind == "grease":
                _drums(world, item)
    for number in range(8):
        item = thing("part", f"GEAR{number}", "gear")
        Part.objects.create(
            item=item, kind=world.kinds["gear"], supplier=world.suppliers[number % 2], set_mark=f"SET{number}"
        )
        world.parts.append(item)


def _drums(world: World, lot: Item) -> None:
    for number in range(2):
        item = thing("drum", f"{lot.mark}-D{number}", "grease", "floor")
        shut = world.day(3 * number + 3) if number == 0 else None
        Drum.objects.create(item=item, lot=lot.lot, opened_at=world.day(3 * number), shut_at=shut)
        world.drums.append(item)


def _axle(world: World, number: int) -> None:
    chance = world.chance
    item = thing("axle", f"AX{number}", where="floor")
    which = number % 2
    axle = Axle.objects.create(
        item=item, line=world.lines[which], revision=world.revisions[which], phase=Phase.FLOOR,
        booked_at=world.day(number),
    )  # fmt: skip
    world.axles.append(item)
    for side in SIDES:
        unit = thing("unit", f"U{number}{side[0]}", where="floor")
        Unit.objects.create(item=unit, role=f"tube{number}", side=side, axle=axle, joined_at=axle.booked_at)
        visit = _visit(world, axle, unit, 0, number)
        for attempt in range(chance.choice((1, 1, 2))):
            _piece_into(world, axle, unit, visit, f"{number}{side[0]}{attempt}")
        _read(world, visit, unit)
        _weld(world, visit, unit)
    visit = _visit(world, axle, item, 1, number)
    _read(world, visit, item)
    for one in chance.sample([*world.lots, *world.drums], 3):
        fit(world, one, item, axle, visit, chance.random() < 0.2)
    if chance.random() < 0.8 and world.parts:
        part = world.parts.pop()
        fit(world, part, item, axle, visit, chance.random() < 0.4)
        if chance.random() < 0.5:  # a lot inside a part inside an axle
            fit(world, chance.choice(world.lots), part, None, visit, chance.random() < 0.3)


def _visit(world: World, axle: Axle | None, item: Item, which: int, number: int, begun: float | None = None) -> Visit:
    chance = world.chance
    at = world.day((number if begun is None else begun) + chance.random() / 4)
    person = chance.choice(world.people)
    visit = Visit.objects.create(
        item=item, axle=axle, operation=world.operations[2 * (number % 2) + which], claimed_by=person,
        number=Visit.objects.filter(item=item).count() + 1,
        terminal=chance.choice(world.terminals), claimed_at=at, state="done", done_at=at + timedelta(hours=1),
    )  # fmt: skip
    Span.objects.create(visit=visit, person=person, begun_at=at, ended_at=at + timedelta(hours=1))
    return visit


def _read(world: World, visit: Visit, item: Item) -> None:
    sheet = Sheet.objects.create(item=item, opened_at=visit.claimed_at)
    VisitSheet.objects.create(visit=visit, sheet=sheet)
    for attempt in range(world.chance.randint(1, 2)):
        late = timedelta(days=world.chance.choice((0, 0, 2)))
        Reading.objects.create(
            sheet=sheet, item=item, characteristic=world.characteristic, position=str(attempt), verdict="in",
            value=Decimal(1), gauge=world.chance.choice(world.gauges).gauge, person=world.chance.choice(world.people),
            ring=world.chance.choice((None, world.gauges[2].gauge)), terminal=world.chance.choice(world.terminals),
            happened_at=visit.claimed_at, entered_at=visit.claimed_at + late,
        )  # fmt: skip


def _weld(world: World, visit: Visit, unit: Item) -> None:
    if world.chance.random() < 0.7:
        Weld.objects.create(
            visit=visit, item=unit, joint="J1", procedure=world.chance.choice(world.procedures),
            welder=world.chance.choice(world.people), wire=world.chance.choice([*world.drums, None]),
            ended_at=visit.claimed_at, entered_at=visit.claimed_at,
        )  # fmt: skip


def _piece_into(world: World, axle: Axle | None, unit: Item, visit: Visit, mark: str) -> None:
    bar = world.chance.choice(world.bars)
    piece = thing("piece", f"P{mark}", "tube_piece", "fitted", unit)
    Piece.objects.create(item=piece, kind=world.kinds["tube_piece"], heat=bar.piece.heat, parent=bar.piece)
    fit(world, piece, unit, axle, visit, world.chance.random() < 0.4)


def fit(world: World, part: Item, host: Item, axle: Axle | None, visit: Visit, out: bool) -> Fitted:
    row = Fitted.objects.create(
        part=part, host=host, axle=axle, role=part.sort, visit=visit, person=visit.claimed_by, at=visit.claimed_at
    )
    if out:
        Removal.objects.create(
            fitted=row, reason="test", to="scrap", person=world.people[0], at=visit.claimed_at + timedelta(hours=2)
        )
        Place.objects.filter(item=part, where="fitted").update(where="scrap", host=None)
        if part.kind == "part":
            world.parts.append(part)  # it may go into another axle
    return row


def _begun_for_stock(world: World) -> None:
    """Units on which work was done before there was an axle for them; most have joined one since. What came out of one
    at its own bench was never in an axle."""
    for number in range(3):
        at = number + 0.2
        item = thing("unit", f"SU{number}", where="floor")
        unit = Unit.objects.create(
            item=item, role=f"stock{number}", revision=world.revisions[number % 2], begun_at=world.day(at),
            begun_by=world.people[0],
        )  # fmt: skip
        visit = _visit(world, None, item, 0, number, at)
        for piece in range(2):
            _piece_into(world, None, item, visit, f"SU{number}.{piece}")
        fit(world, world.chance.choice([*world.lots, *world.drums]), item, None, visit, world.chance.random() < 0.4)
        _read(world, visit, item)
        _weld(world, visit, item)
        if world.chance.random() < 0.7:
            _joins(unit, world.chance.choice(world.axles).axle, world.day(at + 0.9))


def _units_moved(world: World) -> None:
    """Some units leave their axle, some of these join another and are worked on there, some of these leave again."""
    chance = world.chance
    for number, unit in enumerate(Unit.objects.select_related("item", "axle").order_by("pk")):
        if unit.axle is None:
            continue  # it was begun for stock, and is at its bench still
        at = 2.5 + number / 3
        for _ in range(chance.choice((0, 0, 1, 2))):
            left = unit.axle
            _parts(world, unit, world.day(at))
            if chance.random() < 0.3:
                break
            others = [item.axle for item in world.axles if left is None or item.pk != left.pk]
            _joins(unit, chance.choice(others), world.day(at + chance.choice((0, 0.4))))
            if chance.random() < 0.7:
                _worked_there(world, unit, at + 0.5)
            at += 1


def _parts(world: World, unit: Unit, at: datetime) -> None:
    Parted.objects.create(
        unit=unit, axle=unit.axle, side=unit.side, since=unit.joined_at, reason="test", to="stock",
        person=world.people[0], at=at,
    )  # fmt: skip
    _carried(unit, None)
    Unit.objects.filter(pk=unit.pk).update(axle=None, joined_at=None)
    unit.axle = unit.joined_at = None


def _joins(unit: Unit, axle: Axle, at: datetime) -> None:
    Unit.objects.filter(pk=unit.pk).update(axle=axle, joined_at=at)
    unit.axle, unit.joined_at = axle, at
    _carried(unit, axle)


def _carried(unit: Unit, axle: Axle | None) -> None:
    Visit.objects.filter(item=unit.item_id).update(axle=axle)
    Fitted.objects.now().filter(host=unit.item_id).update(axle=axle)


def _worked_there(world: World, unit: Unit, at: float) -> None:
    """Another piece, readings and a weld at a further pass, for the axle that it is in now."""
    assert unit.axle is not None
    visit = _visit(world, unit.axle, unit.item, 0, world.axles.index(unit.axle.item), at)
    _piece_into(world, unit.axle, unit.item, visit, f"{unit.item.mark}{at:.1f}")
    for row in Fitted.objects.now().filter(host=unit.item_id)[:1]:
        if world.chance.random() < 0.5:
            Removal.objects.create(
                fitted=row, reason="test", to="scrap", person=world.people[1], at=max(row.at, visit.claimed_at)
            )
    _read(world, visit, unit.item)
    _weld(world, visit, unit.item)


def _moved_on(world: World) -> None:
    """Some are closed, some gone, some back."""
    for number, item in enumerate(world.axles):
        phase = (Phase.FLOOR, Phase.BOUGHT_OFF, Phase.GONE, Phase.BACK, Phase.KITTED)[number % 5]
        closed: Any = world.day(60) if phase in (Phase.GONE, Phase.BACK) else None
        Axle.objects.filter(pk=item.pk).update(phase=phase, closed_at=closed)
