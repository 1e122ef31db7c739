"""Checks of the units that may be built for stock: everything that their operations ask is in the unit itself."""

from collections.abc import Iterator

from builds.definitions.card import Card, Operation, UnitRole
from builds.definitions.table import Source
from builds.definitions.text_lines import Path


def check_for_stock(card: Card, source: Source) -> None:
    """Notes what is wrong, all of it at once at the unit that says it."""
    for index, unit in enumerate(card.units):
        place: Path = ("unit", index)
        faults = dict.fromkeys(_faults(card, unit)) if unit.for_stock else {}
        if faults:
            source.fault(place, "for_stock", "; ".join(faults))


def _faults(card: Card, unit: UnitRole) -> Iterator[str]:
    own = [operation for operation in card.operations if operation.per == unit.role]
    if not own:
        yield f"expected an operation done per {unit.role}; there is none"
    numbers = {operation.number for operation in own}
    roles = {need.role for operation in own for need in operation.needs}
    codes = {asked.code for operation in own for asked in operation.characteristics}
    for operation in own:
        yield from _of_operation(operation, numbers, roles, codes)
    for after in card.after:
        if after.operation in numbers and after.shorter_by:
            yield f"expected no wait that may be shortened: operation {after.operation} has one, signed for an axle"


def _of_operation(operation: Operation, numbers: set[int], roles: set[str], codes: set[str]) -> Iterator[str]:
    hold, named = operation.hold, f"operation {operation.number}"
    if hold is not None and (hold.looks_at_all or not set(hold.looks_at) <= numbers):
        yield f"expected a hold that looks at its own work only: the one of {named} looks at operations of the axle"
    for asked in operation.characteristics:
        if asked.given is not None and asked.given.role not in roles:
            yield f"expected all its parts in itself: {asked.code} is given by {asked.given.role} of the axle"
        inputs = asked.computation.inputs if asked.computation is not None else ()
        for _, code in inputs:
            if code not in codes:
                yield f"expected all its readings at itself: {asked.code} is computed from {code}"
    for call in operation.advice:
        for _, code in call.inputs:
            if code not in codes:
                yield f"expected all its readings at itself: the advice {call.name} is fed by {code}"
    for need in operation.needs:
        if need.heat_from and need.heat_from not in roles:
            yield f"expected the look at its steel in itself: {need.role} is cut from the heat of {need.heat_from}"
