"""For many axles at once, everything that went into each as it left: hand-written, walked backwards over the edges of
the reach list, one statement for any number of axles."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import connection

from builds.reports.reach.statements import EDGES, EdgeOf, Values, ids_of, rows

#: Between its closing and its leaving a part may have gone out and another one in.
_BEFORE_IT_LEFT = "EXISTS (SELECT 1 FROM builds_shipment s WHERE s.axle_id = e.axle_id AND s.shipped_at >= {row}.at)"
#: What was taken out before the axle left did not leave with it.
_STILL_IN = (
    " AND NOT EXISTS (SELECT 1 FROM builds_removal m WHERE m.fitted_id = e.id"
    f" AND (NOT m.after_closing OR {_BEFORE_IT_LEFT.format(row='m')}))"
)
_AS_IT_LEFT = f" AND (NOT e.after_closing OR {_BEFORE_IT_LEFT.format(row='e')})"
#: A unit that was put in since the closing did not leave with it; one that was taken out since did.
_LATER = (
    " AND NOT EXISTS (SELECT 1 FROM builds_joined j WHERE j.unit_id = e.{unit} AND j.axle_id = e.axle_id"
    " AND j.after_closing AND j.at = e.{since})"
)
_BY_TABLE = {
    "builds_fitted": _STILL_IN + _AS_IT_LEFT,
    "builds_unit": _LATER.format(unit="item_id", since="joined_at"),
    "builds_parted": " AND e.after_closing" + _LATER.format(unit="unit_id", since="since"),
}


def inside(axles: Sequence[int]) -> set[tuple[int, int]]:
    """(axle, item) of every heat, bar, piece, lot, drum, part and unit that an axle was made of when it left."""
    walk, values = inside_of(axles)
    found: list[tuple[int, int]] = rows((f"{walk} SELECT axle, item FROM up", values))
    return {(axle, item) for axle, item in found if axle != item}


def inside_of(axles: Sequence[int]) -> tuple[str, Values]:
    """The beginning of a statement in which `up` has (axle, item), the axle itself included."""
    roots, values = ids_of(axles)
    seeds = f"SELECT item AS axle, item FROM ({roots}) seeds"
    if connection.vendor == "sqlite":
        steps = " ".join(
            f"UNION SELECT up.axle, e.{edge.source} FROM up JOIN {edge.table} e ON e.{edge.target} = up.item"
            f"{_narrowed(edge)} AND e.{edge.source} IS NOT NULL"
            for edge in EDGES
        )
    else:
        each = " UNION ALL ".join(
            f"SELECT e.{edge.source} AS item FROM {edge.table} e WHERE e.{edge.target} = up.item{_narrowed(edge)}"
            f" AND e.{edge.source} IS NOT NULL"
            for edge in EDGES
        )
        steps = f"UNION SELECT up.axle, further.item FROM up CROSS JOIN LATERAL ({each}) further"
    return f"WITH RECURSIVE up(axle, item) AS ({seeds} {steps})", values


def _narrowed(edge: EdgeOf) -> str:
    words = f" AND {edge.where}" if edge.where else ""
    return words + _BY_TABLE.get(edge.table, "")
