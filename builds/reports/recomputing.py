"""A stored computed reading worked out again from its own inputs, with some of them put right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from builds.definitions.characteristic import Characteristic as Asked
from builds.reports.lookback_rows import Read
from measurements.engineering.computations import Result, compute
from measurements.engineering.units import Exact
from measurements.models import Reading


def side_of(reading: Reading | Read) -> str:
    """The side of the unit that was measured; "" where the item has none."""
    unit = getattr(reading.item, "unit", None)
    return unit.side if unit is not None else ""


def without_side(position: str, side: str) -> str:
    """On a unit the side is the unit's own; a value cited from a two-sided part still carries it."""
    return position.removeprefix(f"{side} ") if side else position


def group_of(position: str, results: Mapping[str, Result]) -> str | None:
    """The result that belongs at this position: its own, its side's, or the only one."""
    if position in results:
        return position
    side = position.partition(" ")[0]
    if side in results:
        return side
    return "" if "" in results and len(results) == 1 else None


def worked_out_again(
    computed: Reading | Read, asked: Asked, sources: Sequence[Reading], put_right: Mapping[int, Exact]
) -> Fraction | None:
    """The exact value of `computed` from the readings it came from; `put_right`: values by the reading's key.

    None where the card's computation takes no readings (hours since an event), or where its result does not belong to
    this position: no gauge moves that. Raises ValueError and ZeroDivisionError as the computation itself does.
    """
    named = asked.computation
    if named is None or not named.inputs:
        return None
    inputs: dict[str, dict[str, Exact | None]] = {}
    for role, code in named.inputs:
        rows = [row for row in sources if row.characteristic.code == code]
        if rows:
            inputs[role] = {without_side(row.position, side_of(computed)): _value(row, put_right) for row in rows}
    results = compute(named.name, inputs, dict(named.constants), dict(named.inputs))
    group = group_of(computed.position, results)
    return None if group is None else results[group].value


def _value(row: Reading, put_right: Mapping[int, Exact]) -> Exact:
    if row.pk in put_right:
        return put_right[row.pk]
    return row.value if row.value is not None else Fraction(1)
