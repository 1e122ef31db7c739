"""What may stand in for what: which units may join an axle, by which rule, and why another may not."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from builds.definitions.card import Interchange
from builds.definitions.plan import BuildPlan, Slot
from builds.definitions.unit_plan import bare, slots_of_unit
from builds.models import Axle, Revision, Unit, Visit, VisitState

SAME = "the same revision of the card, and the same work asked of it"


@dataclass(frozen=True)
class Built:
    """What a unit was built to."""

    revision: Revision
    plan: BuildPlan
    side: str


@dataclass(frozen=True)
class Answer:
    """Whether a unit may stand in a place: by which rule, with which operations done again; or why it may not."""

    why_not: str = ""
    rule: str = SAME
    redo: tuple[int, ...] = ()


def built_to(unit: Unit) -> Built:
    """By its own words, else by those of the axle that it was booked with and has never left."""
    if unit.revision is not None:
        return Built(unit.revision, unit.revision.plan(unit.options), unit.built_side)
    assert unit.axle is not None
    return Built(unit.axle.revision, unit.axle.plan, unit.side)


def may_join(unit: Unit, axle: Axle, side: str) -> Answer:
    """Whether this unit may stand in this place of the axle: of the same revision without a rule, of another by one."""
    own = built_to(unit)
    why = _not_the_same(unit, own, axle, side)
    if not why:
        return Answer()
    rules = [rule for rule in axle.plan.interchanges if rule.unit == unit.role and own.revision.key in rule.of]
    for rule in rules:
        why = _not_by(rule, unit, own, axle, side)
        if not why:
            return Answer(rule=rule.name, redo=rule.redo)
        why = f"By the rule “{rule.name}” it may not: {why}"
    return Answer(why_not=why)


def _not_the_same(unit: Unit, own: Built, axle: Axle, side: str) -> str:
    if own.revision.pk != axle.revision_id:
        return (
            f"{unit} was built to {own.revision} and {axle.serial} is built to {axle.revision}. A unit of another"
            f" revision joins only by an interchange rule, and this card has none for {own.revision.key}."
        )
    if why := _other_options(unit, own, axle, axle.plan.card.options_of(unit.role)):
        return why
    differs = [
        f"{here.operation.number} {here.operation.name}"
        for there, here in _pairs(own, axle.plan, unit.role, side)
        if there is None or bare(there) != bare(here)
    ]
    if differs:
        hand = f", {own.side}" if own.side and own.side != side else ""
        words = ", ".join(dict.fromkeys(differs))
        return f"{unit} was built otherwise{hand}: {words} asks for something else in {axle.serial}."
    return ""


def _not_by(rule: Interchange, unit: Unit, own: Built, axle: Axle, side: str) -> str:
    axes = rule.same_options or axle.plan.card.options_of(unit.role)
    if why := _other_options(unit, own, axle, axes):
        return why
    if own.side != side and not rule.either_hand:
        return f"{unit} was built {own.side or 'without a side'}, not {side or 'without a side'}."
    done = Visit.objects.filter(item=unit.item_id).exclude(state=VisitState.REDO)
    here = {slot.operation.number for slot in axle.plan.slots if slot.unit == unit.role}
    strange = sorted(set(done.values_list("operation__number", flat=True)) - here)
    if strange:
        return f"operation {strange[0]} was done on {unit}, and the card of {axle.serial} knows none of that number."
    return ""


def _other_options(unit: Unit, own: Built, axle: Axle, axes: Collection[str]) -> str:
    asked, have = dict(axle.plan.chosen), dict(own.plan.chosen)
    labels = {option.axis: option.label for option in axle.plan.card.options}
    other = [axis for axis in axes if asked.get(axis) != have.get(axis)]
    words = "; ".join(f"{labels[axis]} {have.get(axis, 'not chosen')}, not {asked.get(axis, 'any')}" for axis in other)
    return f"{unit} was built for other options than {axle.serial} asks: {words}." if other else ""


def _pairs(own: Built, plan: BuildPlan, role: str, side: str) -> Sequence[tuple[Slot | None, Slot]]:
    theirs = {slot.operation.number: slot for slot in slots_of_unit(own.plan, role, own.side)}
    return [(theirs.get(slot.operation.number), slot) for slot in slots_of_unit(plan, role, side)]
