"""A characteristic: what is recorded, its limits, where, how often, and what an out-of-limit value does."""

from dataclasses import dataclass
from decimal import Decimal

from builds.definitions.options import ALWAYS, Chosen, When
from builds.definitions.words import Class, Kind, ReactionKind, SampleKind


@dataclass(frozen=True)
class PositionSet:
    """Labels for one choice of options. Sides come first in a label, then the ordinal: "left 7"."""

    when: When = ALWAYS
    sides: tuple[str, ...] = ()
    ordinals: tuple[str, ...] = ()

    @property
    def labels(self) -> tuple[str, ...]:
        """The full labels; neither sides nor ordinals gives the one empty label."""
        sides = self.sides or ("",)
        ordinals = self.ordinals or ("",)
        return tuple(f"{side} {ordinal}".strip() for side in sides for ordinal in ordinals)


@dataclass(frozen=True)
class Positions:
    """Where a characteristic is read: a fixed list, possibly by option, or open-ended ("pass 1" ...).

    In an operation of a unit (a tube, a hub) the unit has the side, so labels carry none. The one exception
    is a given value that stands on a two-sided part: then only the labels of the unit's side apply.
    """

    sets: tuple[PositionSet, ...] = (PositionSet(),)
    prefix: str = ""  # not empty: open-ended
    minimum: int = 0  # at least so many, when open-ended

    @property
    def open_ended(self) -> bool:
        """Whether more positions may be added while working."""
        return bool(self.prefix)

    def labels(self, chosen: Chosen) -> tuple[str, ...]:
        """The labels that must be filled for these options (the minimum, when open-ended)."""
        if self.open_ended:
            return tuple(self.nth(number) for number in range(1, self.minimum + 1))
        return next((found.labels for found in self.sets if found.when.holds(chosen)), ())

    def nth(self, number: int) -> str:
        """The label of the n-th open-ended position, counted from 1."""
        return f"{self.prefix} {number}"


@dataclass(frozen=True)
class Sample:
    """Which pieces are measured; `every` is n of "first and every n-th"."""

    kind: SampleKind = SampleKind.EVERY
    every: int = 1

    def takes(self, piece: int) -> bool:
        """Whether the piece with this running number (from 1; per station, shift and model) is measured."""
        if self.kind is SampleKind.FIRST_PIECE:
            return piece == 1
        if self.kind is SampleKind.FIRST_AND_EVERY:
            return (piece - 1) % self.every == 0
        return True


@dataclass(frozen=True)
class Reaction:
    """What a value beyond a limit does. After `times` repeats or `rounds` rounds comes a red tag."""

    kind: ReactionKind
    times: int = 0  # repeat
    to: int = 0  # back: the operation
    rounds: int = 0  # back


@dataclass(frozen=True)
class Computation:
    """A computed value: the computation's name, its inputs as (input name, code), and constants."""

    name: str
    inputs: tuple[tuple[str, str], ...] = ()
    constants: tuple[tuple[str, Decimal], ...] = ()
    event: str = ""  # for hours since an event

    def input(self, name: str) -> str:
        """The code that feeds this input."""
        return dict(self.inputs)[name]


@dataclass(frozen=True)
class Given:
    """Where a given value stands: on the heat or on the bought part fitted in this role."""

    source: str  # "heat" or "part"
    role: str  # role of the need whose heat or part carries the value


@dataclass(frozen=True)
class Window:
    """What low and high are worked out from: fixed figures, and the limits of other characteristics by role."""

    name: str
    inputs: tuple[tuple[str, Decimal], ...] = ()
    limits_of: tuple[tuple[str, str], ...] = ()  # role of the window and the code whose low and high feed it


@dataclass(frozen=True)
class Characteristic:
    """One thing recorded in an operation. `recorded_only`: kept, never judged."""

    code: str
    name: str
    kind: Kind
    unit: str = ""
    low: Decimal | None = None
    high: Decimal | None = None
    decimals: int = 0
    step: Decimal | None = None  # a gauge with a coarser step is refused
    gauge_kind: str = ""
    needs_setting: bool = False  # a setting ring is scanned with the gauge
    fixture: str = ""  # what is used beside the gauge, in words
    positions: Positions = Positions()
    sample: Sample = Sample()
    class_: Class = Class.LOOK
    reaction: str = ""  # what to do, for the worker to read
    source: str = ""  # where the limit comes from
    on_low: Reaction | None = None
    on_high: Reaction | None = None
    never_above: Decimal | None = None
    rejects: str = ""  # role of the part that a value beyond never_above rejects
    computation: Computation | None = None
    given: Given | None = None
    window: Window | None = None
    choices: tuple[str, ...] = ()
    accepted: tuple[str, ...] = ()  # the answers in limits: choices, "yes" or "no", "go"
    recorded_only: bool = False
    optional: bool = False  # may stay blank (a finding, a repair)
    needed_with: tuple[tuple[str, str], ...] = ()  # code and answer here with which an optional one may not stay blank
    event: str = ""  # kind "time": the event that this moment starts
    side: str = ""  # only for the unit of this side
    agreed: bool = False  # class F shown on the certificate by agreement
    note: str = ""
    when: When = ALWAYS

    @property
    def on_no(self) -> Reaction | None:
        """What an answer that is not accepted does ("no", "no-go", another choice)."""
        return self.on_low or self.on_high

    @property
    def judged(self) -> bool:
        """Whether a value of this characteristic can be out of limit."""
        return not self.recorded_only
