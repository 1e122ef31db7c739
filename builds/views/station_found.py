"""From an address to the axle and the pass it names."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import DataError

from builds.models import Axle, Visit
from shop.http import find_or_404
from shop.models import ItemKind
from shop.models.prepared import Prepared, number, text

NONE = "-"


def the_axle(serial: str) -> Axle:
    rows = Axle.objects.select_related("item", "line__order", "revision__model").defer("revision__text")
    return find_or_404(rows, item__mark=serial, item__kind=ItemKind.AXLE)


_WITH = ("operation__station", "item__unit", "axle__item", "axle__revision__model", "claimed_by")
_OPEN_PASSES = Prepared(
    lambda: (
        Visit.objects.open()
        .filter(axle__item__mark=text("serial"), axle__item__kind=ItemKind.AXLE, operation__number=number("number"))
        .select_related(*_WITH)
        .defer("axle__revision__text")
    )
)


def the_pass(serial: str, operation: int, side: str) -> Visit | None:
    """The open pass that an address names, with its axle, in one statement; 404 for an axle that is not there."""
    try:
        passes = _OPEN_PASSES.all(serial=serial, number=operation)
    except (ValueError, OverflowError, DataError):  # an address that no database could hold
        passes = []
    if not passes:
        the_axle(serial)
    return _of_side(passes, side)


def last_pass(serial: str, operation: int, side: str) -> Visit | None:
    """The newest pass, open or ended: what somebody presses on whose page shows it as still open."""
    rows = Visit.objects.filter(axle=the_axle(serial), operation__number=operation).order_by("-number")
    try:
        return _of_side(rows.select_related(*_WITH).defer("axle__revision__text"), side)
    except (OverflowError, DataError):
        return None


def _of_side(passes: Iterable[Visit], side: str) -> Visit | None:
    wanted = "" if side == NONE else side
    return next((visit for visit in passes if side_of(visit) == wanted), None)


def side_of(visit: Visit) -> str:
    unit = getattr(visit.item, "unit", None) if visit.item_id != visit.axle_id else None
    return unit.side if unit is not None else ""
