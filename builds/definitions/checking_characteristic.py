"""Checks of one characteristic: its kind has what it needs and nothing it cannot use."""

from collections.abc import Iterator
from decimal import Decimal

from builds.definitions.card import AXLE, Card, Operation
from builds.definitions.characteristic import Characteristic, Computation
from builds.definitions.computations import COMPUTATIONS
from builds.definitions.options import combinations
from builds.definitions.order import everything_before
from builds.definitions.table import Source, listed
from builds.definitions.text_lines import Path
from builds.definitions.words import UNITS, Kind, ReactionKind

FIGURES = frozenset({Kind.MEASURED, Kind.COUNTED, Kind.COMPUTED, Kind.GIVEN})
GAUGED = frozenset({Kind.MEASURED, Kind.GO_NO_GO, Kind.GIVEN})
ANSWERS = {Kind.YES_NO: ("yes", "no"), Kind.GO_NO_GO: ("go", "no-go")}


def check_characteristic(card: Card, operation: Operation, found: Characteristic, place: Path, source: Source) -> None:
    """Notes every fault of this characteristic."""
    for key, expected in _faults(card, operation, found):
        source.fault(place, key, expected)


def _faults(card: Card, operation: Operation, found: Characteristic) -> Iterator[tuple[str, str]]:
    prefix = f"{operation.number}."
    if not found.code.startswith(prefix) or found.code == prefix:
        yield "code", f"expected a code that begins with {prefix}"
    yield from _kind_faults(found)
    yield from _limit_faults(found)
    yield from _answer_faults(found)
    yield from _reject_faults(operation, found)
    yield from _need_faults(operation, found)
    yield from _judgement_faults(found)
    yield from _reaction_faults(card, operation, found)
    yield from _position_faults(card, operation, found)
    if found.computation:
        yield from _computation_faults(card, operation, found.code, found.computation)
    yield from _given_faults(card, found)


def _kind_faults(found: Characteristic) -> Iterator[tuple[str, str]]:
    pairs = (
        ("computation", found.computation, Kind.COMPUTED),
        ("given", found.given, Kind.GIVEN),
        ("choices", found.choices, Kind.CHOICE),
    )
    for key, value, kind in pairs:
        if (found.kind is kind) != bool(value):
            yield key, f'expected exactly when kind = "{kind}"; this one is {found.kind}'
    if found.gauge_kind and found.kind not in GAUGED:
        yield "gauge_kind", f"expected none: a {found.kind} characteristic is not read from a gauge"
    if found.needs_setting and not found.gauge_kind:
        yield "needs_setting", "expected a gauge_kind as well: the setting ring sets that gauge"
    if found.unit and found.unit not in UNITS:
        yield "unit", f"expected one of {listed(UNITS)}, found {found.unit}"
    if found.kind is Kind.MEASURED and not found.unit:
        yield "unit", "expected the unit of the drawing; a measured value has one"
    if found.event and found.kind is not Kind.TIME:
        yield "event", f'expected only with kind = "{Kind.TIME}"'
    if found.step is not None and found.step <= 0:
        yield "step", f"expected more than zero, found {found.step}"


def _limit_faults(found: Characteristic) -> Iterator[tuple[str, str]]:
    limits = {"low": found.low, "high": found.high, "never_above": found.never_above}
    for key, limit in limits.items():
        if limit is not None and found.kind not in FIGURES | {Kind.GO_NO_GO}:
            yield key, f"expected none: a {found.kind} characteristic has no figures"
        elif limit is not None and _decimals(limit) > found.decimals:
            yield key, f"expected at most {found.decimals} decimals as stated, found {limit}"
    if found.low is not None and found.high is not None and found.low > found.high:
        yield "low", f"expected not more than high ({found.high}), found {found.low}"
    if found.never_above is not None and found.high is not None and found.never_above < found.high:
        yield "never_above", f"expected at least high ({found.high}), found {found.never_above}"
    if found.kind is Kind.COUNTED and any(limit is not None and limit < 0 for limit in limits.values()):
        yield "low", "expected a count of zero or more"


def _decimals(number: Decimal) -> int:
    exponent = number.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def _answer_faults(found: Characteristic) -> Iterator[tuple[str, str]]:
    answers = found.choices if found.kind is Kind.CHOICE else ANSWERS.get(found.kind, ())
    for answer in found.accepted:
        if answer not in answers:
            yield "accepted", f"expected only {listed(answers)}, found {answer}"
    if found.kind is Kind.GO_NO_GO and found.accepted != ("go",):
        yield "accepted", 'expected ["go"]: that is what a go / no-go check is for'
    reactions = found.on_low, found.on_high
    if found.accepted and all(reactions) and found.on_low != found.on_high:
        yield "on_high", "expected the same as on_low: an answer is accepted or not"


def _reject_faults(operation: Operation, found: Characteristic) -> Iterator[tuple[str, str]]:
    if not found.rejects:
        return
    if found.never_above is None:
        yield "rejects", "expected only with never_above: a value beyond that rejects the part"
    if found.rejects not in {need.role for need in operation.needs}:
        yield "rejects", f"expected the role of a part of this operation, found {found.rejects}"


def _need_faults(operation: Operation, found: Characteristic) -> Iterator[tuple[str, str]]:
    if found.needed_with and not found.optional:
        yield "needed_with", "expected only with optional = true: the others may never stay blank"
    others = {other.code: other for other in operation.characteristics}
    for code, answer in found.needed_with:
        other = others.get(code)
        known = () if other is None else other.choices or ANSWERS.get(other.kind, ())
        if answer not in known:
            yield "needed_with", f"expected an answer of this operation, found {code} = {answer}"


def _judgement_faults(found: Characteristic) -> Iterator[tuple[str, str]]:
    limits = found.low, found.high, found.never_above, found.window
    has_rule = bool(found.accepted) or any(limit is not None for limit in limits)
    if found.recorded_only and has_rule:
        yield "recorded_only", "expected no limit and no accepted answer beside it"
    if not found.recorded_only and not has_rule:
        yield "recorded_only", "expected limits, accepted answers or recorded_only = true; none is stated"
    if not found.recorded_only and not found.source:
        yield "source", "expected where the limit comes from; it is missing"
    if found.kind is Kind.GO_NO_GO or not has_rule:
        return
    if found.low is not None and found.on_low is None and not _low_is_floor(found):
        yield "on_low", "expected what a value below low does; it is missing"
    if found.high is not None and found.on_high is None:
        yield "on_high", "expected what a value above high does; it is missing"


def _low_is_floor(found: Characteristic) -> bool:
    """A count cannot fall below a low limit of zero."""
    return found.kind is Kind.COUNTED and found.low == 0


def _reaction_faults(card: Card, operation: Operation, found: Characteristic) -> Iterator[tuple[str, str]]:
    near = {one.number: one.starts_after for one in card.operations}
    reachable = everything_before(near, operation.number) | {operation.number}
    if found.accepted and found.on_no is None:
        yield "on_low", "expected what an answer that is not accepted does; it is missing"
    for key, reaction in (("on_low", found.on_low), ("on_high", found.on_high)):
        if reaction is None:
            continue
        if found.recorded_only:
            yield key, "expected none: a recorded-only characteristic is never out of limit"
        if reaction.kind is ReactionKind.BACK and reaction.to not in reachable:
            yield key, f"expected this operation or one before it, found {reaction.to}"


def _position_faults(card: Card, operation: Operation, found: Characteristic) -> Iterator[tuple[str, str]]:
    positions = found.positions
    unit_sides = next((unit.sides for unit in card.units if unit.role == operation.per), ())
    if found.side and found.side not in unit_sides:
        yield "side", f"expected only in an operation done for each side ({listed(unit_sides)})"
    for one in positions.sets:
        if any(side not in card.sides for side in one.sides):
            yield "positions", f"expected sides of the axle ({listed(card.sides)}), found {listed(one.sides)}"
        if one.sides and operation.per != AXLE and found.kind is not Kind.GIVEN:
            yield "positions", "expected no sides: the unit has the side, its labels carry none"
    if positions.open_ended:
        return
    axes = {clause.axis for one in positions.sets for clause in one.when.clauses}
    for chosen in combinations(card.options, axes) if axes else ():
        if not any(one.when.holds(chosen) for one in positions.sets):
            said = ", ".join(f"{axis} {chosen[axis]}" for axis in sorted(axes))
            yield "positions", f"expected positions for every choice; none for {said}"
            return


def _computation_faults(card: Card, operation: Operation, code: str, said: Computation) -> Iterator[tuple[str, str]]:
    form = COMPUTATIONS.get(said.name)
    if form is None:
        yield "computation", f"expected one of {listed(COMPUTATIONS)}, found {said.name}"
        return
    names = {name for name, _ in said.inputs}
    for missing in sorted(set(form.inputs) - names):
        yield "computation", f"expected an input {missing}; {said.name} needs it"
    for extra in sorted(names - set(form.inputs) - set(form.may_have)):
        yield "computation", f"expected only the inputs {listed(form.inputs + form.may_have)}, found {extra}"
    for name in sorted({name for name, _ in said.constants} - set(form.constants)):
        yield "computation", f"expected only the constants {listed(form.constants)}, found {name}"
    if bool(said.event) != form.event:
        yield "computation", f"expected {'an' if form.event else 'no'} event; {said.name} decides that"
    before = _codes_before(card, operation, code)
    for name, other in said.inputs:
        if other not in before:
            yield (
                "computation",
                f"expected {name} to be a characteristic recorded before {code}, found {other}",
            )


def _codes_before(card: Card, operation: Operation, code: str) -> set[str]:
    near = {one.number: one.starts_after for one in card.operations}
    numbers = everything_before(near, operation.number)
    found = {one.code for o in card.operations if o.number in numbers for one in o.characteristics}
    for one in operation.characteristics:
        if one.code == code:
            break
        found.add(one.code)
    return found


def _given_faults(card: Card, found: Characteristic) -> Iterator[tuple[str, str]]:
    if found.given is None:
        return
    roles = {need.role for operation in card.operations for need in operation.needs}
    if found.given.role not in roles:
        yield "given", f"expected the role of a part this card needs, found {found.given.role}"
