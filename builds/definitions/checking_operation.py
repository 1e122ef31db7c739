"""Checks of one operation against the rest of its card."""

from builds.definitions.card import AXLE, Card, Need, Operation, Weld
from builds.definitions.order import everything_before
from builds.definitions.table import Source, one_of
from builds.definitions.text_lines import Path
from builds.definitions.words import HoldKind
from measurements.bench import advice
from measurements.engineering.units import unit_named


def check_operation(card: Card, operation: Operation, place: Path, source: Source) -> None:
    one_of(operation.station, [s.code for s in card.stations], place, "station", source)
    one_of(operation.per, [AXLE, *(u.role for u in card.units)], place, "per", source)
    for document in operation.documents:
        one_of(document, [d.code for d in card.documents], place, "documents", source)
    if not operation.signs:
        source.fault(place, "signs", "expected at least one role that may sign the work")
    if not operation.may_set_down and not operation.set_down_reason:
        source.fault(place, "set_down_reason", "expected why this operation may not be set down; it is missing")
    if operation.may_set_down and operation.set_down_reason:
        source.fault(place, "set_down_reason", "expected only together with may_set_down = false")
    _check_hold(card, operation, place, source)
    kinds = {kind.code for kind in card.part_kinds}
    for number, need in enumerate(operation.needs):
        one_of(need.part_kind, kinds, (*place, "need", number), "part_kind", source)
        _check_sawn(card, operation, need, (*place, "need", number), source)
    roles = [(need.role, need.when) for need in operation.needs]
    for number, role in enumerate(roles):
        if role in roles[:number]:
            source.fault((*place, "need", number), "role", "expected a role of its own; it stands twice")
    for number, weld in enumerate(operation.welds):
        _check_weld(card, operation, weld, (*place, "weld", number), source)
    _check_advice(card, operation, place, source)


def _check_sawn(card: Card, operation: Operation, need: Need, place: Path, source: Source) -> None:
    """What a piece is cut to is a limited length of this operation; its heat was cited at one before."""
    asked = {one.code: one for one in operation.characteristics}
    for code in need.sawn_length:
        found = asked.get(code)
        if found is None:
            source.fault(place, "sawn_length", f"expected codes of this operation, found {code}")
        elif found.low is None or found.high is None or not _is_length(found.unit):
            source.fault(place, "sawn_length", f"expected a length with two limits; {code} is none")
    rest = asked.get(need.remnant_length)
    if need.remnant_length and (rest is None or not _is_length(rest.unit)):
        source.fault(place, "remnant_length", f"expected the code of a length here, found {need.remnant_length}")
    if need.remnant_length and not need.sawn_length:
        source.fault(place, "remnant_length", "expected only together with sawn_length")
    if need.heat_from:
        roles = [one.role for found in card.operations for one in found.needs if found.number < operation.number]
        one_of(need.heat_from, roles, place, "heat_from", source)
    if need.heat_from and not need.sawn_length:
        source.fault(place, "heat_from", "expected only together with sawn_length")


def _is_length(unit: str) -> bool:
    try:
        return unit_named(unit).dimension == "length"
    except ValueError:
        return False


def _check_advice(card: Card, operation: Operation, place: Path, source: Source) -> None:
    """An advice may be fed by what this operation or one before it records."""
    near = {one.number: one.starts_after for one in card.operations}
    numbers = everything_before(near, operation.number) | {operation.number}
    codes = {
        one.code: one.unit for found in card.operations if found.number in numbers for one in found.characteristics
    }
    for number, call in enumerate(operation.advice):
        here = (*place, "advice", number)
        for fault in advice.faults(call.name, dict(call.inputs), dict(call.figures)):
            source.fault(here, "name", fault)
        if call.by_side and operation.per != AXLE:
            source.fault(here, "by_side", "expected only at an operation of the whole axle; a unit has its side")
        for role, code in call.inputs:
            if code not in codes:
                source.fault(here, "inputs", f"expected {role} to be recorded here or before, found {code}")
            elif (wanted := advice.unit_of(call.name, role)) and codes[code] != wanted:
                source.fault(here, "inputs", f"expected {role} in {wanted}, found {code} in {codes[code] or 'no unit'}")


def _check_hold(card: Card, operation: Operation, place: Path, source: Source) -> None:
    hold = operation.hold
    if hold is None:
        return
    numbers = {one.number for one in card.operations}
    here = (*place, "hold")
    for number in hold.looks_at:
        if number not in numbers:
            source.fault(here, "looks_at", f"expected operations of this card, found {number}")
    if hold.is_the_work and hold.kind is not HoldKind.HOLD:
        source.fault(here, "is_the_work", 'expected only with kind = "hold"')
    if hold.is_the_work and not set(hold.by) <= set(operation.signs):
        source.fault(here, "by", "expected the roles that sign this operation, because the work is the hold")


def _check_weld(card: Card, operation: Operation, weld: Weld, place: Path, source: Source) -> None:
    materials = {material.code: material for material in card.materials}
    kinds = {kind.code: kind for kind in card.part_kinds}
    for code in weld.into:
        one_of(code, kinds, place, "into", source)
        material = materials.get(kinds[code].material) if code in kinds else None
        if code in kinds and (material is None or not material.weldable):
            source.fault(place, "into", f"expected a part of a weldable material; {code} is not stated to be one")
    codes = [found.code for found in operation.characteristics]
    one_of(weld.positions_of, codes, place, "positions_of", source)
    if weld.process != operation.skill:
        source.fault(place, "process", f"expected the operation's skill to be {weld.process}")
