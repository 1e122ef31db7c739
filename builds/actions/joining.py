"""A unit from stock joins one axle and gets its side there; what was done on it counts there, but for what is read in
the axle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from builds.actions.choosing import require_being_built, require_same_set, thing_of
from builds.actions.claiming import asked_anew
from builds.actions.finishing import follow_phase
from builds.actions.fitting import TAKES_OUT
from builds.actions.kitting import follow_phase as follow_kit
from builds.actions.loose import move
from builds.actions.parting import UnitOut, carry, causes_of_unit, part_unit, whole
from builds.actions.reopening import LONGEST_REASON, asks_less, named_by, reopen
from builds.actions.tagging import Wrong, open_tag
from builds.definitions.unit_plan import counts_anywhere, read_with_its_axle
from builds.errors import Elsewhere, NotFree, WrongKind
from builds.models import Axle, Fitted, Joined, Parted, Reopening, Unit, Visit, VisitState, role_and_side
from builds.reports.agreed import to_agree
from builds.reports.interchange import Answer, may_join
from builds.reports.kit import NeedState, kit_state, needs_of
from builds.reports.marks import describe
from builds.reports.units import is_untouched, place_words, set_aside_for, tagged_in
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Place, Where
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

#: What the record calls the cause where a unit's own value was read with a part of another axle.
OTHER_PARTS = "joined_other_parts"


@dataclass(frozen=True)
class Spot:
    """The place of an axle that a unit joins."""

    axle: Axle
    side: str = ""


def join_unit(*, unit: Unit, spot: Spot, reason: str, by: Who, now: datetime | None = None) -> Joined:
    """Race: the unit and both axles' chains are locked, so of two terminals that fetch it in the same second one gets
    it and the other is told where it is."""
    _check(reason)
    own = own_unit(spot, unit.role)
    with act("unit.joined", subject=spot.axle.subject, also=(unit.item.subject, own.item.subject), by=by, now=now) as a:
        require_role(by, TAKES_OUT, shop_day(a.now))
        unit, own = whole(unit.pk), whole(own.pk)
        axle = Axle.objects.select_related("item", "revision__model", "line").get(pk=spot.axle.pk)
        require_being_built(axle)
        require_in_stock(unit)
        _require_untouched(own, axle)
        answer = may_join(unit, axle, spot.side)
        if answer.why_not:
            raise WrongKind(answer.why_not, field="unit")
        require_same_sets(unit, axle)
        row = _join(a, unit, own, Spot(axle, spot.side), reason.strip(), answer)
        again = _again(a, unit, answer)
        reopened = _opened(a, axle, unit, reason.strip())
        a.note(
            unit=unit.item.mark,
            side=spot.side,
            instead_of=own.item.mark,
            reason=reason.strip(),
            rule=answer.rule,
            again=again,
            reopened=reopened,
            asked_anew=_ask_anew(a, axle),
        )
        follow_kit(a, axle, whole=kit_state(axle).is_whole)
        follow_phase(a, axle)
    return row


def rob_unit(*, unit: Unit, out: UnitOut, spot: Spot, by: Who, now: datetime | None = None) -> tuple[Joined, list[str]]:
    """Out of one axle and into another, in one act. Returns the keys of what the first one has to do again."""
    if unit.axle is None:
        raise Elsewhere(f"{unit} is in no axle: somebody has taken it out already. Look at its own page.")
    if unit.axle.pk == spot.axle.pk:
        raise Refusal("It is in this axle already. Choose another one.", field="into")
    own = own_unit(spot, unit.role)
    subjects = (spot.axle.subject, unit.item.subject, own.item.subject)
    with act("unit.robbed", subject=unit.axle.subject, also=subjects, by=by, now=now) as a:
        note = out.note.strip() or f"for {spot.axle.serial}"
        _, reopened = part_unit(unit=unit, out=UnitOut(out.reason, Where.STOCK, note), by=by, now=a.now)
        row = join_unit(unit=whole(unit.pk), spot=spot, reason=out.reason, by=by, now=a.now)
        a.note(unit=unit.item.mark, into=spot.axle.serial, reopened=reopened)
    return row, reopened


def _check(reason: str) -> None:
    if not reason.strip():
        raise Refusal("Say why it goes in here.", field="reason")
    if len(reason) > LONGEST_REASON:
        raise Refusal(f"The reason is longer than {LONGEST_REASON} characters. Shorten it.", field="reason")


def own_unit(spot: Spot, role: str) -> Unit:
    """The unit that stands in this place of the axle now."""
    found = Unit.objects.select_related("item").filter(axle=spot.axle, role=role, side=spot.side).first()
    if found is None:
        raise WrongKind(f"{spot.axle.serial} has no place for a {role_and_side(role, spot.side)}.", field="side")
    return found


def require_in_stock(unit: Unit) -> None:
    """Refuse one that is elsewhere, waits for a decision, or whose work belongs to a closed record."""
    if unit.axle is not None:
        raise Elsewhere(f"{unit} is in {unit.axle.serial} by now. Choose another one.", field="unit")
    place = Place.objects.filter(pk=unit.item_id).first()
    if place is None or place.where != Where.STOCK:
        raise NotFree(f"{unit} is {place_words(unit.item)} and cannot be used.", field="unit")
    tag = tagged_in(unit)
    if tag is not None:
        raise NotFree(f"{describe(tag.item)} has {tag} open: {tag.cause}. It waits for a decision.", field="unit")
    other = Visit.objects.filter(item=unit.item_id).exclude(axle=None).select_related("axle__item").first()
    if other is not None and other.axle is not None:
        raise NotFree(
            f"What was done on {unit} belongs to the closed record of {other.axle.serial} and counts nowhere else."
            " Take its parts out one by one.",
            field="unit",
        )


def _require_untouched(own: Unit, axle: Axle) -> None:
    if own.axle_id != axle.pk:
        raise Elsewhere(f"{own} is not in {axle.serial} any more. Look at the page again.")
    if not is_untouched(own):
        raise Elsewhere(
            f"{axle.serial} has its own {own.words}, {own}, and work was done on it. Take that one out first.",
            field="unit",
        )
    if aside := set_aside_for(own):
        names = ", ".join(describe(line.part) for line in aside)
        raise Elsewhere(f"Set aside for {own}: {names}. Return that to stock first.", field="unit")


def require_same_sets(unit: Unit, axle: Axle) -> None:
    """A matched set stays together: what is in the unit and what lies in the axle or its kit."""
    needs = needs_of(axle)
    inside = Fitted.objects.now().filter(host=unit.item_id).select_related("part")
    for row in inside:
        thing = thing_of(row.part)
        need = next((one for one in needs if _is_for(one, row, unit)), None)
        if need is not None and thing.part is not None:
            require_same_set(thing, need, needs)


def _is_for(need: NeedState, row: Fitted, unit: Unit) -> bool:
    return need.slot.unit == unit.role and need.role == row.role


def _join(a: Act, unit: Unit, own: Unit, spot: Spot, reason: str, answer: Answer) -> Joined:
    _give_up(a, own, f"{unit} joins instead: {reason}"[:LONGEST_REASON])
    a.update(unit, axle=spot.axle, side=spot.side, joined_at=a.now)
    carry(a, unit, spot.axle, was=None)
    move(a, unit.item, Where.FLOOR)
    a.update(Place.objects.get(pk=unit.item_id), note="")
    return a.create(
        Joined,
        unit=unit,
        axle=spot.axle,
        side=spot.side,
        instead_of=own,
        reason=reason,
        rule=answer.rule,
        person=a.by.person,
        at=a.now,
    )


def _again(a: Act, unit: Unit, answer: Answer) -> list[int]:
    """What the rule has done again on it: the old pass stays, superseded."""
    every = Visit.objects.filter(item=unit.item_id, operation__number__in=answer.redo).select_related("operation")
    last = {visit.operation_id: visit for visit in every.order_by("number")}
    asked = asked_anew([visit.pk for visit in last.values() if visit.state == VisitState.REDO])
    rows = [
        visit for visit in last.values() if visit.state == VisitState.DONE or asks_less(asked.get(visit.pk, ()), ())
    ]
    for visit in rows:
        if visit.state == VisitState.DONE:
            a.update(visit, state=VisitState.REDO)
        a.create(Reopening, visit=visit, cause="interchange", reason=answer.rule, only=[], at=a.now)
    return [visit.operation.number for visit in rows]


def _opened(a: Act, axle: Axle, unit: Unit, reason: str) -> list[str]:
    """What the card's table names for the parts in it, and its own values that speak of a part outside it, as far as
    it is done there: what was done with another one."""
    named = named_with(axle, unit, unit.side)
    found = [reopen(a, axle, keys, cause=cause, reason=reason) for cause, keys in named.items() if keys]
    return [key for keys in found for key in keys]


def named_with(axle: Axle, unit: Unit, side: str) -> dict[str, dict[str, list[str]]]:
    """What the card's table names when this unit comes to this side, by cause: keys, with the codes to ask again, or
    none for all. What was done on a unit and counts in whatever axle that is in is left out, but for the single values
    that speak of a part outside the unit: those were read with another one."""
    found = {}
    for cause in causes_of_unit(axle, unit):
        named = named_by(axle.plan, cause, side)
        stays = counts_anywhere(axle.plan, named)
        found[cause] = {key: codes for key, codes in named.items() if key not in stays}
    whole = {key for named in found.values() for key in named}
    other = read_with_its_axle(axle.plan, unit.role, side)
    found[OTHER_PARTS] = {key: codes for key, codes in other.items() if key not in whole}
    return found


def _ask_anew(a: Act, axle: Axle) -> list[int]:
    """A red tag on each safety value that came along because another customer agreed to it. This one is asked, too."""
    found = []
    for row in to_agree(Q(disposition__tag__axle=axle), axle.line.order.customer_id):
        tag, where = row.disposition.tag, f"{row.characteristic}, {row.position}".strip(", ")
        cause = f"{where} is out of limit. The customer of {axle.serial} has not agreed to it."
        found.append(open_tag(wrong=Wrong(tag.item, cause, axle, tag.operation, tag.reading), by=a.by, now=a.now))
    return [tag.number for tag in found]


def _give_up(a: Act, own: Unit, reason: str) -> Parted:
    """The axle's own one, on which nothing was ever done: its row stays, it is no longer used."""
    row = a.create(
        Parted,
        unit=own,
        axle=own.axle,
        side=own.side,
        since=own.joined_at,
        withdrawn=True,
        reason=reason,
        person=a.by.person,
        at=a.now,
    )
    assert own.axle is not None
    a.update(
        own, axle=None, side="", joined_at=None, revision=own.axle.revision, options=own.axle.options,
        built_side=row.side,
    )  # fmt: skip
    for place in Place.objects.filter(pk=own.item_id):
        a.delete(place)
    return row


def places_for(axle: Axle, role: str) -> Sequence[Unit]:
    """The axle's own units of this role, on which nothing was done yet."""
    rows = Unit.objects.filter(axle=axle, role=role).select_related("item").order_by("side")
    return [unit for unit in rows if is_untouched(unit)]
