"""What hangs on the visits of one axle: signatures, photos, welds, what was done again; its kit, the units that left it
and those whose work is older than the axle. One statement.

Nine small questions that the axle file always asks together; asked apart, each costs more to build than to answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db.models import BooleanField, Case, F, QuerySet, Value, When

from builds.models import Axle, Done, Hold, KitLine, Parted, Photo, Reopening, Visit, Weld, role_and_side
from builds.reports.units import Ahead
from shop.models import Where
from shop.models.people import short_name
from shop.models.prepared import PreparedValues, number

Shown = dict[str, Any]
_VISIT = (F("visit__operation__number"), F("visit__operation__name"), F("visit__number"))
_NOTHING, _NO = Value(""), Value(False, BooleanField())
_WORDS = 5


@dataclass
class AtVisits:
    """Rows of each kind in the order they were written, signatures by their time, a doer's before that of the hold.

    `aside`: (host, role) of every need that has something in the kit. Photos are shaped as `_photos.html` reads them.
    """

    signatures: list[Shown] = field(default_factory=list)
    photos: list[Shown] = field(default_factory=list)
    welds: list[Shown] = field(default_factory=list)
    reopened: list[Shown] = field(default_factory=list)
    aside: set[tuple[int, str]] = field(default_factory=set)
    left: dict[int, Shown] = field(default_factory=dict)
    ahead: dict[int, Ahead] = field(default_factory=dict)


@dataclass(frozen=True)
class _Row:
    """A row of any of the nine; what its words are depends on its kind. `item`: of a signature the pass."""

    kind: str
    pk: int
    at: datetime
    item: int
    operation: int
    name: str
    number: int
    person: str
    words: tuple[str, ...]
    late: bool
    repair: bool


def at_visits(axle: Axle) -> AtVisits:
    found = AtVisits()
    for row in sorted(_rows(axle), key=lambda row: row.pk):
        _PLACE[row.kind](found, row)
    found.signatures.sort(key=lambda row: (row["at"], row["as"] == "hold"))
    return found


def _rows(axle: Axle) -> Iterable[_Row]:
    for row in _ROWS.all(axle=axle.pk):
        kind, pk, at, item, operation, name, passed, person, *words, late, repair = row
        yield _Row(kind, pk, at, item, operation, name, passed, person, tuple(words), late, repair)


def _union() -> QuerySet[Any, tuple[Any, ...]]:
    # A signature stands under the pass it was given for; of the others it counts on which item they were done.
    visit, signed = (F("visit__item_id"), *_VISIT), (F("signature__at"), F("visit_id"), *_VISIT)
    signer, meaning = F("signature__person__name"), F("signature__meaning")
    weld = (F("joint"), F("item__mark"), F("procedure__code"), F("procedure__revision"), F("wire__mark"))
    repair = Case(When(repairs__isnull=False, then=Value(True)), default=_NO)
    kitted = (F("kitted_at"), F("host_id"), Value(0), _NOTHING, Value(0), _NOTHING)
    unit = (F("unit_id"), Value(0), F("unit__item__mark"), Value(0))
    parted = (F("unit__role"), F("side"), F("reason"), F("to"), F("unit__axle__item__mark"))
    taken_up = (F("claimed_at"), F("item_id"), F("operation__number"), F("item__mark"), F("number"), _NOTHING)
    older = Visit.objects.filter(axle=number("axle"), claimed_at__lt=F("axle__booked_at"))
    axle = number("axle")
    of_axle = {"visit__axle": axle}
    first, *others = (
        _asked(Done.objects.filter(**of_axle), "signature", (*signed, signer), (F("part"), meaning, F("without"))),
        _asked(Hold.objects.filter(**of_axle), "signature", (*signed, signer), (Value("hold"), meaning)),
        _asked(Reopening.objects.filter(**of_axle), "reopened", (F("at"), *visit, _NOTHING), (F("cause"), F("reason"))),
        _asked(Photo.objects.filter(**of_axle), "photo", (F("at"), *visit, F("person__name")), (F("name"),)),
        _asked(
            Weld.objects.filter(**of_axle),
            "weld",
            (F("ended_at"), F("item_id"), *_VISIT, F("welder__name")),
            weld,
            (F("late"), repair),
        ),
        _asked(KitLine.objects.filter(axle=axle, returned_at=None), "kit", kitted, (F("role"),)),
        _asked(Parted.objects.filter(axle=axle, withdrawn=False), "since", (F("since"), *unit, _NOTHING), (F("side"),)),
        _asked(Parted.objects.filter(axle=axle, withdrawn=False), "left", (F("at"), *unit, F("person__name")), parted),
        _asked(older, "ahead", taken_up, (F("item__unit__role"), F("item__unit__side"))),
    )
    return first.union(*others, all=True)


_ROWS = PreparedValues(_union)


def _asked(
    rows: QuerySet[Any],
    kind: str,
    about: tuple[Any, ...],
    words: tuple[Any, ...],
    flags: tuple[Any, ...] = (_NO, _NO),
) -> QuerySet[Any, tuple[Any, ...]]:
    """Every kind has the columns of `_Row`, so that they can be one statement."""
    filled = (*words, *[_NOTHING] * (_WORDS - len(words)))
    return rows.order_by().values_list(Value(kind), F("pk"), *about, *filled, *flags)


def _signature(found: AtVisits, row: _Row) -> None:
    found.signatures.append(
        {
            "operation": f"{row.operation} {row.name}",
            "visit": row.item,
            "pass": row.number,
            "as": row.words[0],
            "meaning": row.words[1],
            "without": row.words[2].split("\n") if row.words[2] else [],
            "who": row.person,
            "at": row.at,
        }
    )


def _photo(found: AtVisits, row: _Row) -> None:
    visit = {"operation": {"number": row.operation, "name": row.name}, "item_id": row.item}
    person = {"short_name": short_name(row.person)}
    found.photos.append({"pk": row.pk, "visit": visit, "name": row.words[0], "person": person, "at": row.at})


def _weld(found: AtVisits, row: _Row) -> None:
    joint, mark, code, revision, wire = row.words
    found.welds.append(
        {
            "operation": row.operation,
            "item": row.item,
            "joint": joint,
            "mark": mark,
            "procedure": f"{code} rev {revision}",
            "welder": row.person,
            "wire": wire or "",
            "at": row.at,
            "late": row.late,
            "repair": row.repair,
        }
    )


def _reopened(found: AtVisits, row: _Row) -> None:
    cause, reason = row.words[:2]
    found.reopened.append(
        {"operation": row.operation, "pass": row.number, "cause": cause, "reason": reason, "at": row.at}
    )


def _kit(found: AtVisits, row: _Row) -> None:
    found.aside.add((row.item, row.words[0]))


def _since(found: AtVisits, row: _Row) -> None:
    found.left.setdefault(row.pk, {})["since"] = row.at


def _left(found: AtVisits, row: _Row) -> None:
    role, side, reason, to, now_in = row.words
    found.left.setdefault(row.pk, {}).update(
        item=row.item,
        mark=row.name,
        words=role_and_side(role, side),
        reason=reason,
        went=Where(to).label,
        now_in=now_in or "",
        until=row.at,
        who=row.person,
    )


def _ahead(found: AtVisits, row: _Row) -> None:
    """Rows come in the order in which the passes were taken up."""
    found.ahead.setdefault(row.item, Ahead(row.name, role_and_side(*row.words[:2]), row.at))


_PLACE: dict[str, Callable[[AtVisits, _Row], None]] = {
    "signature": _signature, "photo": _photo, "weld": _weld, "reopened": _reopened, "kit": _kit,
    "since": _since, "left": _left, "ahead": _ahead,
}  # fmt: skip
