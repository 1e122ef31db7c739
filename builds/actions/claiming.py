"""Take up an operation, set it down with the place kept, take it up again."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from textwrap import shorten

from django.db.models import Q

from builds.actions.advising import give_advice
from builds.actions.computing import compute_at_sight, compute_cited, sheet_of
from builds.actions.reacting import react
from builds.definitions.plan import Slot
from builds.errors import MovedOn, NotReady, Stopped
from builds.models import Axle, Bench, Operation, Phase, Reopening, Span, Unit, Visit, VisitSheet, VisitState
from builds.permissions import hands, require_hand, require_role_at, require_skill_for
from builds.progress import SlotState, SlotView
from builds.reports.facts import AxleStanding, standing
from builds.reports.how_far import how_far
from builds.reports.units import place_words
from builds.reports.work import work_of
from measurements.models import Sheet
from shop.clock import shop_zone
from shop.errors import Refusal
from shop.models import Item, Person, Shift, Station, Where, shift_start
from shop.models.prepared import Prepared, number
from shop.record.act import Act, act
from shop.record.who import Who

LONGEST_NOTE = 300
#: As much as a visit keeps of where it was set down.
LONGEST_PLACE = 60
#: A day, and the hour that the clocks may be set back by.
LONGEST_SHIFT = timedelta(hours=25)


@dataclass(frozen=True)
class OnPaper:
    """Work that was done on paper: who did it and when. Marked as entered late for ever."""

    worked_by: Person
    worked_at: datetime


_AXLE = Prepared(
    lambda: (
        Axle.objects.filter(pk=number("axle")).select_related("item", "revision__model", "line").defer("revision__text")
    )
)
_UNIT = Prepared(
    lambda: (
        Unit.objects.filter(pk=number("unit"))
        .select_related("item__place", "axle__item", "revision__model")
        .defer("revision__text")
    )
)
_OPERATION = Prepared(
    lambda: (
        Operation.objects.filter(revision_id=number("revision"), number=number("number"))
        .select_related("station", "revision")
        .defer("revision__text")
    )
)


def take_up(*, bench: Bench, key: str, by: Who, paper: OnPaper | None = None, now: datetime | None = None) -> Visit:
    """Begin a pass of the operation at an axle, or at a unit that is in none, or take up one that was set down.

    Refuses what is not ready, a wrong role, a lapsed skill, another station's terminal, and a second pair of hands
    on a pass that somebody else has in hand.
    """
    with act("operation.taken_up", subject=bench.subject, by=by, now=now) as a:
        bench = _locked(bench)
        stands = standing(bench, a.now)
        view = stands.slots.get(key)
        if view is None:
            raise Refusal(f"{bench.serial} has no operation {key.replace('/', ' ').strip()[:20]}.")
        _may_take_up(bench, view.slot, by, paper, a.now)
        visit = _again(a, view) if view.visit and view.state is SlotState.SET_DOWN else _anew(a, stands, view, paper)
        a.note(
            operation=f"{visit.operation.number} {visit.operation.name}",
            item=visit.item.mark,
            number=visit.number,
        )
    return visit


def _locked(bench: Bench) -> Bench:
    """As it stands now that its chain is locked. Refuses one that is worked on no more."""
    if bench.as_axle is None:
        unit = _UNIT.one(unit=bench.pk)
        require_in_hand(unit)
        return unit
    axle = _AXLE.one(axle=bench.pk)
    if axle.closed_at is not None or axle.scrapped_at is not None:
        raise Stopped(f"The record of {axle.serial} is closed. No operation can be taken up.")
    return axle


def require_in_hand(unit: Unit) -> None:
    """Refuse a unit that is in an axle by now, or lies on a shelf: nothing is done on it by itself."""
    if unit.axle is not None:
        raise MovedOn(f"{unit} is in {unit.axle.serial} by now. Its work goes on at that axle.")
    if unit.revision is None or getattr(unit.item, "place", None) is None or unit.item.place.where != Where.FLOOR:
        raise Stopped(f"{unit} is {place_words(unit.item)}. Nothing is done on it there.")


def _may_take_up(bench: Bench, slot: Slot, by: Who, paper: OnPaper | None, now: datetime) -> None:
    operation = slot.operation
    require_role_at(by, operation, hands(operation), now)
    assert by.person is not None
    if by.terminal is not None and by.terminal.station.code != operation.station:
        here = by.terminal.station.name
        there = next(found.name for found in bench.card_revision.card.stations if found.code == operation.station)
        raise NotReady(f"Operation {operation.number} belongs to {there}; this terminal stands at {here}.")
    if paper is None:
        require_skill_for(by.person, operation, now)
    elif paper.worked_at > now:
        raise Refusal("That time is still to come. Work on paper is entered after it was done.", field="worked_at")


def _again(a: Act, view: SlotView) -> Visit:
    assert view.visit is not None
    assert a.by.person is not None
    visit = Visit.objects.select_related("operation", "item__unit", "axle__item").get(pk=view.visit.pk)
    a.update(visit, state=VisitState.IN_HAND, claimed_by=a.by.person, terminal=a.by.terminal)
    a.create(Span, visit=visit, person=a.by.person, begun_at=a.now)
    return visit


def _anew(a: Act, stands: AxleStanding, view: SlotView, paper: OnPaper | None) -> Visit:
    _require_ready(view, stands.bench, a.now)
    if paper is not None:
        _require_in_time(stands, view, paper)
    assert a.by.person is not None
    slot = view.slot
    axle = stands.bench.as_axle
    item = Item.objects.select_related("unit").get(pk=stands.item_of(slot))
    operation = _OPERATION.one(revision=stands.bench.card_revision.pk, number=slot.operation.number)
    visit = a.create(
        Visit,
        item=item,
        axle=axle,
        operation=operation,
        number=(view.visit.number if view.visit else 0) + 1,
        state=VisitState.IN_HAND,
        claimed_by=a.by.person,
        terminal=a.by.terminal,
        claimed_at=a.now,
        piece=_piece(view, operation, paper.worked_at if paper else a.now),
        only=_only(view),
        late=paper is not None,
        worked_by=paper.worked_by if paper else None,
        worked_at=paper.worked_at if paper else None,
    )
    _sheets(a, visit, view)
    a.create(Span, visit=visit, person=a.by.person, begun_at=a.now)
    if axle is not None and axle.phase in (Phase.BOOKED, Phase.KITTED):
        a.update(axle, phase=Phase.FLOOR)
    work = work_of(visit)
    compute_at_sight(a, work)
    cited, work = compute_cited(a, work)
    react(a, work, cited)
    give_advice(a, work, sheet_of(work))
    return visit


def _require_ready(view: SlotView, bench: Bench, now: datetime) -> None:
    named = f"Operation {view.slot.operation.number} {view.slot.operation.name}"
    if view.state in (SlotState.READY, SlotState.REDO):
        return
    if view.state is SlotState.IN_HAND and view.visit is not None:
        since = view.visit.since.astimezone(shop_zone())
        raise MovedOn(f"{named} on {bench.serial} is in hand with {view.visit.person} since {since:%H:%M}.")
    if view.state is SlotState.WAIT_TIME and view.ready_at is not None:
        raise NotReady(f"{named} must wait: {view.why.rstrip('.')}. {_left(view.ready_at, now)}")
    if view.state is SlotState.STOPPED:
        raise Stopped(f"{named} is stopped: {view.why} It goes on when somebody with authority has decided.")
    if view.state is SlotState.NOT_YET:
        raise NotReady(f"{named} cannot start yet: {view.why}.")
    raise MovedOn(f"{named} on {bench.serial} is {view.state}.")


def _require_in_time(stands: AxleStanding, view: SlotView, paper: OnPaper) -> None:
    """Work on paper is of the time at which it was done: a look that came too early is no look, however late it is
    entered, and what was done before the work it follows, or before it was opened again, does not count."""
    if reason := next(_too_early(stands, view, paper), ""):
        named = f"Operation {view.slot.operation.number} {view.slot.operation.name}"
        raise NotReady(
            f"{named} on {stands.bench.serial} {reason}; on paper it was done on {_moment(paper.worked_at)}. It is"
            " to do again: take it up now, without paper.",
            field="worked_at",
        )


def _too_early(stands: AxleStanding, view: SlotView, paper: OnPaper) -> Iterator[str]:
    if view.ready_at is not None and paper.worked_at < view.ready_at:
        yield f"had to wait until {_moment(view.ready_at)}"
    passes = [found.pk for key in view.slot.starts_after if (found := stands.slots[key].visit) is not None]
    for before in Visit.objects.filter(pk__in=passes).select_related("operation").order_by("operation__number"):
        if (begun := before.worked_at or before.claimed_at) > paper.worked_at:
            yield f"follows operation {before.operation.number}, which began on {_moment(begun)}"
    last = view.visit.pk if view.visit is not None else None
    for again in Reopening.objects.filter(visit=last, at__gt=paper.worked_at):
        yield f"was opened again on {_moment(again.at)}"


def _moment(at: datetime) -> str:
    return f"{at.astimezone(shop_zone()):%a %d %b %H:%M}"


def _left(ready_at: datetime, now: datetime) -> str:
    minutes = -(-int((ready_at - now).total_seconds()) // 60)
    hours, rest = divmod(minutes, 60)
    left = f"{hours} h {rest:02d} min" if hours else f"{rest} min"
    return f"{left} are left, until {_moment(ready_at)}."


def _only(view: SlotView) -> list[str]:
    return sorted(asked_anew([view.visit.pk])[view.visit.pk]) if view.visit is not None else []


def asked_anew(visits: Collection[int]) -> dict[int, frozenset[str]]:
    """The codes that the pass after each of these asks: those of every row that re-opened it; none, for all, where one
    of them named it whole. One query."""
    rows: dict[int, list[list[str]]] = {visit: [] for visit in visits}
    for visit, only in Reopening.objects.filter(visit__in=visits).values_list("visit_id", "only"):
        rows[visit].append(only)
    return {visit: frozenset().union(*only) if all(only) else frozenset() for visit, only in rows.items()}


def _sheets(a: Act, visit: Visit, view: SlotView) -> None:
    """The pass gets its own sheet; one that asks only some codes again also keeps the sheets of the pass before."""
    if visit.only and view.visit is not None:
        kept = VisitSheet.objects.filter(visit_id=view.visit.pk).order_by("pk").values_list("sheet_id", flat=True)
        a.create_many(VisitSheet, [{"visit": visit, "sheet_id": sheet} for sheet in kept])
    sheet = a.create(Sheet, item=visit.item, opened_at=a.now)
    a.create(VisitSheet, visit=visit, sheet=sheet)


def _piece(view: SlotView, operation: Operation, at: datetime) -> int:
    """A further pass is the same piece: it keeps its number, and with it its samples and its first-piece hold."""
    if view.visit is not None:
        return Visit.objects.get(pk=view.visit.pk).piece
    _lock_count(operation)
    return piece_number(operation, at)


def _lock_count(operation: Operation) -> None:
    """Race: two axles at one station would count the same pieces. The station's row is locked until the pass is
    written, always after the axle, so the second one counts the first. On SQLite the act already holds the only
    write lock. No chain is locked for it: nothing is recorded about a station here."""
    Station.objects.select_for_update(no_key=True).get(pk=operation.station_id)


def piece_number(operation: Operation, at: datetime) -> int:
    """The running number of a new piece per station, shift and model: first passes of the shift in which this moment
    falls. Work on paper is a piece of the shift in which it was done, and of no other."""
    shifts = list(Shift.objects.all())
    begun = shift_start(shifts, at, shop_zone())
    same = Visit.objects.filter(
        Q(worked_at=None, claimed_at__range=(begun, begun + LONGEST_SHIFT))
        | Q(worked_at__range=(begun, begun + LONGEST_SHIFT)),
        number=1,
        operation__number=operation.number,
        operation__station=operation.station,
        operation__revision__model_id=operation.revision.model_id,
    )
    moments = same.values_list("worked_at", "claimed_at")
    return sum(shift_start(shifts, done or entered, shop_zone()) == begun for done, entered in moments) + 1


def set_down(*, visit: Visit, note: str, by: Who, now: datetime | None = None) -> Visit:
    """Interrupt the pass; the next person sees the last position and the note first."""
    note = " ".join(note.split())
    if len(note) > LONGEST_NOTE:
        raise Refusal(f"The note is longer than {LONGEST_NOTE} characters. Shorten it.", field="note")
    with act("operation.set_down", subject=visit.subject, by=by, now=now) as a:
        visit = Visit.objects.select_related("operation", "item__unit", "axle__item", "axle__revision").get(pk=visit.pk)
        require_hand(by, visit, a.now)
        if visit.state != VisitState.IN_HAND:
            raise MovedOn(f"Operation {visit.operation.number} is not in hand: it is {visit.get_state_display()}.")
        work = work_of(visit)
        operation = work.slot.operation
        if not operation.may_set_down:
            raise NotReady(f"Operation {operation.number} may not be set down: {operation.set_down_reason}.")
        where = shorten(str(how_far(work)), LONGEST_PLACE, placeholder=" ...")
        a.update(visit, state=VisitState.SET_DOWN, set_down_note=note, set_down_position=where)
        end_span(a, visit)
        a.note(operation=f"{operation.number} {operation.name}", at=where, note=note)
    return visit


def end_span(a: Act, visit: Visit) -> None:
    running = Span.objects.filter(visit=visit, ended_at=None).first()
    if running is not None:
        a.update(running, ended_at=a.now)
