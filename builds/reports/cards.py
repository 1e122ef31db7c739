"""Build cards as the Revision room shows them: which there are, what stands in one, who runs on it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, Q

from builds.definitions.card import Card, Operation
from builds.definitions.characteristic import Characteristic
from builds.models import Axle, AxleModel, Document, Phase, Revision
from builds.reports.kit import shown
from builds.reports.windows import how_worked_out
from builds.reports.wording import unit_words
from measurements.engineering.limits import plain


def models_with_revisions() -> list[AxleModel]:
    """Every axle model with its revisions, the newest first, each with the number of axles on it."""
    counted = Revision.objects.annotate(
        built=Count("axles"),
        open_axles=Count(
            "axles",
            filter=Q(axles__phase__in=(Phase.BOOKED, Phase.KITTED, Phase.FLOOR), axles__scrapped_at=None),
        ),
    )
    models = list(AxleModel.objects.all())
    for model in models:
        own = counted.filter(model=model).defer("text").order_by("-loaded_at", "-pk")
        model.shown_revisions = list(own)  # type: ignore[attr-defined]
    return models


def axles_on(revision: Revision) -> list[Axle]:
    rows = Axle.objects.filter(revision=revision).select_related("item", "line__order__customer")
    return list(rows.order_by("booked_at", "pk"))


@dataclass(frozen=True)
class OperationView:
    """One operation with what a reader of the card wants to know, in words."""

    operation: Operation
    station: str
    signs: str
    hold: str
    minutes: str
    needs: tuple[str, ...]
    characteristics: tuple[tuple[Characteristic, str, str, str], ...]  # limits, how they came about, reaction in words
    documents: tuple[tuple[str, str, Document | None], ...]  # code, title with revision, attached file


def operation_views(card: Card, attached: Iterable[Document]) -> list[OperationView]:
    files = {(row.operation.number, row.name): row for row in attached}
    titles = {found.code: f"{found.title}, revision {found.revision}" for found in card.documents}
    stations = {station.code: station.name for station in card.stations}
    kinds = {kind.code: kind.name for kind in card.part_kinds}
    return [
        OperationView(
            operation=one,
            station=f"{one.station} {stations.get(one.station, '')}".strip(),
            signs=_words(one.signs),
            hold=_hold(one),
            minutes="–".join(str(count) for count in one.minutes),
            needs=tuple(
                f"{kinds[need.part_kind]}, {shown(need.quantity, need.unit)}"
                + (f" each {' and '.join(need.sides)}" if need.sides else "")
                + (", with the kit" if need.kit else "")
                for need in one.needs
            ),
            characteristics=tuple(
                (found, limits_words(found), how_worked_out(found, card), reaction_words(found))
                for found in one.characteristics
            ),
            documents=tuple((code, titles[code], files.get((one.number, code))) for code in one.documents),
        )
        for one in card.operations
    ]


def limits_words(found: Characteristic) -> str:
    """The limits as a sentence part: "3.0625 to 3.0637 in", "at most 0.04 %", "recorded"."""
    unit = unit_words(found.unit)
    if found.low is not None and found.high is not None:
        said = f"{plain(found.low)} to {plain(found.high)} {unit}"
    elif found.high is not None:
        said = f"at most {plain(found.high)} {unit}"
    elif found.low is not None:
        said = f"at least {plain(found.low)} {unit}"
    else:
        said = " or ".join(found.accepted) if found.accepted else "recorded"
    return said.strip() + (f", never above {plain(found.never_above)}" if found.never_above is not None else "")


def reaction_words(found: Characteristic) -> str:
    if found.recorded_only:
        return ""
    low, high = _reaction(found.on_low), _reaction(found.on_high)
    both = low if low == high or not high else (high if not low else f"low: {low}; high: {high}")
    return ", ".join(word for word in (both, found.reaction) if word)


def _reaction(reaction: object) -> str:
    if reaction is None:
        return ""
    kind = str(getattr(reaction, "kind", ""))
    times, to, rounds = (getattr(reaction, name, 0) for name in ("times", "to", "rounds"))
    if kind == "repeat":
        return f"repeat {times}, then red tag"
    if kind == "back":
        return f"back to {to}, {rounds} rounds"
    return {"tag": "red tag", "stop": "stop the axle", "wait": "wait"}.get(kind, kind)


def _words(roles: Iterable[str]) -> str:
    return " or ".join(role.replace("_", " ") for role in roles)


def _hold(operation: Operation) -> str:
    hold = operation.hold
    if hold is None:
        return ""
    return f"{hold.kind.value.replace('_', ' ')}: {_words(hold.by)}"
