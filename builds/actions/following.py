"""A notice is followed until every touched thing is closed: told, answered, inspected, exchanged; then it is signed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from builds.actions.noticing import MAY_PUT, add_lines, freeze, stop, the_list
from builds.errors import MovedOn, NotSignable, Stopped
from builds.models import Notice, NoticeClosing, NoticeLine, NoticeRevision, NoticeStep, NoticeStop, RedTag, StepKind
from builds.reports.notices.difference import difference
from builds.reports.notices.frozen import FrozenRow, frozen_rows, rows_now
from builds.reports.notices.standing import LineView, NoticeView, view_of
from builds.reports.notices.touched import Touched
from builds.reports.reach.question import typed_again
from shop import entries
from shop.actions.signing import Grant, signature
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.models import Signature
from shop.record.who import Who

FOLLOWERS = (Role.OFFICE, Role.MANAGER, Role.QUALITY, Role.ENGINEER, Role.INSPECTOR)
CLOSERS = (Role.QUALITY, Role.ENGINEER)
LONGEST_NOTE = 300
#: So many open things are named to somebody who would close a notice.
MOST_NAMED = 8
_OF_A_PERSON = (StepKind.TOLD, StepKind.ANSWERED)


@dataclass(frozen=True)
class Step:
    """What was done, on which day, and what there is to say of it."""

    kind: str
    on: date
    note: str = ""


def take_step(*, notice: Notice, lines: Sequence[int], step: Step, by: Who, now: datetime | None = None) -> int:
    """Put one step on record for each of these lines. Returns how many."""
    if not lines:
        raise Refusal("Choose at least one line that this was done for.", field="lines")
    if step.kind not in StepKind.values:
        raise Refusal("Choose what was done: told, answered, inspected, exchanged or closed.", field="kind")
    on = entries.day(step.on, "day", field="on")
    note = entries.line(step.note, "note", longest=LONGEST_NOTE, field="note", may_be_empty=True)
    if step.kind == StepKind.CLOSED and not note:
        raise Refusal("Say how it was closed. In a year nobody knows.", field="note")
    axles = NoticeLine.objects.filter(pk__in=lines, is_axle=True).select_related("axle__item")
    also = sorted({line.axle.subject for line in axles if line.axle is not None})
    with act("notice.step", subject=notice.subject, by=by, now=now, also=also) as a:
        require_role(by, FOLLOWERS, shop_day(a.now))
        if on > shop_day(a.now):
            raise Refusal(f"{on} is still to come. Enter what was done when it is done.", field="on")
        view = view_of_open(notice)
        found = [_line(view, pk) for pk in dict.fromkeys(lines)]
        for one in found:
            _may_step(one, step.kind)
        a.create_many(
            NoticeStep,
            [
                {"line": one.line, "kind": step.kind, "on": on, "note": note, "person": by.person, "at": a.now}
                for one in found
            ],
        )
        a.note(step=step.kind, on=on.isoformat(), lines=[one.row.mark for one in found])
    return len(found)


def view_of_open(notice: Notice) -> NoticeView:
    """The notice as it stands under the lock. Refuses a closed one."""
    view = view_of(notice)
    if view.closing is not None:
        raise Stopped(f"Notice {notice.number} is closed. What is found later is put on record as a new notice.")
    return view


def _line(view: NoticeView, pk: int) -> LineView:
    for one in view.lines:
        if one.line.pk == pk:
            return one
    raise Refusal("That line is not of this notice. Load the page again.", field="lines")


def _may_step(view: LineView, kind: str) -> None:
    name = f"{view.row.what} {view.row.mark}"
    if view.tags:
        tag = (view.undecided or list(view.tags))[0]
        raise Refusal(f"{name} is stopped by red tag {tag.number}. It is decided there.", field="lines")
    if not view.is_open:
        raise MovedOn(f"{name} is closed already. Look at the page again.", field="lines")
    if kind in _OF_A_PERSON and not view.at_consignee:
        raise Refusal(f"{name} is at nobody who could be told or answer.", field="kind")
    told = any(step.kind == StepKind.TOLD for step in view.steps)
    if kind == StepKind.CLOSED and view.at_consignee and not told:
        raise Refusal(f"{view.row.consignee} was not told about {view.row.mark} yet. Tell, then close.", field="kind")


def close_notice(*, notice: Notice, reason: str, grant: Grant, by: Who, now: datetime | None = None) -> NoticeClosing:
    """Sign that nothing of the notice is open any more. Refuses while one touched thing is."""
    reason = entries.line(reason, "reason", longest=LONGEST_NOTE, field="reason")
    with act("notice.closed", subject=notice.subject, by=by, now=now) as a:
        require_role(by, CLOSERS, shop_day(a.now))
        if still := view_of_open(notice).open_lines:
            named = [f"{one.row.what} {one.row.mark}: {one.state}." for one in still[:MOST_NAMED]]
            more = [f"And {len(still) - MOST_NAMED} more."] if len(still) > MOST_NAMED else []
            raise NotSignable([*named, *more])
        signed = signature(a, grant, Signature.Meaning.RELEASED)
        a.note(reason=reason)
        return a.create(NoticeClosing, notice=notice, reason=reason, signature=signed, at=a.now)


def take_on(*, notice: Notice, by: Who, now: datetime | None = None) -> NoticeRevision:
    """Draw the list again, freeze it as the next revision, and stop what came into the house's part of it.

    What is no longer on the list keeps its line: a person closes it.
    """
    with (
        the_list(typed_again(notice.asked), now) as drawn,
        act("notice.drawn_again", subject=notice.subject, by=by, now=now) as a,
    ):
        require_role(by, MAY_PUT, shop_day(a.now))
        view = view_of_open(notice)
        before = frozen_rows(view.newest)
        changed = difference(before, rows_now(drawn.touched))
        if not changed:
            raise Refusal("Nothing has changed since the list was drawn last. There is nothing to take on.")
        revision = freeze(a, notice, view.newest.number + 1, drawn.touched, by)
        lines = {one.line.key: one.line for one in view.lines}
        new = [one for one in drawn.touched if one.key not in lines]
        lines |= add_lines(a, notice, revision, new)
        come_in = _come_in(notice, before, drawn.touched)
        stop(a, notice, {lines[one.key]: one for one in come_in})
        a.note(added=len(changed.added), gone=len(changed.gone), moved=len(changed.moved))
        return revision


def _come_in(notice: Notice, before: Sequence[FrozenRow], touched: Sequence[Touched]) -> list[Touched]:
    """In the house now, not so on the list before, and not stopped by this notice already."""
    was_in = {row.key for row in before if row.inside}
    undecided = RedTag.objects.open().values("pk")
    stopped = set(NoticeStop.objects.filter(line__notice=notice, tag__in=undecided).values_list("line__key", flat=True))
    return [one for one in touched if one.inside and one.key not in was_in | stopped]
