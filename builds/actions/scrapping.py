"""A unit that goes for good is asked for every part in it: scrap, stock with what happened to it, or a red tag."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from builds.actions.choosing import locked_with
from builds.actions.fitting import TAKES_OUT, take_out
from builds.actions.loose import move
from builds.actions.reopening import end_what_is_set_down, require_nobody_at_it
from builds.actions.tagging import Wrong, open_tag
from builds.errors import Elsewhere
from builds.models import Fitted, Unit
from builds.reports.marks import describe
from builds.reports.units import inside_of, place_words
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import ItemKind, Place, Where
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

#: What the record calls the cause of ending what was begun on it.
CAUSE = "scrapped"
GONE = (Where.SCRAP, Where.SUPPLIER)
PARTS_GO_TO = (Where.SCRAP, Where.STOCK, Where.RED_TAG)
#: What was used up in it has nowhere to go but with it.
_USED_UP = (ItemKind.DRUM, ItemKind.HEAT)


@dataclass(frozen=True)
class PartTo:
    """Where one part of a scrapped unit goes; into stock only with what happened to it."""

    to: str
    note: str = ""


def asked_parts(rows: Sequence[Fitted]) -> list[Fitted]:
    """The parts for which it has to be said where they go."""
    return [row for row in rows if row.part.kind not in _USED_UP]


def part_subjects(unit: Unit) -> tuple[str, ...]:
    """The chains of the parts in it that are in one place only: they may all move."""
    return tuple(dict.fromkeys(subject for row in inside_of(unit) for subject in locked_with(row.part)))


def scrap_unit(
    *, unit: Unit, reason: str, parts: Mapping[int, PartTo], by: Who, now: datetime | None = None
) -> list[str]:
    """A unit that is in no axle goes to the scrap bin. Returns the marks of the parts that were kept."""
    if not reason.strip():
        raise Refusal("Say why it is scrapped.", field="reason")
    with act("unit.scrapped", subject=unit.item.subject, also=part_subjects(unit), by=by, now=now) as a:
        require_role(by, TAKES_OUT, shop_day(a.now))
        unit = Unit.objects.select_related("item__place", "axle__item").get(pk=unit.pk)
        if unit.axle is not None:
            raise Elsewhere(f"{unit} is in {unit.axle.serial}. Take it out on that axle's file.")
        place = getattr(unit.item, "place", None)
        if place is None or place.where in GONE:
            raise Elsewhere(f"{unit} is {place_words(unit.item)} already.")
        require_nobody_at_it(unit)
        end_what_is_set_down(a, unit, cause=CAUSE, reason=reason)
        kept = send_parts(a, unit, parts, reason)
        move(a, unit.item, Where.SCRAP)
        a.update(Place.objects.get(pk=unit.item_id), note="")
        a.note(unit=unit.item.mark, reason=reason, kept=kept)
    return kept


def send_parts(a: Act, unit: Unit, said: Mapping[int, PartTo], reason: str) -> list[str]:
    """Every part out of it to where it was said. Refuses with the names of those of which nothing was said."""
    rows = inside_of(unit)
    _require_all_said(asked_parts(rows), said)
    kept = []
    for row in rows:
        goes = said.get(row.pk, PartTo(Where.SCRAP))
        take_out(fitted=row, reason=reason, to=goes.to, note=goes.note, by=a.by, now=a.now)
        if goes.to == Where.RED_TAG:
            open_tag(wrong=Wrong(row.part, goes.note.strip() or reason), by=a.by, now=a.now)
        if goes.to != Where.SCRAP:
            kept.append(row.part.mark)
    return kept


def _require_all_said(rows: Sequence[Fitted], said: Mapping[int, PartTo]) -> None:
    missing = [describe(row.part) for row in rows if row.pk not in said or said[row.pk].to not in PARTS_GO_TO]
    if missing:
        raise Refusal(f"Say where each part in it goes. Not said: {', '.join(missing)}.", field="parts")
    untold = [describe(row.part) for row in rows if said[row.pk].to == Where.STOCK and not said[row.pk].note.strip()]
    if untold:
        raise Refusal(f"Say what happened to what goes to stock: {', '.join(untold)}.", field="parts")
