"""The kits of all axles in work: which are whole, which are short, and from which operation that matters."""

from __future__ import annotations

from dataclasses import dataclass

from builds.models import Axle
from builds.reports.kit import KitState, needs_of, part_rows


@dataclass(frozen=True)
class KitRow:
    axle: Axle
    state: KitState

    @property
    def short_from(self) -> str:
        """The first operation that a missing part keeps from starting; empty when the kit is whole."""
        if not self.state.short:
            return ""
        operation = self.state.short[0].slot.operation
        return f"{operation.number} {operation.name}"

    @property
    def there(self) -> int:
        return len(self.state.kit_needs) - len(self.state.short)


def kit_rows() -> list[KitRow]:
    """Every axle being built, short kits first, then by promise. Four queries, however many axles."""
    axles = list(
        Axle.objects.being_built()
        .filter(scrapped_at=None, closed_at=None)
        .select_related("item", "revision__model", "line__order__customer")
        .defer("revision__text")
    )
    rows = part_rows(axles)
    found = [KitRow(axle, KitState(axle, tuple(needs_of(axle, rows=rows)))) for axle in axles]
    return sorted(found, key=lambda row: (row.state.is_whole, row.axle.line.promised_to, row.axle.serial))
