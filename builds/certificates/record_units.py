"""Units that came into an axle from elsewhere, and those that left it, as plain data for the frozen record."""

from __future__ import annotations

from builds.certificates.record_parts import Piece, moment, part_facts
from builds.models import Axle, Joined, Parted
from builds.reports.units import begun_ahead, formerly_in


def left_with_units(axle: Axle) -> list[Piece]:
    """What was in it inside a unit that left it as a whole: fitted from, and until the unit left."""
    return [
        part_facts(part)
        | {
            "side": row.parted.side,
            "until": moment(row.parted.at),
            "taken_out_because": row.parted.reason,
            "went_to": f"with {row.unit.words} {row.unit} as a whole, {row.parted.get_to_display()}",
        }
        for row in formerly_in([axle.pk])
        for part in row.parts
    ]


def unit_rows(axle: Axle) -> list[Piece]:
    """Units that came from elsewhere, and those that left. What was booked with it and stayed needs no line."""
    came = Joined.objects.filter(axle=axle, after_closing=False).select_related("unit__item", "unit__revision__model")
    left = Parted.objects.filter(axle=axle, withdrawn=False, after_closing=False).select_related("unit__item")
    ahead = begun_ahead([axle.pk]).get(axle.pk, {})
    found = [
        {"unit": row.unit.item.mark, "role": row.unit.role, "side": row.side, "from": moment(row.at), "until": "",
         "built_to": row.unit.revision.key if row.unit.revision else "", "reason": row.reason, "rule": row.rule,
         "begun_before_booking": moment(ahead[row.unit_id].on if _is_now(row) and row.unit_id in ahead else None)}
        for row in came.order_by("pk")
    ]  # fmt: skip
    return [*found, *(
        {"unit": row.unit.item.mark, "role": row.unit.role, "side": row.side, "from": moment(row.since),
         "until": moment(row.at), "built_to": "", "reason": row.reason, "rule": ""}
        for row in left.order_by("pk")
    )]  # fmt: skip


def _is_now(row: Joined) -> bool:
    """A unit may have come, left and come again: what it is now stands at the last time."""
    return row.unit.axle_id == row.axle_id and row.unit.joined_at == row.at
