"""The build card of one axle model at one revision, as read from its definition file."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from builds.definitions.characteristic import Characteristic
from builds.definitions.options import ALWAYS, Option, Refusal, When
from builds.definitions.words import HoldKind, Tracking

AXLE = "axle"


@dataclass(frozen=True)
class Station:
    """A place where operations are done."""

    code: str
    name: str


@dataclass(frozen=True)
class UnitRole:
    """A sub-assembly with its own identity; one for each side, or a single one without a side.

    `options`: those that it is built to; with none named, all of the card's. `any_options`: it is built alike for all.
    `for_stock`: one may be built by itself, before there is an axle for it.
    """

    role: str
    name: str
    sides: tuple[str, ...] = ()
    options: tuple[str, ...] = ()
    any_options: bool = False
    for_stock: bool = False


@dataclass(frozen=True)
class Material:
    """A material and how its chemistry is judged: "absolute" or "E29" (rounded first, ASTM E29)."""

    code: str
    name: str
    grade: str
    weldable: bool = False
    rounding: str = "absolute"


@dataclass(frozen=True)
class PartKind:
    """A kind of part: how it keeps its identity and what it is made of."""

    code: str
    name: str
    tracking: Tracking
    material: str = ""
    facts: tuple[str, ...] = ()  # what is written down of each one: "set_mark", "pinion_mark" ...


@dataclass(frozen=True)
class Need:
    """Parts an operation fits. On an axle operation `sides` asks for `quantity` on each side."""

    part_kind: str
    role: str
    quantity: Decimal = Decimal(1)
    unit: str = ""
    sides: tuple[str, ...] = ()
    matched_set: str = ""  # parts of one set name must carry one set mark
    kit: bool = False  # picked with the kit at the first operation
    sawn_length: tuple[str, ...] = ()  # codes of this operation that limit the length it is cut to, one a side
    remnant_length: str = ""  # the code of this operation under which the rest of the bar is measured
    heat_from: str = ""  # the role of the heat that was looked at for it: it is cut from that heat
    note: str = ""
    when: When = ALWAYS


@dataclass(frozen=True)
class Hold:
    """A second signature. Its signer is none of the doers of the operations it looks at.

    `is_the_work`: the operation itself is the look: its own signature is the hold, its own doer may sign.
    """

    kind: HoldKind
    by: tuple[str, ...]  # one of these roles; ANY_SECOND_PERSON admits everybody else
    looks_at: tuple[int, ...] = ()
    looks_at_all: bool = False  # every operation of this axle
    is_the_work: bool = False
    skill: str = ""


@dataclass(frozen=True)
class Weld:
    """A joint welded in an operation. Every weld records welder, procedure with revision, and end of arc."""

    joint: str
    name: str
    process: str  # the skill the welder must hold
    procedure: str
    procedure_revision: str
    positions_of: str  # code of the characteristic whose positions are the welds of this joint
    into: tuple[str, ...] = ()  # part kinds welded; their materials must be weldable
    repair: str = ""  # what a repair of this joint needs, in words
    when: When = ALWAYS


@dataclass(frozen=True)
class Photo:
    """A photo. `required`: "always", or "on_finding" when a value of the operation was out of limit."""

    name: str
    required: str = "always"
    when: When = ALWAYS


@dataclass(frozen=True)
class Document:
    """A drawing or an instruction sheet at one revision."""

    code: str
    revision: str
    title: str
    kind: str = "instruction"


@dataclass(frozen=True)
class AdviceCall:
    """An advice that the station page gives: which characteristic feeds each of its roles, and its fixed inputs."""

    name: str
    inputs: tuple[tuple[str, str], ...] = ()  # role, code
    figures: tuple[tuple[str, Decimal], ...] = ()
    by_side: bool = False  # at an operation of the whole axle: one answer for each side


@dataclass(frozen=True)
class Operation:
    """One step of the card. `per` is "axle" or the role of a unit: then it is done once for each unit."""

    number: int
    name: str
    station: str
    per: str = AXLE
    signs: tuple[str, ...] = ()  # one of these roles signs the work
    beside: tuple[str, ...] = ()  # a second doer, one of these roles, signs as well
    helps: tuple[str, ...] = ()  # these roles may work and enter, but not sign
    on_reject: tuple[str, ...] = ()  # one of these roles signs as well when a value was out of limit
    skill: str = ""  # process the doer must hold on the day of the work
    hold: Hold | None = None
    may_set_down: bool = True
    set_down_reason: str = ""  # why not
    batch: bool = False  # several axles may share one visit's readings
    closing: bool = True  # must be done before the axle closes
    caution: tuple[str, ...] = ()
    instruction: str = ""
    photos: tuple[Photo, ...] = ()
    minutes: tuple[int, int, int] = (0, 0, 0)  # low, likely, high
    documents: tuple[str, ...] = ()
    zone: str = "whole"
    starts_after: tuple[int, ...] = ()
    welds: tuple[Weld, ...] = ()
    needs: tuple[Need, ...] = ()
    characteristics: tuple[Characteristic, ...] = ()
    advice: tuple[AdviceCall, ...] = ()
    when: When = ALWAYS


@dataclass(frozen=True)
class After:
    """A clock wait: the operation starts no sooner than `minutes` after the event."""

    operation: int
    event: str  # LAST_ARC, or an event a "time" characteristic starts
    minutes: int
    reason: str
    shorter_by: tuple[str, ...] = ()  # roles that may shorten it with a signed reason


@dataclass(frozen=True)
class Invalidates:
    """What a later change re-opens, as far as done. Nothing else re-opens."""

    cause: str
    name: str
    operations: tuple[int, ...] = ()  # whole operations, of every unit
    own_side: tuple[int, ...] = ()  # whole operations, only of the side that changed
    characteristics: tuple[str, ...] = ()  # single characteristics of operations that otherwise stay done
    parts: tuple[str, ...] = ()  # taking out a part of these kinds is this cause
    changed_at: tuple[int, ...] = ()  # redoing one of these operations is this cause
    opened_by: tuple[int, ...] = ()  # re-opening one of these, whatever for, or taking out a part fitted there, is it


@dataclass(frozen=True)
class Interchange:
    """What may stand in for what. Nothing else may.

    Of parts: `takes` may be fitted where `needs` is asked, in their order; `together`: all of them or none. Of units:
    one of the role `unit` built to a card of `of` ("model/revision") may join; `same_options` must be chosen alike
    (left out: those that the role is built to); `redo`: these operations are done again on it.
    """

    name: str
    needs: tuple[str, ...] = ()
    takes: tuple[str, ...] = ()
    together: bool = False
    unit: str = ""
    of: tuple[str, ...] = ()
    same_options: tuple[str, ...] = ()
    either_hand: bool = False
    redo: tuple[int, ...] = ()
    when: When = ALWAYS

    @property
    def pairs(self) -> dict[str, str]:
        """What stands in for each kind that is asked for."""
        return dict(zip(self.needs, self.takes, strict=False))


@dataclass(frozen=True)
class Card:
    """A build card: everything the shop must know to build one axle model at one revision."""

    code: str
    name: str
    revision: str
    title: str
    drawing: str
    unit_system: str  # "in" or "mm": the unit of the drawing
    notice: str = ""  # stands on every page and certificate
    sides: tuple[str, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()  # identification for the certificate: ring gear size, gear cut ...
    service: tuple[tuple[str, str], ...] = ()  # service data for the certificate: oil, settings, warnings
    stations: tuple[Station, ...] = ()
    units: tuple[UnitRole, ...] = ()
    materials: tuple[Material, ...] = ()
    part_kinds: tuple[PartKind, ...] = ()
    documents: tuple[Document, ...] = ()
    options: tuple[Option, ...] = ()
    refusals: tuple[Refusal, ...] = ()
    operations: tuple[Operation, ...] = ()
    after: tuple[After, ...] = ()
    invalidates: tuple[Invalidates, ...] = ()
    interchanges: tuple[Interchange, ...] = ()

    @cached_property
    def _operations(self) -> dict[int, Operation]:
        return {operation.number: operation for operation in self.operations}

    @cached_property
    def _characteristics(self) -> dict[str, Characteristic]:
        return {found.code: found for operation in self.operations for found in operation.characteristics}

    @cached_property
    def _part_kinds(self) -> dict[str, PartKind]:
        return {kind.code: kind for kind in self.part_kinds}

    @cached_property
    def _units(self) -> dict[str, UnitRole]:
        return {unit.role: unit for unit in self.units}

    def operation(self, number: int) -> Operation:
        """The operation with this number; KeyError when the card has none."""
        return self._operations[number]

    def characteristic(self, code: str) -> Characteristic:
        """The characteristic with this code; KeyError when the card has none."""
        return self._characteristics[code]

    def part_kind(self, code: str) -> PartKind:
        """The part kind with this code; KeyError when the card has none."""
        return self._part_kinds[code]

    def options_of(self, role: str) -> tuple[str, ...]:
        """The options that a unit of this role is built to."""
        unit = self._units[role]
        return () if unit.any_options else unit.options or tuple(option.axis for option in self.options)

    def unit(self, role: str) -> UnitRole:
        """The unit role with this name; KeyError when the card has none."""
        return self._units[role]
