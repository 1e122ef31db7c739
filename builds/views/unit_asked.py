"""The form that was asked for on the page of a unit in no axle, and what it may be asked of."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from builds.actions.fitting import GOES_TO
from builds.models import Fitted, Unit
from builds.progress import SlotState, SlotView
from builds.reports.unit_file import unit_readings
from builds.views.reading_rows import folded, groups
from shop.http import Asked, new_submission
from shop.models import Where

#: What may be asked of one row of the page, by the word in the address that opens its form.
ASKS = ("void", "out-part", "back")


def to_mend(
    request: Asked, unit: Unit, inside: Iterable[Fitted], slots: Iterable[SlotView], ask: tuple[str, str] | None
) -> dict[str, Any]:
    """For a unit in no axle: its readings, and the one form that was asked for."""
    if unit.axle_id is not None or unit.revision is None:
        return {}
    rows = unit_readings(unit)
    kind, key = ask or next(((word, request.GET[word]) for word in ASKS if word in request.GET), ("", ""))
    waiting = [view.slot for view in slots if view.state is SlotState.WAIT_SIGN]
    asked: dict[str, dict[str, Any]] = {
        "void": {str(row["pk"]): row for row in rows},
        "out-part": {str(row.pk): row for row in inside if row.axle_id is None},
        "back": {str(slot.operation.number): slot for slot in waiting},
    }
    return {
        "readings": folded(groups(rows, closed=False, of="unit"), opened=kind == "void"),
        "mend": {"kind": kind, "row": asked[kind].get(key)} if kind else {},
        "goes_to": [(word, Where(word).label) for word in GOES_TO],
        "mend_submission": new_submission(),
    }
