"""A question answered: every touched thing in its place, with the ways that connect it.

A constant number of statements: two or three for each cause, six for what is said of the things.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Any

from django.utils import timezone

from builds.reports.reach.answer import Reached, Row, Spot, lines
from builds.reports.reach.cause import Cause, Question, Together
from builds.reports.reach.facts import AxleFact, Facts, Thing, load, of_visits
from builds.reports.reach.statements import as_moment, edges, rows
from builds.reports.reach.telling import Teller
from builds.reports.reach.tree import tree_of
from builds.reports.reach.walking import Edge, Held, Seed, TakenTogether, Walk, shared_visits, take_together, walk
from builds.reports.reach.work import seeds
from shop.models import Heat, Part, Piece

_SPOT_OF_PHASE = {
    "booked": Spot.FLOOR, "kitted": Spot.FLOOR, "floor": Spot.FLOOR, "bought_off": Spot.CLOSED,
    "certified": Spot.CLOSED, "gone": Spot.SHIPPED, "back": Spot.BACK, "retired": Spot.GONE,
}  # fmt: skip


def reach(question: Question, *, at: datetime | None = None) -> Reached:
    """The reach list of the question as things stand now. `at` is only printed on it."""
    walks = [walk_of(cause) for cause in question.causes]
    visits = of_visits(list(shared_visits(walks))) if question.together is Together.SAME_WORK else {}
    taken = take_together(walks, question.together, {pk: work.targets for pk, work in visits.items()})
    over = _over(walks, taken, question.together)
    known = load(_mentioned(walks, taken), {edge.fitting for edge in over if edge.fitting is not None})
    teller = Teller(walks, known, visits, question.together)
    former = list(_formerly(over, taken, known, teller))
    told = {row.item for row in former}
    present = [row for row in _present(taken, known, teller) if row.spot is not Spot.GONE or row.item not in told]
    found = [*present, *former]
    trees = tree_of(walks, taken, known)
    return Reached(question, tuple(lines(found)), trees.branches, at or timezone.now(), trees.left_out)


def walk_of(cause: Cause) -> Walk:
    """Everything that one cause touches. What may be of its melt but cannot be proven is walked from as well."""
    worked = [] if cause.is_thing else [_seed(found) for found in rows(seeds(cause))]
    roots = dict.fromkeys(cause.ids if cause.is_thing else [seed.item for seed in worked], Held.NOW)
    roots |= {pk: Held.DOUBT for pk in _of_unknown_melt(cause) if pk not in roots}
    melts = Heat.objects.filter(pk__in=roots).values_list("pk", flat=True)
    return walk(cause, roots, worked, map(_edge, rows(edges(list(roots), cause.between))), melts)


def _seed(row: tuple[Any, ...]) -> Seed:
    how, item, axle, visit, count, first, last = row
    return Seed(how, item, axle, visit, count, as_moment(first), as_moment(last))


def _edge(row: tuple[Any, ...]) -> Edge:
    how, source, target, visit, fitting, role, begun, ended = row
    return Edge(how, source, target, visit, fitting, role, as_moment(begun), as_moment(ended))


def _of_unknown_melt(cause: Cause) -> Iterable[int]:
    """A piece without readable mark may come from any melt that was there, and so may a forging without one."""
    found: list[int] = []
    if cause.steel:
        found += Piece.objects.filter(heat=None).values_list("pk", flat=True)
    if cause.parts_of:
        found += Part.objects.filter(heat=None, kind__code__in=cause.parts_of).values_list("pk", flat=True)
    return found


def _over(walks: Sequence[Walk], taken: TakenTogether, together: Together) -> list[Edge]:
    """The fittings that are over and count: all, or those of things or visits that every cause had a hand in."""
    every = dict.fromkeys(edge for one in walks for edge in one.removed())
    if together is Together.EITHER or len(walks) == 1:
        return list(every)
    if together is Together.SAME_WORK:
        things = dict.fromkeys(edge for one in walks if one.cause.is_thing for edge in one.removed())
        return [edge for edge in things if edge.visit in taken.visits]
    return [edge for edge in every if edge.source in taken.best or edge.target in taken.best]


def _mentioned(walks: Sequence[Walk], taken: TakenTogether) -> set[int]:
    """Everything in the answer and every knot on a way to it."""
    found = set(taken.best)
    for one in walks:
        found |= {end for edge in one.removed() for end in (edge.source, edge.target)}
    waiting = list(found)
    while waiting:
        item = waiting.pop()
        for one in walks:
            before = {edge.source for edge in one.into.get(item, ())} - found
            found |= before
            waiting += before
    return found


def _present(taken: TakenTogether, known: Facts, teller: Teller) -> Iterator[Row]:
    for pk, held in taken.best.items():
        thing = known.things.get(pk)
        if thing is None or held is Held.FORMER:
            continue
        if thing.kind == "axle":
            yield _axle_row(thing, known.axles[pk], held, teller)
        elif (spot := _spot(thing, held)) is not None:
            kits = known.kits.get(pk, [])
            where = thing.lies + (f"; set aside for {', '.join(kits)}" if kits and not thing.host else "")
            yield Row(spot, thing.what, thing.mark, pk, "", where, ways=teller.ways(pk))


def _axle_row(thing: Thing, axle: AxleFact, held: Held, teller: Teller) -> Row:
    spot = Spot.UNKNOWN if held is Held.DOUBT else _SPOT_OF_PHASE[axle.phase]
    return Row(
        spot,
        "axle",
        thing.mark,
        thing.pk,
        thing.mark,
        _stands(axle),
        axle.order,
        axle.consignee or axle.customer,
        axle.shipped_at or axle.closed_at,
        teller.ways(thing.pk),
        is_axle=True,
    )


def _stands(axle: AxleFact) -> str:
    if axle.phase == "floor" and axle.at:
        return axle.at
    words = {"gone": "shipped", "bought_off": "bought off", "floor": "on the floor"}
    return words.get(axle.phase, axle.phase)


def _spot(thing: Thing, held: Held) -> Spot | None:
    """Where a thing that is no axle is listed; None when its host is listed for it, or it is no thing to hold."""
    if thing.kind in ("heat", "gauge", "batch", "delivery") or thing.where in ("fitted", "cut_up"):
        return None
    if thing.kind == "unit":
        return None if thing.of_axle is not None else (Spot.UNKNOWN if held is Held.DOUBT else Spot.UNITS)
    if held is Held.DOUBT:
        return Spot.UNKNOWN
    if thing.where in ("scrap", "supplier", "shipped"):
        return Spot.GONE
    return Spot.REMNANTS if thing.kind == "piece" else Spot.STOCK


def _formerly(over: Sequence[Edge], taken: TakenTogether, known: Facts, teller: Teller) -> Iterator[Row]:
    told = set()
    for edge in over:
        thing, host = known.things[edge.source], known.things[edge.target]
        to, note, of_axle = known.removed.get(edge.fitting or 0, ("", "", None))
        axle = edge.target if host.kind == "axle" else of_axle
        if axle is not None and (axle not in known.things or axle not in taken.best):
            continue  # while it was there, not every cause had touched it
        serial = known.things[axle].mark if axle is not None else ""
        told.add(axle)
        where = _is_now(thing, known) or " ".join(word for word in ("went to:", to, note) if word)
        fact = known.axles.get(axle) if axle is not None else None
        order, consignee = (fact.order, fact.consignee or fact.customer) if fact else ("", "")
        way = (*teller.ways(edge.source), teller.was_in(edge))
        ways = (" → ".join(word for word in way if word),)
        yield Row(Spot.FORMERLY, thing.what, thing.mark, thing.pk, serial, where, order, consignee, edge.until, ways)
    for pk, held in taken.best.items():
        thing = known.things[pk]
        if held is Held.FORMER and thing.kind == "axle" and pk not in told:
            yield _was_touched(thing, known.axles[pk], teller)


def _is_now(thing: Thing, known: Facts) -> str:
    """Where a thing is that is in one place only; empty for a lot, a drum or a heat."""
    if thing.kind not in ("part", "piece", "unit"):
        return ""
    axle = known.things.get(thing.of_axle or 0)
    return f"now in {axle.mark}" if axle is not None else f"now {thing.lies}"


def _was_touched(thing: Thing, axle: AxleFact, teller: Teller) -> Row:
    """Touched only by what was in a part that is in it still, or was."""
    return Row(
        Spot.FORMERLY, "axle", thing.mark, thing.pk, thing.mark, _stands(axle), axle.order,
        axle.consignee or axle.customer, axle.shipped_at or axle.closed_at, teller.ways(thing.pk), is_axle=True,
    )  # fmt: skip
