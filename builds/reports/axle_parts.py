"""What is in one axle and what was: every part fitted under it, in rows of plain values."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

from builds.models import Axle, Fitted
from shop.models import Where
from shop.models.prepared import PreparedValues, number

_FITTED = (
    "pk", "role", "host_id", "host__mark", "part_id", "part__mark", "part__maker", "visit__operation__number",
    "person__name", "at", "removal__pk", "removal__at", "removal__reason", "removal__to", "part__place__where",
)  # fmt: skip


class FittedRow(NamedTuple):
    """One part in a host. `operation`: None where no visit fitted it; `removal`: None while it is in."""

    pk: int
    role: str
    host: int
    host_mark: str
    part: int
    mark: str
    maker: str
    operation: int | None
    who: str
    at: datetime
    removal: int | None
    out_at: datetime | None
    out_reason: str | None
    out_to: str | None
    where: str | None

    @property
    def went(self) -> str:
        """Where it went when it was taken out."""
        return str(Where(self.out_to).label) if self.out_to else ""

    @property
    def is_now(self) -> str:
        """Where it is now; empty where nobody has placed it."""
        return str(Where(self.where).label) if self.where else ""


_HERE = PreparedValues(
    lambda: Fitted.objects.filter(axle=number("axle")).order_by("visit__operation__number", "pk").values_list(*_FITTED)
)
_EXCHANGED = PreparedValues(
    lambda: Fitted.objects.filter(host__unit__axle=number("axle"), axle=None).order_by("pk").values_list(*_FITTED)
)


def fitted_rows(axle: Axle) -> list[FittedRow]:
    """In the order of the card, what is in it and what came out. One query, two for a closed axle: units that were put
    in since it left brought their parts along."""
    rows = _HERE.all(axle=axle.pk)
    if axle.closed_at is not None:
        rows += _EXCHANGED.all(axle=axle.pk)
    return [FittedRow(*row) for row in rows]
