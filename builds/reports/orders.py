"""Orders as the office sees them: what was promised, what is booked, where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from builds.models import Axle, Line, Order, Phase, Revision, RevisionState
from builds.reports.wording import date_words

_GONE = (Phase.GONE, Phase.BACK)


@dataclass(frozen=True)
class LineView:
    line: Line
    options: tuple[tuple[str, str], ...]  # label of the axis, label of the value
    axles: tuple[Axle, ...]

    @property
    def booked(self) -> int:
        return sum(axle.scrapped_at is None for axle in self.axles)

    @property
    def free(self) -> int:
        return self.line.quantity - self.booked

    @property
    def gone(self) -> int:
        return sum(axle.phase in _GONE for axle in self.axles)


@dataclass(frozen=True)
class OrderView:
    order: Order
    lines: tuple[LineView, ...]

    @property
    def quantity(self) -> int:
        return sum(view.line.quantity for view in self.lines)

    @property
    def booked(self) -> int:
        return sum(view.booked for view in self.lines)

    @property
    def gone(self) -> int:
        return sum(view.gone for view in self.lines)

    @property
    def promised(self) -> str:
        """From the earliest to the latest promise of all lines."""
        if not self.lines:
            return ""
        first = min(view.line.promised_from for view in self.lines)
        last = max(view.line.promised_to for view in self.lines)
        return f"{date_words(first, year=True)} to {date_words(last, year=True)}"


def order_views(orders: Sequence[Order]) -> list[OrderView]:
    """Two queries, however many orders."""
    lines: dict[int, list[Line]] = {}
    rows = Line.objects.filter(order__in=orders).select_related("order", "revision__model").defer("revision__text")
    for line in rows.order_by("number"):
        lines.setdefault(line.order_id, []).append(line)
    axles: dict[int, list[Axle]] = {}
    booked = Axle.objects.filter(line__order__in=orders).select_related("item", "takes_place_of__item")
    for axle in booked.order_by("item__mark"):
        axles.setdefault(axle.line_id, []).append(axle)
    return [
        OrderView(
            order,
            tuple(
                LineView(line, option_words(line.revision, line.options), tuple(axles.get(line.pk, ())))
                for line in lines.get(order.pk, ())
            ),
        )
        for order in orders
    ]


def option_words(revision: Revision, chosen: dict[str, str]) -> tuple[tuple[str, str], ...]:
    """The chosen options as a person reads them."""
    found = []
    for option in revision.card.options:
        value = option.value(chosen.get(option.axis, option.default))
        found.append((option.label, value.label if value else chosen.get(option.axis, "")))
    return tuple(found)


def for_sale() -> list[Revision]:
    """The newest released revision of every model."""
    released = Revision.objects.filter(state=RevisionState.RELEASED).select_related("model").defer("text")
    newest: dict[int, Revision] = {}
    for revision in released.order_by("model__name", "-released_at", "-pk"):
        newest.setdefault(revision.model_id, revision)
    return list(newest.values())
