"""Refusals of the build, each with a text fit for the person who meets it."""

from __future__ import annotations

from collections.abc import Sequence

from shop.errors import Conflict, Refusal


class BrokenDefinition(Refusal):
    """A definition file cannot be loaded. `faults` lists every fault with its line and key."""

    def __init__(self, name: str, faults: Sequence[str]) -> None:
        count = "one fault" if len(faults) == 1 else f"{len(faults)} faults"
        super().__init__(f"{name} was not loaded: {count}. " + " ".join(faults), field="file")
        self.faults = tuple(faults)


class Frozen(Refusal):
    """A released revision never changes."""


class CannotBeBuilt(Refusal):
    """The chosen options exclude each other. `reasons` lists every one of them."""

    def __init__(self, reasons: Sequence[str]) -> None:
        super().__init__("This cannot be built. " + " ".join(reasons), field="options")
        self.reasons = tuple(reasons)


class AlreadyThere(Conflict):
    """A number or a mark that may stand only once is taken."""


class UnknownMark(Refusal):
    """Nothing in the shop carries this mark, or more than one thing does."""


class LooksAlike(Refusal):
    """A mark that differs from an existing one only by O for 0 or I for 1; the person is asked once."""


class WrongKind(Refusal):
    """The thing scanned is not what is needed."""


class Elsewhere(Conflict):
    """A thing is in one place only, and this one is somewhere else."""


class OtherSet(Refusal):
    """Parts of a matched set carry different set marks."""


class NotFree(Refusal):
    """Steel, a lot or a part that may not be used: held, refused, expired, tagged."""


class NotReady(Refusal):
    """The operation cannot start or go on yet."""


class NotYours(Refusal):
    """This person may not do this: role, skill or independence."""


class NotSignable(Refusal):
    """Something is missing. `missing` lists every item, each naming its place."""

    def __init__(self, missing: Sequence[str]) -> None:
        super().__init__("This cannot be signed yet. " + " ".join(missing), field="pin")
        self.missing = tuple(missing)


class NotTicked(Refusal):
    """Ticks are left out that need not be there: it is asked once before it is signed. `left_out` names them."""

    def __init__(self, left_out: Sequence[str]) -> None:
        super().__init__(
            f"Not ticked: {' '.join(left_out)} Tick what was done, or give the PIN again to sign without.", field="pin"
        )
        self.left_out = tuple(left_out)


class FarOff(Refusal):
    """A figure so far off that it is asked about once before it is stored. `meant` is a guess, or None."""

    def __init__(self, text: str, meant: str = "") -> None:
        super().__init__(text, field="value")
        self.meant = meant


class Stopped(Refusal):
    """A red tag or a closed record stands in the way."""


class MovedOn(Conflict):
    """Somebody else was quicker: look at what stands there now."""
