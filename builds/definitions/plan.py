"""What is to be built for one axle: a card with its options chosen, resolved into slots in order."""

from collections.abc import Callable, Collection, Hashable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from builds.definitions.card import AXLE, After, Card, Interchange, Invalidates, Need, Operation, Photo, Weld
from builds.definitions.characteristic import Characteristic
from builds.definitions.naming import with_side
from builds.definitions.options import Chosen, complete, refusals_for
from builds.definitions.words import SIDES

T = TypeVar("T")
K = TypeVar("K", bound=Hashable)


def refuse(card: Card, chosen: Chosen) -> list[str]:
    """Plain sentences saying why these options cannot be built; an empty list means they can."""
    return refusals_for(card.options, card.refusals, chosen)


def grouped(things: Iterable[T], key: Callable[[T], K]) -> dict[K, tuple[T, ...]]:
    """The things by what they share, in their order."""
    found: dict[K, list[T]] = {}
    for thing in things:
        found.setdefault(key(thing), []).append(thing)
    return {shared: tuple(some) for shared, some in found.items()}


def slot_key(number: int, side: str) -> str:
    """The key of a slot: "30/left", or "10/" without a side."""
    return f"{number}/{side}"


@dataclass(frozen=True)
class PlannedCharacteristic:
    """A characteristic at a slot with the labels to fill (the least, where open-ended).

    `labels_on_item` differ from `labels` only for a value given by a two-sided part at a unit's slot: the
    housing's reading "left 1A" is "1A" at the left tube.
    """

    characteristic: Characteristic
    labels: tuple[str, ...]
    labels_on_item: tuple[str, ...]

    @property
    def code(self) -> str:
        """The characteristic's code."""
        return self.characteristic.code


@dataclass(frozen=True)
class PlannedNeed:
    """A part to fit at a slot, on one side or none. `stand_ins`: other kinds that the card takes for it here."""

    need: Need
    side: str
    stand_ins: tuple[str, ...] = ()

    def takes(self, kind: str) -> bool:
        """Whether a part of this kind may be fitted for it."""
        return kind == self.need.part_kind or kind in self.stand_ins


@dataclass(frozen=True)
class Slot:
    """One operation on one unit (or the axle): the thing that is done once."""

    operation: Operation
    unit: str  # role of the unit, or "axle"
    side: str
    characteristics: tuple[PlannedCharacteristic, ...]
    needs: tuple[PlannedNeed, ...]
    welds: tuple[Weld, ...]
    photos: tuple[Photo, ...]
    starts_after: tuple[str, ...]  # keys of the slots just before

    @cached_property
    def key(self) -> str:
        """The slot's key: "30/left", or "10/"."""
        return slot_key(self.operation.number, self.side)

    @cached_property
    def named(self) -> str:
        """As a page names it: "70 Press spindles, left"."""
        return f"{self.operation.number} {with_side(self.operation.name, self.side)}"

    def role_of(self, planned: PlannedNeed) -> str:
        """The role under which a part stands in its host: with the side where the host itself has none."""
        return f"{planned.need.role} {planned.side}" if planned.side and not self.side else planned.need.role

    def planned(self, code: str) -> PlannedCharacteristic:
        """The planned characteristic with this code; KeyError when it does not apply here."""
        return {planned.code: planned for planned in self.characteristics}[code]


@dataclass(frozen=True)
class BuildPlan:
    """All slots of one axle, in the order of the card."""

    card: Card
    chosen: tuple[tuple[str, str], ...]
    slots: tuple[Slot, ...]

    @cached_property
    def by_key(self) -> dict[str, Slot]:
        """Every slot by its key."""
        return {slot.key: slot for slot in self.slots}

    def slot(self, key: str) -> Slot:
        """The slot with this key; KeyError when the axle has none."""
        return self.by_key[key]

    def of_operation(self, number: int) -> tuple[Slot, ...]:
        """The slots of one operation (two for an operation on left and right units)."""
        return self._of_operation.get(number, ())

    @cached_property
    def _of_operation(self) -> dict[int, tuple[Slot, ...]]:
        return grouped(self.slots, lambda slot: slot.operation.number)

    def at_station(self, code: str) -> tuple[Slot, ...]:
        """The slots of one station."""
        return self._at_station.get(code, ())

    @cached_property
    def _at_station(self) -> dict[str, tuple[Slot, ...]]:
        return grouped(self.slots, lambda slot: slot.operation.station)

    @cached_property
    def from_kit(self) -> tuple[tuple[Slot, tuple[tuple[str, str], ...]], ...]:
        """The slots that need something of the kit, with (role, name of the part kind) of each such need."""
        found = []
        for slot in self.slots:
            needs = tuple(
                (slot.role_of(planned), self.card.part_kind(planned.need.part_kind).name)
                for planned in slot.needs
                if planned.need.kit
            )
            if needs:
                found.append((slot, needs))
        return tuple(found)

    @cached_property
    def to_close(self) -> tuple[Slot, ...]:
        """What has to be done before the record closes; what comes after it has no visit."""
        return tuple(slot for slot in self.slots if slot.operation.closing)

    @cached_property
    def rank(self) -> dict[str, int]:
        """The place of each slot in the order of the card."""
        return {key: place for place, key in enumerate(self.by_key)}

    @cached_property
    def _before(self) -> dict[str, frozenset[str]]:
        return {key: self._all_before(key) for key in self.by_key}

    def before(self, key: str) -> frozenset[str]:
        """Keys of every slot that must be done before this one, near and far."""
        return self._before[key]

    @cached_property
    def near(self) -> dict[str, tuple[str, ...]]:
        """Of every slot the keys of those just before it, in the order of the card."""
        return {slot.key: tuple(sorted(slot.starts_after, key=self.rank.__getitem__)) for slot in self.slots}

    def _all_before(self, key: str) -> frozenset[str]:
        found: set[str] = set()
        waiting = list(self.by_key[key].starts_after)
        while waiting:
            near = waiting.pop()
            if near not in found:
                found.add(near)
                waiting.extend(self.by_key[near].starts_after)
        return frozenset(found)

    @cached_property
    def interchanges(self) -> tuple[Interchange, ...]:
        """The rules that hold for these options."""
        return tuple(rule for rule in self.card.interchanges if rule.when.holds(dict(self.chosen)))

    def waits(self, number: int) -> tuple[After, ...]:
        """The clock waits of an operation."""
        return self._waits.get(number, ())

    @cached_property
    def _waits(self) -> dict[int, tuple[After, ...]]:
        return grouped(self.card.after, lambda after: after.operation)

    def made_invalid_by(self, cause: str, side: str = "") -> frozenset[str]:
        """Keys of the slots this cause re-opens (as far as they are done); both sides where it is not known which."""
        found = self._invalidates(cause)
        return frozenset(
            slot.key
            for slot in self.slots
            if slot.operation.number in found.operations
            or (slot.operation.number in found.own_side and (not side or slot.side in ("", side)))
        )

    def characteristics_made_invalid_by(self, cause: str) -> frozenset[tuple[str, str]]:
        """(slot key, code) of single characteristics this cause re-opens in operations that stay done."""
        found = self._invalidates(cause)
        return frozenset(
            (slot.key, planned.code)
            for slot in self.slots
            for planned in slot.characteristics
            if planned.code in found.characteristics
        )

    def opened_with(self, keys: Collection[str]) -> dict[str, str]:
        """What is to do again since re-opening these opens what was sealed: slot key and the cause of its row."""
        numbers = {self.by_key[key].operation.number for key in keys}
        return {
            key: rule.cause
            for rule in self.card.invalidates
            if not numbers.isdisjoint(rule.opened_by)
            for key in self.made_invalid_by(rule.cause)
            if key not in keys
        }

    def _invalidates(self, cause: str) -> Invalidates:
        return {found.cause: found for found in self.card.invalidates}[cause]


def for_options(card: Card, chosen: Chosen) -> BuildPlan:
    """Resolve a card for chosen options; axes left out take their default. ValueError when refused."""
    reasons = refuse(card, chosen)
    if reasons:
        raise ValueError(" ".join(reasons))
    full = complete(card.options, chosen)
    kept = [operation for operation in card.operations if operation.when.holds(full)]
    keys = {operation.number: _unit_sides(card, operation) for operation in kept}
    slots = tuple(_slot(card, operation, side, full, keys) for operation in kept for side in keys[operation.number])
    return BuildPlan(card=card, chosen=tuple(sorted(full.items())), slots=slots)


def _unit_sides(card: Card, operation: Operation) -> tuple[str, ...]:
    if operation.per == AXLE:
        return ("",)
    return card.unit(operation.per).sides or ("",)


def _slot(card: Card, operation: Operation, side: str, chosen: Chosen, keys: dict[int, tuple[str, ...]]) -> Slot:
    return Slot(
        operation=operation,
        unit=operation.per,
        side=side,
        characteristics=tuple(
            _planned(found, side, chosen)
            for found in operation.characteristics
            if found.when.holds(chosen) and found.side in ("", side)
        ),
        needs=tuple(
            PlannedNeed(need, need_side, _stand_ins(card, chosen, need.part_kind))
            for need in operation.needs
            if need.when.holds(chosen)
            for need_side in (need.sides or (side,))
        ),
        welds=tuple(weld for weld in operation.welds if weld.when.holds(chosen)),
        photos=tuple(photo for photo in operation.photos if photo.when.holds(chosen)),
        starts_after=_near_keys(card, operation, side, keys),
    )


def _stand_ins(card: Card, chosen: Chosen, kind: str) -> tuple[str, ...]:
    return tuple(rule.pairs[kind] for rule in card.interchanges if kind in rule.pairs and rule.when.holds(chosen))


def _planned(found: Characteristic, side: str, chosen: Chosen) -> PlannedCharacteristic:
    labels = found.positions.labels(chosen)
    if found.given and side:
        parted = [label.partition(" ") for label in labels]
        kept = [parts for parts in parted if parts[0] == side or parts[0] not in SIDES]
        shown = tuple("".join(parts) if parts[0] != side else parts[2] for parts in kept)
        return PlannedCharacteristic(found, shown, tuple("".join(parts) for parts in kept))
    return PlannedCharacteristic(found, labels, labels)


def _near_keys(card: Card, operation: Operation, side: str, keys: dict[int, tuple[str, ...]]) -> tuple[str, ...]:
    """Keys just before; an operation left out by the options hands on its own predecessors."""
    near: dict[str, None] = {}
    waiting = list(operation.starts_after)
    seen: set[int] = set()
    while waiting:
        number = waiting.pop(0)
        if number in seen:
            continue
        seen.add(number)
        if number not in keys:
            waiting.extend(card.operation(number).starts_after)
            continue
        same_unit = operation.per != AXLE and card.operation(number).per == operation.per
        for other in (side,) if same_unit else keys[number]:
            near[slot_key(number, other)] = None
    return tuple(near)
