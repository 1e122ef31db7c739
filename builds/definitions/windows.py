"""Limits that a card does not state but has worked out, from its own figures, when it is loaded.

A figure that is written as well must be the one that comes out. What comes out is written into the text that is kept
(`freezing`), and a kept text is never worked out again: the limits of a released revision stay what they were, whatever
becomes of the arithmetic.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal

from builds.definitions.card import Card
from builds.definitions.characteristic import Characteristic, Window
from builds.definitions.table import Source, listed
from builds.definitions.text_lines import Path
from measurements.engineering.limits import plain
from measurements.engineering.validity import OutsideValidity
from measurements.engineering.windows import Form, form_of, window

Known = dict[str, Characteristic]


def worked_out(card: Card, source: Source) -> Card:
    """The card with the limits of its windows; a fault for a window that cannot be worked out or does not agree."""
    known = {found.code: found for operation in card.operations for found in operation.characteristics}
    operations = []
    for index, operation in enumerate(card.operations):
        found = []
        for number, one in enumerate(operation.characteristics):
            place: Path = ("operation", index, "characteristic", number)
            known[one.code] = _with_limits(one, known, place, source) if one.window else one
            found.append(known[one.code] if one.window else one)
        operations.append(replace(operation, characteristics=tuple(found)))
    return replace(card, operations=tuple(operations))


def _with_limits(found: Characteristic, known: Known, place: Path, source: Source) -> Characteristic:
    assert found.window is not None
    here = source.describe(place)
    if any(fault.where.startswith(here) for fault in source.faults):
        return found  # what follows from a fault of its own is noise
    try:
        form = form_of(found.window.name, found.unit)
        faults = list(_source_faults(found.window, form, known))
        for expected in faults:
            source.fault(place, "window", expected)
        if faults:
            return found
        limits = window(form.name, inputs_of(found.window, known), found.unit, found.decimals)
    except OutsideValidity as error:
        source.fault(place, "unit" if error.field == "unit" else "window", f"expected another window: {error.text}")
        return found
    for key, written, computed in (("low", found.low, limits.low), ("high", found.high, limits.high)):
        if written is not None and written != computed:
            source.fault(
                place,
                key,
                f"expected {plain(computed)}, which its window {form.name} gives, found {plain(written)};"
                " correct the figure or an input, or leave the figure out",
            )
    return replace(found, low=limits.low, high=limits.high)


def _source_faults(asked: Window, form: Form, known: Known) -> Iterator[str]:
    for role, code in asked.limits_of:
        other = known.get(code)
        if role not in form.spans:
            yield f"expected limits_of only {listed(form.spans)}, found {role}"
        elif other is None:
            yield f"expected {role} to be a characteristic of this card, found {code}"
        elif other.low is None or other.high is None:
            yield f"expected {role} to have a low and a high limit; {code} has not"
        elif other.unit != form.spans[role]:
            yield f"expected {role} in {form.spans[role] or 'no unit'}; {code} is in {other.unit}"
        elif {f"{role}_low", f"{role}_high"} & dict(asked.inputs).keys():
            yield f"expected {role} either in inputs or in limits_of, found both"


def inputs_of(asked: Window, known: Mapping[str, Characteristic]) -> dict[str, Decimal]:
    """Every figure the window is worked out from, by name: its own, and the limits of the codes it names."""
    figures = dict(asked.inputs)
    for role, code in asked.limits_of:
        low, high = known[code].low, known[code].high
        assert low is not None
        assert high is not None
        figures |= {f"{role}_low": low, f"{role}_high": high}
    return figures
