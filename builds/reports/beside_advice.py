"""What an advice is told beside the readings of its own operation: the steel that is welded, and whose hands and
wire. Asked only for an advice that wants it; a constant number of queries whatever the axle holds."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import NamedTuple

from django.db.models import Q

from builds.definitions.card import Card, Weld
from builds.definitions.words import skill_words
from builds.models import Fitted, WeldProcedure
from builds.reports.work import Work, wire_of, wires_of
from measurements.models import Reading
from shop.clock import shop_day
from shop.models import Person
from shop.permissions import skill_state

#: A known fact: name, side it belongs to ("" for the whole axle), in words.
Facts = list[tuple[str, str, str]]


class Row(NamedTuple):
    """A reading, the side of the unit it was taken at, its pass, and whether that pass still counts."""

    position: str
    value: Decimal | None
    typed: str
    code: str
    side: str | None
    visit: int = 0
    counts: bool = True


class _Heat(NamedTuple):
    """A heat that a weld of this operation goes into, by the part it is in."""

    side: str
    key: int
    mark: str


def heats_welded(work: Work) -> list[_Heat]:
    """The heats of the parts that this operation welds into, of this unit or of the whole axle. One query."""
    kinds = {kind for weld in work.slot.welds for kind in weld.into}
    if not kinds:
        return []
    rows = Fitted.objects.now().filter(
        Q(part__piece__kind__code__in=kinds) | Q(part__part__kind__code__in=kinds), axle=work.bench.as_axle
    )
    if work.visit.item_id != work.bench.pk:
        rows = rows.filter(host=work.visit.item_id)
    own = rows.order_by("pk").values_list(
        "host__unit__side",
        "part__piece__heat",
        "part__piece__heat__item__mark",
        "part__part__heat",
        "part__part__heat__item__mark",
    )
    found = (
        _Heat(side or "", piece or part, mark or other)
        for side, piece, mark, part, other in own
        if piece is not None or part is not None
    )
    return list(dict.fromkeys(found))


def steel_rows(heats: Sequence[_Heat], codes: Collection[str]) -> list[Row]:
    """What the certificates of these heats state under these codes, at the heat's mark as position. One query.

    By code, whichever revision of the card the heat was taken in by, as the certificate cites it; the last try counts.
    """
    stated = Reading.objects.standing().filter(item__in={heat.key for heat in heats}, characteristic__code__in=codes)
    every = stated.order_by("pk").values_list("item", "value", "typed", "characteristic__code")
    rows = list({(row[0], row[3]): row for row in every}.values())
    return [
        Row(heat.mark, value, typed, code, heat.side or None)
        for heat in heats
        for item, value, typed, code in rows
        if item == heat.key
    ]


def given_by_heat(card: Card, codes: Iterable[str]) -> set[str]:
    """Those of the codes that belong to a heat and not to the axle."""
    asked = {code: card.characteristic(code).given for code in codes}
    return {code for code, found in asked.items() if found is not None and found.source == "heat"}


def facts_of(work: Work, wanted: Collection[str], heats: Sequence[_Heat], person: Person | None, at: datetime) -> Facts:
    """The facts that are wanted, by name. Two queries for a welder, one each for the procedure and the wire."""
    day = shop_day(work.visit.worked_at or at)
    found: Facts = [("today", "", day.isoformat())]
    weld = next(iter(work.slot.welds), None)
    found += _of_options(work, wanted)
    if "heats" in wanted:
        sides = dict.fromkeys(heat.side for heat in heats)
        found += [("heats", side, "; ".join(heat.mark for heat in heats if heat.side == side)) for side in sides]
    if weld is not None and "welder" in wanted:
        found += _welder(work.visit.worked_by or person, weld, day)
    if weld is not None and "procedure" in wanted:
        found += _procedure(weld, day)
    if "wire" in wanted:
        found += _wire(work)
    return found


def _of_options(work: Work, wanted: Collection[str]) -> Facts:
    """Facts of the options that this axle is built with: the teeth of its ratio."""
    plan = work.bench.plan
    chosen = dict(plan.chosen)
    values = [value for option in plan.card.options for value in option.values if value.code == chosen[option.axis]]
    return [(name, "", str(fact)) for value in values for name, fact in value.facts if name in wanted]


def _welder(person: Person | None, weld: Weld, day: date) -> Facts:
    process = skill_words(weld.process)
    if person is None:
        return [("process", "", process)]
    state = skill_state(person, weld.process, day)
    told = [("welder", "", person.name), ("process", "", process)]
    if state is None:
        return [*told, ("skill", "", "none")]
    told.append(("skill", "", "yes" if state.valid else "lapsed"))
    if state.lapses_on is not None:
        told.append(("skill_lapses", "", state.lapses_on.isoformat()))
    return told


def _procedure(weld: Weld, day: date) -> Facts:
    named = WeldProcedure.objects.filter(code=weld.procedure, revision=weld.procedure_revision).first()
    holds = named is not None and named.in_force(day) and named.process == weld.process
    name = f"{weld.procedure} rev {weld.procedure_revision}"
    return [("procedure", "", name), ("procedure_in_force", "", "yes" if holds else "no")]


def _wire(work: Work) -> Facts:
    """The spool last scanned in for this joint, in this pass or one before it."""
    wires = wires_of(work)
    if not wires:
        return []
    wanted = work.bench.card_revision.card.part_kind(wires[0].need.part_kind)
    told: Facts = [("wire_wanted", "", wanted.name)]
    row = wire_of(work)
    if row is None:
        return told
    drum = getattr(row.part, "drum", None)
    lot = drum.lot if drum is not None else getattr(row.part, "lot", None)
    told.append(("wire", "", row.part.mark))
    if drum is not None:
        told.append(("wire_opened", "", shop_day(drum.opened_at).isoformat()))
    if lot is not None:
        told.append(("wire_kind", "", lot.kind.name))
    if lot is not None and lot.expires_on is not None:
        told.append(("wire_expires", "", lot.expires_on.isoformat()))
    return told
