"""What may stand in for what: which units may join an axle, and why another may not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from builds.definitions.plan import BuildPlan, Slot
from builds.models import Axle, Revision, Unit

SAME = "the same revision of the card, and the same work asked of it"


@dataclass(frozen=True)
class Built:
    """What a unit was built to."""

    revision: Revision
    plan: BuildPlan
    side: str


def built_to(unit: Unit) -> Built:
    """By its own words, else by those of the axle that it was booked with and has never left."""
    if unit.revision is not None:
        return Built(unit.revision, unit.revision.plan(unit.options), unit.built_side)
    assert unit.axle is not None
    return Built(unit.axle.revision, unit.axle.plan, unit.side)


def why_not(unit: Unit, axle: Axle, side: str) -> str:
    """Why this unit may not stand in this place of the axle; empty when it may."""
    own = built_to(unit)
    if own.revision.pk != axle.revision_id:
        return (
            f"{unit} was built to {own.revision} and {axle.serial} is built to {axle.revision}. A unit of another"
            " revision joins only where the card says that it may."
        )
    asked, have = dict(axle.plan.chosen), dict(own.plan.chosen)
    other = [axis for axis in axle.plan.card.options_of(unit.role) if asked.get(axis) != have.get(axis)]
    if other:
        labels = {option.axis: option.label for option in axle.plan.card.options}
        words = "; ".join(f"{labels[axis]} {have.get(axis, 'not chosen')}, not {asked[axis]}" for axis in other)
        return f"{unit} was built for other options than {axle.serial} asks: {words}."
    differs = [
        f"{here.operation.number} {here.operation.name}"
        for there, here in _pairs(own, axle.plan, unit.role, side)
        if there is None or _bare(there) != _bare(here)
    ]
    if differs:
        hand = f", {own.side}" if own.side and own.side != side else ""
        return (
            f"{unit} was built otherwise{hand}: {', '.join(dict.fromkeys(differs))} asks for something else in"
            f" {axle.serial}."
        )
    return ""


def _pairs(own: Built, plan: BuildPlan, role: str, side: str) -> Sequence[tuple[Slot | None, Slot]]:
    theirs = {slot.operation.number: slot for slot in own.plan.slots if (slot.unit, slot.side) == (role, own.side)}
    return [(theirs.get(slot.operation.number), slot) for slot in plan.slots if (slot.unit, slot.side) == (role, side)]


def _bare(slot: Slot) -> Slot:
    """What is asked of the unit itself. Which slots come before, and which hand its parts are on, is no matter; a value
    given by the axle's own left or right is."""
    return replace(slot, side="", starts_after=(), needs=tuple(replace(need, side="") for need in slot.needs))
