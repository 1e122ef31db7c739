"""What the page of a notice counts of every line, and the lines of one page of it.

A notice may have thousands of lines. What is counted takes a few facts of each; names, steps and red tags are fetched
for the lines that are shown. Letters and the CSV hold every line and go by `standing.view_of`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from builds.models import Notice, NoticeClosing, NoticeRevision, NoticeStep, NoticeStop, StepKind
from builds.reports.notices.frozen import FrozenRow, frozen_rows
from builds.reports.notices.standing import LineView, is_at_consignee, lines_of, reminder
from builds.reports.reach.answer import Spot

#: Lines of one page; a notice of no more than so many is shown whole.
PER_PAGE, WHOLE = 50, 200
STOPPED, OTHERS = "stopped", "others"
STATES = ("open", "closed")


class Brief(NamedTuple):
    """One line. `stopped`: a red tag lies on it."""

    pk: int
    customer: int | None
    row: FrozenRow
    stopped: bool
    is_open: bool
    remind_on: date | None


@dataclass(frozen=True)
class Part:
    """What is stopped, what one consignee has, or the rest; `key` stands for it in an address."""

    key: str
    name: str
    lines: tuple[Brief, ...]

    @property
    def open(self) -> int:
        return sum(line.is_open for line in self.lines)

    @property
    def letter(self) -> bool:
        return self.key not in (STOPPED, OTHERS)

    def of_state(self, state: str) -> tuple[Brief, ...]:
        if state not in STATES:
            return self.lines
        return tuple(line for line in self.lines if line.is_open == (state == "open"))


@dataclass(frozen=True)
class BriefView:
    notice: Notice
    revisions: tuple[NoticeRevision, ...]
    lines: tuple[Brief, ...]
    newest: frozenset[str]
    closing: NoticeClosing | None

    @property
    def open(self) -> int:
        return sum(line.is_open for line in self.lines)

    @property
    def counts(self) -> list[tuple[Spot, int, int]]:
        """Of each place: how many, and how many of these are open."""
        found: dict[Spot, list[Brief]] = defaultdict(list)
        for line in self.lines:
            found[line.row.place].append(line)
        return [(spot, len(found[spot]), sum(line.is_open for line in found[spot])) for spot in Spot]

    @property
    def parts(self) -> list[Part]:
        """What is stopped, the consignees by name (two customers are never together), and the others."""
        stopped, others = [], []
        groups: dict[tuple[int | None, str], list[Brief]] = defaultdict(list)
        for line in self.lines:
            if line.stopped:
                stopped.append(line)
            elif is_at_consignee(line.row):
                groups[line.customer, line.row.consignee].append(line)
            else:
                others.append(line)
        out = [
            Part(str(min(line.pk for line in found)), name, tuple(found))
            for (_, name), found in sorted(groups.items(), key=lambda one: one[0][1])
        ]
        return [Part(STOPPED, "what is stopped", tuple(stopped)), *out, Part(OTHERS, "the others", tuple(others))]

    def late(self, today: date) -> list[Brief]:
        """Open at a consignee beyond the shop's own reminder."""
        return [line for line in self.lines if line.is_open and line.remind_on is not None and line.remind_on <= today]


def brief_of(notice: Notice) -> BriefView:
    """Five statements, and one for each revision's list; however many lines there are."""
    revisions = tuple(notice.revisions.select_related("person"))
    known: dict[str, FrozenRow] = {}
    newest: frozenset[str] = frozenset()
    for revision in revisions:
        rows = {row.key: row for row in frozen_rows(revision)}
        known, newest = known | rows, frozenset(rows)
    decided: dict[int, list[bool]] = defaultdict(list)
    tags = NoticeStop.objects.filter(line__notice=notice).values_list("line", "tag__disposition")
    for line, disposition in tags:
        decided[line].append(disposition is not None)
    steps = NoticeStep.objects.filter(line__notice=notice).order_by("pk").values_list("line", "kind", "on")
    closed, last = set(), {}
    for line, kind, on in steps:
        last[line] = on
        if kind == StepKind.CLOSED:
            closed.add(line)
    lines = [
        Brief(
            pk, customer, known[key], pk in decided,
            not all(decided[pk]) if pk in decided else pk not in closed, reminder(notice, known[key], last.get(pk)),
        )
        for pk, key, customer in notice.lines.values_list("pk", "key", "customer")
    ]  # fmt: skip
    order = {key: place for place, key in enumerate(known)}
    closing = NoticeClosing.objects.filter(notice=notice).select_related("signature__person").first()
    lines.sort(key=lambda line: order[line.row.key])
    return BriefView(notice, revisions, tuple(lines), newest, closing)


def shown(view: BriefView, lines: Sequence[Brief]) -> list[LineView]:
    """These lines with their red tags, steps and names, in this order. Four statements."""
    known = {line.row.key: line.row for line in lines}
    views = lines_of(view.notice, known, view.newest, only=[line.pk for line in lines])
    found = {one.line.pk: one for one in views}
    return [found[line.pk] for line in lines]
