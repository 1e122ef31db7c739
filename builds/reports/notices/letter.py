"""The letter to one consignee: their own axles, what was found, what to do. Nobody else's, and nobody of the shop."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from builds.models import Notice
from builds.reports.notices.standing import LineView, NoticeView, view_of
from builds.reports.reach.answer import Spot
from shop.models import Paper


@dataclass(frozen=True)
class LetterAxle:
    """`doubtful`: it cannot be shown that what was found is not in it."""

    serial: str
    model: str
    order: str
    reference: str
    sent_on: datetime | None
    doubtful: bool


@dataclass(frozen=True)
class Letter:
    """`at`: when the list that it is drawn from was frozen, so that the same letter is the same bytes."""

    notice: Notice
    consignee: str
    address: str
    paper: str
    revision: int
    at: datetime
    axles: tuple[LetterAxle, ...]


def letter_of(notice: Notice, key: int) -> Letter | None:
    """The letter that this key names (see `Consignee`); None where there is none."""
    view = view_of(notice)
    group = next((one for one in view.consignees if one.key == key), None)
    if group is None:
        return None
    customer = group.lines[0].line.customer
    address = next((one.row.address for one in group.lines if one.row.address), customer.address if customer else "")
    paper = customer.paper if customer else Paper.A4
    axles = tuple(_axle(one) for one in sorted(group.lines, key=lambda one: one.row.axle))
    return Letter(notice, group.name, address, str(paper), *_list(view), axles)


def _list(view: NoticeView) -> tuple[int, datetime]:
    return view.newest.number, view.newest.at


def _axle(one: LineView) -> LetterAxle:
    axle = one.line.axle
    assert axle is not None
    order = axle.line.order
    doubtful = one.row.spot == Spot.UNKNOWN.key
    return LetterAxle(
        axle.serial, axle.revision.model.name, order.number, order.customer_reference, one.row.on, doubtful
    )
