"""What an out-of-limit value does, by the words of the card. No database, no clock.

Each characteristic has a reaction for low and one for high; the answer "no", "no-go" or a choice that is not
accepted has one reaction. Above what must never be passed, everything stops whatever the limit says.
"""

from __future__ import annotations

from dataclasses import dataclass

from builds.definitions.characteristic import Characteristic, Reaction
from builds.definitions.words import ReactionKind
from measurements.models import VerdictWord

OUT = (VerdictWord.BELOW, VerdictWord.ABOVE, VerdictWord.NEVER, VerdictWord.NO)


@dataclass(frozen=True)
class Consequence:
    """What follows. `kind` is "none", "repeat", "wait", "back", "tag" or "stop"; `text` is for the worker."""

    kind: str = "none"
    text: str = ""
    back_to: int | None = None

    @property
    def opens_tag(self) -> bool:
        return self.kind in ("tag", "stop")


def consequence(characteristic: Characteristic, verdict: str, outs: int, rounds: int) -> Consequence:
    """What this verdict does. `outs`: out-of-limit tries at this position so far, this one included;
    `rounds`: how often the work has already been sent back for this characteristic. Another try out of limit that is
    made on the spot, without going back, is a round too."""
    if characteristic.recorded_only or verdict not in OUT:
        return Consequence()
    told = characteristic.reaction
    if verdict == VerdictWord.NEVER:
        return Consequence("stop", _joined(told, "This must never be passed: everything stops."))
    reaction = reaction_to(characteristic, verdict)
    if reaction is None or reaction.kind is ReactionKind.TAG:
        return Consequence("tag", _joined(told, "A red tag is open."))
    if reaction.kind is ReactionKind.STOP:
        return Consequence("stop", _joined(told, "The axle is stopped."))
    if reaction.kind is ReactionKind.WAIT:
        return Consequence("wait", _joined(told, "Wait, then read again; nothing else goes on until it is in."))
    if reaction.kind is ReactionKind.REPEAT:
        if outs > reaction.times:
            return Consequence("tag", _joined(told, "The repeats are used up: a red tag is open."))
        return Consequence("repeat", _joined(told, f"Repeat {outs} of {reaction.times}."))
    rounds += max(0, outs - 1)
    if rounds >= reaction.rounds:
        return Consequence("tag", _joined(told, f"{rounds} rounds did not mend it: a red tag is open."))
    return Consequence(
        "back",
        _joined(told, f"Back to operation {reaction.to}; round {rounds + 1} of {reaction.rounds}."),
        reaction.to,
    )


def reaction_to(characteristic: Characteristic, verdict: str) -> Reaction | None:
    """The card's reaction on that side; an answer that is not accepted has only one side, whichever is given."""
    if verdict == VerdictWord.NO:
        return characteristic.on_no
    return characteristic.on_low if verdict == VerdictWord.BELOW else characteristic.on_high


def _joined(*parts: str) -> str:
    sentences = (part.strip() for part in parts if part and part.strip())
    return " ".join(part if part.endswith((".", "!")) else f"{part}." for part in sentences)
