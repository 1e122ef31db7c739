"""Checks of the interchange rules: what stands in for what is known, of one kind of identity, and named in pairs."""

import re

from builds.definitions.card import Card, Interchange
from builds.definitions.table import Source, one_of
from builds.definitions.text_lines import Path
from builds.definitions.words import Tracking

#: Steel keeps its melt, not its kind: what may be cut for a tube is the material's business.
_INTERCHANGED = (Tracking.SERIAL, Tracking.LOT, Tracking.BULK)
LONGEST_NAME = 120
_CARD = re.compile(r"[a-z][a-z0-9_]*/\S+")


def check_interchange(card: Card, source: Source) -> None:
    """Notes every fault of the rules."""
    for index, rule in enumerate(card.interchanges):
        place: Path = ("interchange", index)
        if len(rule.name) > LONGEST_NAME:
            source.fault(place, "name", f"expected at most {LONGEST_NAME} characters")
        if bool(rule.unit) == bool(rule.needs or rule.takes):
            source.fault(place, "unit", "expected either a unit, or the parts it needs and takes")
        elif rule.unit:
            _of_units(card, rule, place, source)
        else:
            _of_parts(card, rule, place, source)


def _of_parts(card: Card, rule: Interchange, place: Path, source: Source) -> None:
    for key in ("of", "same_options", "either_hand", "redo"):
        if getattr(rule, key):
            source.fault(place, key, "expected this only in a rule of units")
    if len(rule.needs) != len(rule.takes):
        source.fault(
            place, "takes", f"expected one part for each of needs ({len(rule.needs)}), found {len(rule.takes)}"
        )
    if rule.together and len(rule.needs) < 2:
        source.fault(place, "together", "expected two parts or more that go together")
    known = {kind.code: kind.tracking for kind in card.part_kinds}
    for key in ("needs", "takes"):
        for code in getattr(rule, key):
            one_of(code, known, place, key, source)
            if known.get(code, Tracking.SERIAL) not in _INTERCHANGED:
                source.fault(place, key, f"expected parts by serial, lot or open drum; {code} is steel")
    for needed, taken in rule.pairs.items():
        if needed == taken:
            source.fault(place, "takes", f"expected another kind than {needed}; it stands in for itself")
        elif needed in known and taken in known and known[needed] is not known[taken]:
            source.fault(place, "takes", f"expected {taken} to be kept track of as {needed} is: {known[needed]}")


def _of_units(card: Card, rule: Interchange, place: Path, source: Source) -> None:
    if rule.together:
        source.fault(place, "together", "expected this only in a rule of parts")
    one_of(rule.unit, [unit.role for unit in card.units], place, "unit", source)
    if not rule.of:
        source.fault(place, "of", "expected the cards it may be built to, such as demo_1/A; none is named")
    for key in rule.of:
        if not _CARD.fullmatch(key):
            source.fault(place, "of", f"expected a card and its revision, such as demo_1/A, found {key}")
    for axis in rule.same_options:
        one_of(axis, [option.axis for option in card.options], place, "same_options", source)
    own = {operation.number for operation in card.operations if operation.per == rule.unit}
    for number in rule.redo:
        if number not in own:
            source.fault(place, "redo", f"expected operations done per {rule.unit}, found {number}")
