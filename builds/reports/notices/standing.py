"""How a notice stands: every line with its place, its red tags and its steps, and what is still open."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.conf import settings
from django.db.models import Count, Q, QuerySet

from builds.models import Notice, NoticeClosing, NoticeLine, NoticeRevision, NoticeStep, RedTag, StepKind
from builds.reports.notices.frozen import FrozenRow, frozen_rows
from builds.reports.reach.answer import Spot
from shop.clock import shop_day
from shop.lists import CsvList


@dataclass(frozen=True)
class LineView:
    """One touched thing. `row`: as the newest list that names it says; `on_list`: whether that is the newest one."""

    line: NoticeLine
    row: FrozenRow
    on_list: bool
    tags: tuple[RedTag, ...]
    steps: tuple[NoticeStep, ...]
    remind_on: date | None = None

    @property
    def is_open(self) -> bool:
        return still_open(self.tags, self.steps)

    @property
    def undecided(self) -> list[RedTag]:
        return [tag for tag in self.tags if not hasattr(tag, "disposition")]

    @property
    def at_consignee(self) -> bool:
        return is_at_consignee(self.row)

    @property
    def state(self) -> str:
        """One word of how it stands."""
        if not self.is_open:
            return "closed"
        if self.tags:
            return "stopped"
        return str(self.steps[-1].get_kind_display()) if self.steps else "open"


def is_at_consignee(row: FrozenRow) -> bool:
    """An axle that is touched itself and is not in the house: there is a letter about it."""
    return row.is_axle and not row.inside and row.spot in (Spot.SHIPPED.key, Spot.UNKNOWN.key)


def still_open(tags: Sequence[RedTag], steps: Sequence[NoticeStep]) -> bool:
    """What was stopped is open until each red tag is decided; what was not, until somebody closes it."""
    if tags:
        return any(not hasattr(tag, "disposition") for tag in tags)
    return all(step.kind != StepKind.CLOSED for step in steps)


@dataclass(frozen=True)
class Consignee:
    """Who has touched axles: one letter. `key`: the line that names the letter in its address."""

    name: str
    lines: tuple[LineView, ...]

    @property
    def key(self) -> int:
        return min(view.line.pk for view in self.lines)

    @property
    def letter(self) -> bool:
        return any(view.at_consignee for view in self.lines)

    @property
    def open_lines(self) -> list[LineView]:
        return [view for view in self.lines if view.is_open]


@dataclass(frozen=True)
class NoticeView:
    notice: Notice
    revisions: tuple[NoticeRevision, ...]
    lines: tuple[LineView, ...]
    closing: NoticeClosing | None

    @property
    def newest(self) -> NoticeRevision:
        return self.revisions[-1]

    @property
    def open_lines(self) -> list[LineView]:
        return [view for view in self.lines if view.is_open]

    @property
    def consignees(self) -> list[Consignee]:
        """One for each customer and consignee: two customers are never on one letter."""
        groups: dict[tuple[int | None, str], list[LineView]] = {}
        for view in self.lines:
            if view.at_consignee and not view.tags:
                groups.setdefault((view.line.customer_id, view.row.consignee), []).append(view)
        return [Consignee(name, tuple(found)) for (_, name), found in sorted(groups.items(), key=lambda one: one[0][1])]


def view_of(notice: Notice) -> NoticeView:
    """Five statements, and one for each revision's list."""
    revisions = tuple(notice.revisions.select_related("person"))
    rows = [{row.key: row for row in frozen_rows(revision)} for revision in revisions]
    newest, known = rows[-1], {key: row for found in rows for key, row in found.items()}
    views = lines_of(notice, known, newest)
    order = {key: place for place, key in enumerate(known)}
    closing = NoticeClosing.objects.filter(notice=notice).select_related("signature__person").first()
    return NoticeView(notice, revisions, tuple(sorted(views, key=lambda view: order[view.line.key])), closing)


def lines_of(
    notice: Notice, known: Mapping[str, FrozenRow], newest: Collection[str], only: Sequence[int] | None = None
) -> list[LineView]:
    """The lines with all that hangs on them, in no order. `only`: those with these keys."""
    named = ("item", "customer", "axle__item", "axle__line__order", "axle__revision__model")
    # A card's text is a hundred kilobytes: it would be fetched once for every line.
    kept = notice.lines.select_related(*named).defer("axle__revision__text")
    lines = (kept if only is None else kept.filter(pk__in=only)).prefetch_related(
        "stops__tag__disposition", "steps__person"
    )
    return [
        LineView(
            line,
            known[line.key],
            line.key in newest,
            tuple(stop.tag for stop in line.stops.all()),
            steps := tuple(sorted(line.steps.all(), key=lambda step: step.pk)),
            reminder(notice, known[line.key], steps[-1].on if steps else None),
        )
        for line in lines
    ]


def reminder(notice: Notice, row: FrozenRow, last: date | None) -> date | None:
    """So many days after the last step, by the shop's own setting: no deadline in law."""
    if not is_at_consignee(row):
        return None
    return (last or shop_day(notice.opened_at)) + timedelta(days=settings.NOTICE_REMINDER_DAYS)


@dataclass(frozen=True)
class NoticeRow:
    notice: Notice
    lines: int
    open: int
    closed: bool


def notice_rows() -> list[NoticeRow]:
    """All notices, the newest first."""
    rows = Notice.objects.select_related("opened_by").order_by("-number")
    closed = set(NoticeClosing.objects.values_list("notice_id", flat=True))
    counts = dict(_lines().values_list("notice").annotate(count=Count("pk")))
    open_counts = dict(open_lines().values_list("notice").annotate(count=Count("pk")))
    return [NoticeRow(row, counts.get(row.pk, 0), open_counts.get(row.pk, 0), row.pk in closed) for row in rows]


def _lines() -> QuerySet[NoticeLine]:
    return NoticeLine.objects.order_by()


def open_lines() -> QuerySet[NoticeLine]:
    """As `still_open` says, asked of the database."""
    undecided = NoticeLine.objects.filter(stops__tag__disposition=None, stops__isnull=False).values("pk")
    done = NoticeStep.objects.filter(kind=StepKind.CLOSED).values("line")
    return _lines().filter(Q(pk__in=undecided) | (Q(stops__isnull=True) & ~Q(pk__in=done))).distinct()


def notice_list(rows: Sequence[NoticeRow]) -> CsvList:
    lines = [
        (row.notice.number, row.notice.opened_at, row.notice.words, row.notice.found, row.lines, row.open, row.closed)
        for row in rows
    ]
    return CsvList("notices", ("notice", "on record", "cause", "found", "touched", "open", "closed"), lines)


def line_list(view: NoticeView) -> CsvList:
    head = ("place", "what", "mark", "axle", "where", "order", "consignee", "state", "red tags", "steps", "remind on")
    lines = [
        (
            one.row.place, one.row.what, one.row.mark, one.row.axle, one.row.where, one.row.order, one.row.consignee,
            one.state, " ".join(str(tag.number) for tag in one.tags),
            " | ".join(f"{step.get_kind_display()} {step.on} {step.note}".strip() for step in one.steps),
            one.remind_on if one.is_open else None,
        )
        for one in view.lines
    ]  # fmt: skip
    return CsvList(f"notice-{view.notice.number}", head, lines)
