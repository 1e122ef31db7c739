"""A notice: freeze a reach list as of now, and stop every touched thing in the house at once, by the red tag there is.

While it is put on record every axle in the house is held still: a lot has no lock of its own, and one that is just
being fitted would otherwise be in an axle that no list names. Whoever comes after meets the red tag.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max
from django.utils import timezone

from builds.actions.attaching import keep_file
from builds.actions.stopping import Bad, stop_all
from builds.actions.tagging import NUMBERS
from builds.errors import MovedOn
from builds.models import Axle, Notice, NoticeLine, NoticeRevision, NoticeStop
from builds.reports.notices.frozen import LIST_TYPE, frozen_list
from builds.reports.notices.saying import require_plain
from builds.reports.notices.touched import OUTSIDE, Touched, touched_of
from builds.reports.reach.cause import Question
from builds.reports.reach.found import reach
from builds.reports.reach.question import Typed, question_of
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Role
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.still import held_still
from shop.record.who import Who

MAY_PUT = (Role.QUALITY, Role.ENGINEER, Role.MANAGER)
NOTICES = "counter:notices"
LONGEST_FOUND, LONGEST_ASK, LONGEST_WORDS = 300, 600, 400


@dataclass(frozen=True)
class Says:
    """What every consignee reads: what was found, and what they are asked to do."""

    found: str
    ask: str


@dataclass(frozen=True)
class _Drawn:
    """The list as it stands while everything is held still."""

    question: Question
    touched: Sequence[Touched]


def put_on_record(*, typed: Typed, says: Says, by: Who, now: datetime | None = None) -> Notice:
    """Freeze the list that this question draws now, and stop everything of it that is in the house."""
    says = Says(
        require_plain(says.found, "finding", longest=LONGEST_FOUND, field="found"),
        require_plain(says.ask, "request", longest=LONGEST_ASK, field="ask"),
    )
    with the_list(typed, now) as drawn:
        number = (Notice.objects.aggregate(last=Max("number"))["last"] or 0) + 1
        with act("notice.opened", subject=f"notice:{number}", by=by, now=now) as a:
            require_role(by, MAY_PUT, shop_day(a.now))
            if not drawn.touched:
                raise Refusal("Nothing on record was touched by this, so there is nothing to put on record.")
            assert by.person is not None, "require_role lets the system pass; a notice is a person's"
            notice = a.create(
                Notice,
                number=number,
                asked=typed.kept(),
                words=words_of(drawn.question),
                found=says.found,
                ask=says.ask,
                opened_by=by.person,
                opened_at=a.now,
            )
            revision = freeze(a, notice, 1, drawn.touched, by)
            lines = add_lines(a, notice, revision, drawn.touched)
            stop(a, notice, {lines[one.key]: one for one in drawn.touched if one.inside})
        return notice


def words_of(question: Question) -> str:
    """The causes in words, with their days."""
    joined = {"either": " or ", "both": " and ", "same": " and, at the same work, "}[question.together]
    first = question.causes[0]
    days = [
        f"{word} {day.isoformat()}" for word, day in (("from", first.day_from), ("to", first.day_to)) if day is not None
    ]
    words = ", ".join([joined.join(cause.words for cause in question.causes), *days])
    return words if len(words) <= LONGEST_WORDS else f"{words[: LONGEST_WORDS - 1]}…"


@contextmanager
def the_list(typed: Typed, now: datetime | None) -> Iterator[_Drawn]:
    """The list drawn while every axle in the house, then every touched thing, is held still.

    Race: what is being fitted at this moment holds its axle; it is waited for and then stands on the list. What is
    fitted later finds the red tag. A loose thing that came on the list meanwhile is not held, and is refused: press
    once more.
    """
    at = now or timezone.now()
    # Drawn once before anybody has to wait: it says which chains are to be held besides the axles.
    first = {subject for one in touched_of(reach(question_of(typed, at))) for subject in _subjects(one)}
    house = _axles_in_the_house()
    with (
        held_still([*house, NOTICES], "an axle in the house"),
        held_still([NUMBERS, *first], "one of the touched things"),
    ):
        question = question_of(typed, at)
        touched = touched_of(reach(question))
        if {subject for one in touched for subject in _subjects(one)} - first.union(house):
            raise MovedOn("Another thing was touched at this very moment. Nothing was saved; press once more.")
        yield _Drawn(question, touched)


def _axles_in_the_house() -> list[str]:
    rows = Axle.objects.exclude(phase__in=OUTSIDE).select_related("item").only("item")
    return [axle.subject for axle in rows]


def _subjects(one: Touched) -> Collection[str]:
    """The chains that a stop writes in: the axle's own, or the thing's."""
    if not one.inside:
        return ()
    if one.row.is_axle:
        return (one.axle.subject,) if one.axle is not None else ()
    return (one.item.subject,) if one.item is not None else ()


def freeze(a: Act, notice: Notice, number: int, touched: Sequence[Touched], by: Who) -> NoticeRevision:
    """Keep the list of this revision as canonical JSON."""
    content = frozen_list(
        number=notice.number, revision=number, words=notice.words, asked=notice.asked, touched=touched, at=a.now
    )
    sha256 = hashlib.sha256(content).hexdigest()
    keep_file(sha256, content, LIST_TYPE)
    a.note(revision=number, sha256=sha256, rows=len(touched))
    assert by.person is not None
    return a.create(NoticeRevision, notice=notice, number=number, sha256=sha256, person=by.person, at=a.now)


def add_lines(a: Act, notice: Notice, revision: NoticeRevision, touched: Sequence[Touched]) -> dict[str, NoticeLine]:
    """A line for each thing, by its key."""
    rows = a.create_many(
        NoticeLine,
        [
            {
                "notice": notice, "revision": revision, "key": one.key, "spot": one.row.spot.key,
                "what": one.row.what[:80], "item_id": one.row.item, "axle_id": one.axle_key, "is_axle": one.row.is_axle,
                "customer_id": one.customer, "consignee": one.row.consignee,
            }
            for one in touched
        ],
    )  # fmt: skip
    return {row.key: row for row in rows}


def stop(a: Act, notice: Notice, lines: Mapping[NoticeLine, Touched]) -> None:
    """A red tag on each of these, which only a signed decision lifts."""
    cause = " ".join(f"Notice {notice.number}: {notice.found}".split())
    tags = stop_all(a, [_bad(one) for one in lines.values()], cause)
    a.create_many(NoticeStop, [{"line": line, "tag": tag} for line, tag in zip(lines, tags, strict=True)])
    a.note(stopped=len(tags))


def _bad(one: Touched) -> Bad:
    if one.row.is_axle:
        assert one.axle is not None
        return Bad(one.axle.item, one.axle)
    assert one.item is not None, "what is stopped is in the house"
    return Bad(one.item)
