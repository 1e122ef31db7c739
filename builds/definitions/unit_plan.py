"""What is asked of a unit by itself, while it is in no axle: its own slots, which wait for each other only."""

from collections.abc import Collection, Mapping
from dataclasses import replace

from builds.definitions.card import AXLE, Card
from builds.definitions.options import Chosen, combinations, complete, refusals_for
from builds.definitions.plan import BuildPlan, Slot


def slots_of_unit(plan: BuildPlan, role: str, side: str) -> tuple[Slot, ...]:
    """Its slots in the order of the card. Without a side, where the role has sides: those of the first one."""
    sides = plan.card.unit(role).sides
    asked = side if side or not sides else sides[0]
    return tuple(slot for slot in plan.slots if (slot.unit, slot.side) == (role, asked))


def bare(slot: Slot) -> Slot:
    """What is asked of the unit itself. Which slots come before, and which hand its parts are on, is no matter; a value
    given by the axle's own left or right is."""
    return replace(slot, side="", starts_after=(), needs=tuple(replace(need, side="") for need in slot.needs))


def hands_alike(plan: BuildPlan, role: str) -> bool:
    """Whether every side asks the same, so that a unit may be built before it is known where it will stand."""
    asked = [[bare(slot) for slot in slots_of_unit(plan, role, side)] for side in plan.card.unit(role).sides or ("",)]
    return all(one == asked[0] for one in asked)


def counts_anywhere(plan: BuildPlan, named: Collection[str]) -> frozenset[str]:
    """Of the slots that a cause names, those whose work counts in whatever axle their unit is in.

    A unit's work counts, unless it follows other work that the same cause names: a preload that comes after the depth
    trial is read in one axle, and is read again in another one.
    """
    of = {key: (plan.slot(key).unit, plan.slot(key).side) for key in named}
    return frozenset(
        key
        for key, unit in of.items()
        if unit[0] != AXLE and all(of[other] == unit for other in plan.before(key) & of.keys())
    )


def read_with_its_axle(plan: BuildPlan, role: str, side: str) -> dict[str, list[str]]:
    """Of a unit's own slots the codes that speak of a part outside it, by slot: what is given by a part that is fitted
    elsewhere in the axle, such as the bore of the housing a tube goes into, and what is computed from it."""
    slots = slots_of_unit(plan, role, side)
    own = {planned.need.role for slot in slots for planned in slot.needs}
    outside: set[str] = set()
    for slot in slots:
        for planned in slot.characteristics:
            given, computed = planned.characteristic.given, planned.characteristic.computation
            is_given = given is not None and given.source == "part" and given.role not in own
            if is_given or (computed is not None and any(code in outside for _, code in computed.inputs)):
                outside.add(planned.code)
    found = {slot.key: [planned.code for planned in slot.characteristics if planned.code in outside] for slot in slots}
    return {key: codes for key, codes in found.items() if codes}


def read_on_part(plan: BuildPlan, role: str, side: str) -> dict[str, list[str]]:
    """The codes that speak of the part in this role, by slot: what it gives itself, such as the bore of a housing, and
    what is computed from that, near and far. Of a part on one side, those of that side."""
    own, found = role.removesuffix(f" {side}"), dict[str, list[str]]()
    codes: set[str] = set()
    for slot in plan.slots:
        if side and slot.side not in ("", side):
            continue
        for planned in slot.characteristics:
            given, computed = planned.characteristic.given, planned.characteristic.computation
            is_its_own = given is not None and (given.source, given.role) == ("part", own)
            if is_its_own or (computed is not None and any(code in codes for _, code in computed.inputs)):
                codes.add(planned.code)
                found.setdefault(slot.key, []).append(planned.code)
    return found


def plan_of_unit(plan: BuildPlan, role: str, side: str) -> BuildPlan:
    """The plan of a unit in no axle. Its slots have its own side, or none."""
    slots = slots_of_unit(plan, role, side)
    keys = {slot.key: replace(slot, side=side).key for slot in slots}
    own = tuple(
        replace(
            slot,
            side=side,
            needs=slot.needs if side else tuple(replace(need, side="") for need in slot.needs),
            starts_after=tuple(keys[key] for key in slot.starts_after if key in keys),
        )
        for slot in slots
    )
    return BuildPlan(plan.card, plan.chosen, own)


def buildable(card: Card, role: str, chosen: Chosen) -> Mapping[str, str] | None:
    """The options that a unit is built to, with the first values of the others that can be built with them; None where
    there are none."""
    free = [option.axis for option in card.options if option.axis not in card.options_of(role)]
    ways = [complete(card.options, chosen), *(way | dict(chosen) for way in combinations(card.options, free))]
    return next((way for way in ways if not refusals_for(card.options, card.refusals, way)), None)
