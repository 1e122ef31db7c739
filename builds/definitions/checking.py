"""Checks across a whole definition: everything referred to is there, and nothing waits for itself."""

from collections.abc import Iterable, Iterator

from builds.definitions.card import AXLE, Card
from builds.definitions.checking_characteristic import check_characteristic
from builds.definitions.checking_for_stock import check_for_stock
from builds.definitions.checking_interchange import check_interchange
from builds.definitions.checking_operation import check_operation
from builds.definitions.options import When, complete
from builds.definitions.order import everything_before
from builds.definitions.table import Source, listed, one_of
from builds.definitions.text_lines import Path
from builds.definitions.words import LAST_ARC, Kind, Tracking


def check(card: Card, source: Source) -> None:
    """Notes every fault that shows only when the definition is seen as a whole."""
    _check_once(card, source)
    _check_materials(card, source)
    _check_conditions(card, source)
    _check_options(card, source)
    _check_sides(card, source)
    for index, operation in enumerate(card.operations):
        check_operation(card, operation, ("operation", index), source)
        for number, found in enumerate(operation.characteristics):
            check_characteristic(card, operation, found, ("operation", index, "characteristic", number), source)
    _check_order(card, source)
    _check_matched_sets(card, source)
    _check_after(card, source)
    _check_invalidates(card, source)
    check_interchange(card, source)
    check_for_stock(card, source)


def _check_once(card: Card, source: Source) -> None:
    named: dict[tuple[str, str], Iterable[object]] = {
        ("station", "code"): (station.code for station in card.stations),
        ("unit", "role"): (unit.role for unit in card.units),
        ("material", "code"): (material.code for material in card.materials),
        ("part_kind", "code"): (kind.code for kind in card.part_kinds),
        ("document", "code"): (document.code for document in card.documents),
        ("option", "axis"): (option.axis for option in card.options),
        ("operation", "number"): (operation.number for operation in card.operations),
        ("invalidates", "cause"): (found.cause for found in card.invalidates),
        ("interchange", "name"): (found.name for found in card.interchanges),
    }
    for (table, key), values in named.items():
        _once(table, key, values, source)
    for table in ("station", "operation"):
        if not source.root.get(table):
            source.fault((), table, f"expected at least one [[{table}]]; there is none")
    seen: set[str] = set()
    for index, operation in enumerate(card.operations):
        for number, found in enumerate(operation.characteristics):
            if found.code in seen:
                place: Path = ("operation", index, "characteristic", number)
                source.fault(place, "code", f"expected a code of its own; {found.code} stands twice")
            seen.add(found.code)


def _once(table: str, key: str, values: Iterable[object], source: Source) -> None:
    seen: set[object] = set()
    for index, value in enumerate(values):
        if value in seen:
            source.fault((table, index), key, f"expected a {key} of its own; {value} stands twice")
        seen.add(value)


def _check_materials(card: Card, source: Source) -> None:
    known = [material.code for material in card.materials]
    for index, kind in enumerate(card.part_kinds):
        if kind.material:
            one_of(kind.material, known, ("part_kind", index), "material", source)


def conditions(card: Card) -> Iterator[tuple[When, Path]]:
    """Every condition of the card with its place."""
    for index, refusal in enumerate(card.refusals):
        yield refusal.when, ("refusal", index)
    for index, rule in enumerate(card.interchanges):
        yield rule.when, ("interchange", index)
    for index, operation in enumerate(card.operations):
        place: Path = ("operation", index)
        yield operation.when, place
        for number, need in enumerate(operation.needs):
            yield need.when, (*place, "need", number)
        for number, photo in enumerate(operation.photos):
            yield photo.when, (*place, "photo", number)
        for number, weld in enumerate(operation.welds):
            yield weld.when, (*place, "weld", number)
        for number, found in enumerate(operation.characteristics):
            yield found.when, (*place, "characteristic", number)
            for position in found.positions.sets:
                yield position.when, (*place, "characteristic", number, "positions")


def _check_conditions(card: Card, source: Source) -> None:
    axes = {option.axis: [value.code for value in option.values] for option in card.options}
    for when, place in conditions(card):
        for clause in when.clauses:
            if clause.axis not in axes:
                source.fault(place, "when", f"expected one of the options {listed(axes)}, found {clause.axis}")
            for value in clause.values:
                if clause.axis in axes and value not in axes[clause.axis]:
                    known = listed(axes[clause.axis])
                    source.fault(place, "when", f"expected {clause.axis} to be one of {known}, found {value}")


def _check_options(card: Card, source: Source) -> None:
    for index, option in enumerate(card.options):
        _once_in(("option", index), "value", [value.code for value in option.values], source)
        if option.value(option.default) is None:
            known = listed(value.code for value in option.values)
            source.fault(("option", index), "default", f"expected one of {known}, found {option.default}")
    for index, refusal in enumerate(card.refusals):
        if not refusal.when.clauses:
            source.fault(("refusal", index), "when", "expected the options that cannot go together; none given")
        elif refusal.when.holds(complete(card.options, {})):
            source.fault(("refusal", index), "when", "expected the defaults to be allowed; this refuses them")


def _once_in(place: Path, key: str, values: list[str], source: Source) -> None:
    if not values:
        source.fault(place, key, f"expected at least one [[option.{key}]]; there is none")
    for value in {value for value in values if values.count(value) > 1}:
        source.fault(place, key, f"expected each {key} once; {value} stands twice")


def _check_sides(card: Card, source: Source) -> None:
    for index, unit in enumerate(card.units):
        for side in unit.sides:
            if side not in card.sides:
                source.fault(("unit", index), "sides", f"expected sides of the axle ({listed(card.sides)})")
        for axis in unit.options:
            one_of(axis, [option.axis for option in card.options], ("unit", index), "options", source)
        if unit.options and unit.any_options:
            source.fault(("unit", index), "any_options", "expected either the options it is built to, or true here")
    for index, operation in enumerate(card.operations):
        for number, need in enumerate(operation.needs):
            place: Path = ("operation", index, "need", number)
            if need.sides and operation.per != AXLE:
                source.fault(place, "sides", "expected none: this operation is done per unit, which has the side")
            for side in need.sides:
                if side not in card.sides:
                    source.fault(place, "sides", f"expected sides of the axle ({listed(card.sides)})")


def _check_order(card: Card, source: Source) -> None:
    near = {operation.number: operation.starts_after for operation in card.operations}
    previous = 0
    for index, operation in enumerate(card.operations):
        if operation.number < previous:
            source.fault(("operation", index), "number", f"expected rising numbers; {previous} stands before it")
        previous = operation.number
        for number in operation.starts_after:
            if number not in near:
                source.fault(("operation", index), "starts_after", f"expected operations of this card, found {number}")
        if operation.number in everything_before(near, operation.number):
            source.fault(("operation", index), "starts_after", "expected no circle; this operation waits for itself")


def _check_matched_sets(card: Card, source: Source) -> None:
    members: dict[str, set[str]] = {}
    places: dict[str, Path] = {}
    tracking = {kind.code: kind.tracking for kind in card.part_kinds}
    for index, operation in enumerate(card.operations):
        for number, need in enumerate(operation.needs):
            if not need.matched_set:
                continue
            members.setdefault(need.matched_set, set()).add(need.part_kind)
            places.setdefault(need.matched_set, ("operation", index, "need", number))
            if tracking.get(need.part_kind) not in (Tracking.SERIAL, None):
                place: Path = ("operation", index, "need", number)
                source.fault(place, "matched_set", "expected only parts tracked by serial in a matched set")
    for name, kinds in members.items():
        if len(kinds) < 2:
            source.fault(places[name], "matched_set", f"expected another part of the set {name}; it has only one")


def _check_after(card: Card, source: Source) -> None:
    events = {f.event for o in card.operations for f in o.characteristics if f.kind is Kind.TIME and f.event}
    if any(operation.welds for operation in card.operations):
        events.add(LAST_ARC)
    numbers = {operation.number for operation in card.operations}
    for index, after in enumerate(card.after):
        if after.operation not in numbers:
            source.fault(("after", index), "operation", f"expected an operation, found {after.operation}")
        one_of(after.event, events, ("after", index), "event", source)


def _check_invalidates(card: Card, source: Source) -> None:
    numbers = {operation.number for operation in card.operations}
    sided = {o.number for o in card.operations for u in card.units if o.per == u.role and u.sides}
    codes = {found.code for operation in card.operations for found in operation.characteristics}
    kinds = {kind.code for kind in card.part_kinds}
    for index, found in enumerate(card.invalidates):
        place: Path = ("invalidates", index)
        for key, listed_numbers in (
            ("operations", found.operations),
            ("changed_at", found.changed_at),
            ("opened_by", found.opened_by),
        ):
            for number in listed_numbers:
                if number not in numbers:
                    source.fault(place, key, f"expected operations of this card, found {number}")
        for number in found.own_side:
            if number not in sided:
                source.fault(place, "own_side", f"expected operations of a left or right unit, found {number}")
        for code in found.characteristics:
            one_of(code, codes, place, "characteristics", source)
        for code in found.parts:
            one_of(code, kinds, place, "parts", source)
        if not (found.operations or found.own_side or found.characteristics):
            source.fault(place, "operations", "expected what this cause re-opens; nothing is named")
