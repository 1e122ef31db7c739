"""Words of a contact pattern: where the mark sits on a ring-gear tooth, and what may be moved.

Always look at the ring gear. Toe = inner end, heel = outer end; top = crown, root = valley. Drive side =
convex, coast side = concave (TM 10-3930-638-24&P and public truck pages; ordinary, not reverse-cut, use).
"""

from dataclasses import dataclass, field
from enum import Enum


class GearCut(Enum):
    """How the set was cut; the two read differently."""

    FACE_MILLED = "face-milled (tapered depth)"
    FACE_HOBBED = "face-hobbed (even depth)"


class Height(Enum):
    """Height of the mark on the tooth."""

    HIGH = "high"
    MIDDLE = "middle"
    LOW = "low"


class Length(Enum):
    """Place of the mark along the tooth."""

    TOE = "toe"
    TOWARD_TOE = "a little to the toe"
    CENTRE = "centre"
    HEEL = "heel"


class Fault(Enum):
    """Marks that no shim mends."""

    HARD_EDGE = "a hard line at an edge"
    RUNS_OFF_END = "a mark running off an end"
    DOUBLE = "a double mark"
    DIFFERS_ROUND = "a mark that differs around the gear"


class Precondition(Enum):
    """What must be so before a pattern is read."""

    CLEAN = "gears clean"
    COMPOUND = "thin compound on several teeth at several spaced places"
    CAPS = "bearing caps at final torque"
    PRELOAD = "preload present"
    BACKLASH = "backlash inside its limits at every point"
    BOTH_WAYS = "turned both ways under drag"


class Move(Enum):
    """What to do next."""

    NONE = "leave it"
    PINION_IN = "pinion in"
    PINION_OUT = "pinion out"
    RING_IN = "ring gear in (toward the pinion)"
    RING_OUT = "ring gear out (away from the pinion)"
    READ_AGAIN = "not to be read yet"
    NOT_SHIMS = "not a shim matter"
    BACKLASH_FIRST = "backlash first, then read again"


class Basis(Enum):
    """How well an advice is founded."""

    CHART = "a row of a published chart"
    RULE = "true for every cut found in print"
    INFERENCE = "inferred from the published rows"


@dataclass(frozen=True, slots=True)
class Mark:
    """Where the mark sits on one flank; "centre" in height is clear of the top."""

    height: Height
    length: Length
    faults: frozenset[Fault] = field(default_factory=frozenset)

    def says(self) -> str:
        """The mark in words."""
        return f"{self.height.value}, {self.length.value}"

    @property
    def place(self) -> tuple[Height, Length]:
        """Height and length; a little to the toe counts as centre.

        A mark rolled by hand is small and sits toward the toe; it grows under load
        (TM 10-3930-660-34, TM 5-3805-260-24).
        """
        return self.height, Length.CENTRE if self.length is Length.TOWARD_TOE else self.length


@dataclass(frozen=True, slots=True)
class PatternAdvice:
    """What a pattern means, what to move, why, and on whose word."""

    move: Move
    means: str
    reason: str
    source: str
    basis: Basis
    side_effect: str = ""
    ask_lead_builder: bool = False
