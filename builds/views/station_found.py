"""From an address to what is worked on, an axle or a unit that is in none, and the pass it names."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from django.db import DataError
from django.urls import reverse

from builds.definitions.plan import slot_key
from builds.models import Axle, Bench, Unit, Visit
from builds.reports.kit import side_of
from shop.http import find_or_404
from shop.models import ItemKind
from shop.models.prepared import Prepared, number, text

NONE = "-"


class At(NamedTuple):
    """One operation of an axle by its serial, on a side or none; or of a unit that is in no axle, by its mark."""

    serial: str
    number: int
    side: str = NONE
    alone: bool = False

    def url(self, name: str = "station") -> str:
        if self.alone:
            return reverse(f"unit_{name}", args=[self.serial, self.number])
        return reverse(name, args=[self.serial, self.number, self.side])


def at_of(visit: Visit) -> At:
    """Where this pass is worked on."""
    bench, alone = visit.bench, visit.axle_id is None
    return At(bench.serial, visit.operation.number, NONE if alone else side_of(visit) or NONE, alone)


def key_of(bench: Bench, at: At) -> str:
    """The key of the slot that is meant. A unit in no axle has one side at most: its own."""
    if isinstance(bench, Unit):
        return slot_key(at.number, bench.built_side)
    return slot_key(at.number, "" if at.side == NONE else at.side)


def the_axle(serial: str) -> Axle:
    rows = Axle.objects.select_related("item", "line__order", "revision__model").defer("revision__text")
    return find_or_404(rows, item__mark=serial, item__kind=ItemKind.AXLE)


def the_unit(mark: str) -> Unit:
    """A unit with a card of its own, by its mark; 404 for any other."""
    rows = Unit.objects.filter(revision__isnull=False).select_related("item", "axle__item", "revision__model")
    return find_or_404(rows.defer("revision__text"), item__mark=mark, item__kind=ItemKind.UNIT)


def the_bench(at: At) -> Bench:
    return the_unit(at.serial) if at.alone else the_axle(at.serial)


_WITH = ("operation__station", "item__unit", "axle__item", "axle__revision__model", "claimed_by")
_OPEN_PASSES = Prepared(
    lambda: (
        Visit.objects.open()
        .filter(axle__item__mark=text("serial"), axle__item__kind=ItemKind.AXLE, operation__number=number("number"))
        .select_related(*_WITH)
        .defer("axle__revision__text")
    )
)
_ALONE = (*_WITH, "item__unit__revision__model")
_OPEN_ALONE = Prepared(
    lambda: (
        Visit.objects.open()
        .filter(item__mark=text("serial"), item__kind=ItemKind.UNIT, operation__number=number("number"), axle=None)
        .select_related(*_ALONE)
        .defer("axle__revision__text", "item__unit__revision__text")
    )
)


def the_pass(at: At) -> Visit | None:
    """The open pass that an address names, with its axle, in one statement; 404 for what is not there."""
    try:
        passes = (_OPEN_ALONE if at.alone else _OPEN_PASSES).all(serial=at.serial, number=at.number)
    except (ValueError, OverflowError, DataError):  # an address that no database could hold
        passes = []
    if not passes:
        the_bench(at)
    return _of_side(passes, at)


def last_pass(at: At) -> Visit | None:
    """The newest pass, open or ended: what somebody presses on whose page shows it as still open."""
    under = {"item": the_unit(at.serial).item, "axle": None} if at.alone else {"axle": the_axle(at.serial)}
    rows = Visit.objects.filter(**under, operation__number=at.number).order_by("-number")
    texts = ("axle__revision__text", "item__unit__revision__text")
    try:
        return _of_side(rows.select_related(*_ALONE).defer(*texts), at)
    except (OverflowError, DataError):
        return None


def _of_side(passes: Iterable[Visit], at: At) -> Visit | None:
    wanted = "" if at.side == NONE else at.side
    return next((visit for visit in passes if at.alone or side_of(visit) == wanted), None)
