"""Everything known of one serial, in lean rows: a constant number of queries however much was read."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from builds.models import Axle, RedTag, Unit, VisitState
from builds.progress import SlotView
from builds.reports.at_visits import at_visits
from builds.reports.axle_parts import FittedRow, fitted_rows
from builds.reports.facts import AxleStanding, Read, standing
from builds.reports.looked_back import LookedBack, looked_back_at
from builds.reports.units import Ahead
from builds.reports.wording import VERDICT_KIND, VERDICT_WORDS, day, figure, limits_of, unit_words
from measurements.models import OUT, Reading
from shop.clock import shop_zone
from shop.models.prepared import Prepared, PreparedValues, number, text
from shop.record.models import Event

NEWEST_EVENTS = 400
READING = (
    "pk", "sheet__visit_links__visit__item_id", "position", "attempt", "typed", "unit_typed", "value", "low", "high",
    "verdict", "reason", "late", "entered_at", "happened_at", "replaces_id", "voiding__reason", "voiding__counts",
    "characteristic__code", "characteristic__name", "characteristic__unit", "characteristic__decimals",
    "gauge__item__mark", "ring__item__mark", "calibration__certificate", "person__name", "terminal__code",
    "sheet__visit_links__visit__operation__number", "sheet__visit_links__visit__number",
    "sheet__visit_links__visit__state",
)  # fmt: skip

_REPLACES = READING.index("replaces_id")

_READINGS = PreparedValues(
    lambda: (
        Reading.objects.filter(sheet__visit_links__visit__axle=number("axle"))
        .order_by("sheet__visit_links__visit__operation__number", "pk")
        .values_list(*READING)
    )
)
_TAGS = Prepared(
    lambda: (
        RedTag.objects.filter(axle=number("axle"))
        .select_related("operation", "item__unit", "opened_by", "disposition__signature__person")
        .select_related("disposition__concession")
        .order_by("number")
    )
)
_EVENTS = PreparedValues(
    lambda: (
        Event.objects.filter(subject=text("subject"))
        .order_by("-sequence")[:NEWEST_EVENTS]
        .values_list("sequence", "kind", "at", "person__name", "terminal__code")
    )
)


@dataclass(frozen=True)
class AxleFile:
    """What the page shows. `zone` and `side` narrow operations, readings, parts and welds."""

    axle: Axle
    stands: AxleStanding
    slots: list[SlotView]
    readings: list[dict[str, Any]]
    parts: list[FittedRow]
    formerly: list[FittedRow]
    units_left: list[dict[str, Any]]
    ahead: list[Ahead]
    welds: list[dict[str, Any]]
    photos: list[dict[str, Any]]
    signatures: list[dict[str, Any]]
    tags: list[RedTag]
    reopened: list[dict[str, Any]]
    looked_back: list[LookedBack]
    events: list[dict[str, Any]]


def axle_file(axle: Axle, now: datetime, *, zone: str = "", side: str = "") -> AxleFile:
    """Eight queries, however much was read: the standing asks two, because what hangs here is read already."""
    every, tags, beside = fitted_rows(axle), _TAGS.all(axle=axle.pk), at_visits(axle)
    gone = {row["item"] for row in beside.left.values() if row["now_in"] != axle.serial}
    aside = beside.aside | {(row.host, row.role) for row in every if row.removal is None and row.host not in gone}
    open_now = [tag for tag in tags if getattr(tag, "disposition", None) is None]
    stands = standing(axle, now, read=Read(open_now, aside))
    slots = [view for view in stands.slots.values() if _in_zone(view, zone, side)]
    numbers = {view.slot.operation.number for view in slots}
    sides = {item: key[1] for key, item in stands.units.items()}

    def here(number: int | None, item: int | None) -> bool:
        if not zone:
            return True
        own = sides.get(item or 0, "")
        return number in numbers and (not side or own in ("", side))

    fitted = [row for row in every if here(row.operation, row.host)]
    return AxleFile(
        axle=axle,
        stands=stands,
        slots=slots,
        readings=[row for row in _readings(axle, sides) if here(row["operation"], row["item"])],
        parts=[row for row in fitted if row.removal is None and row.host not in gone],
        formerly=[row for row in fitted if row.removal is not None],
        units_left=[row for row in beside.left.values() if not zone],
        ahead=list(beside.ahead.values()),
        welds=[row for row in beside.welds if here(row["operation"], row["item"])],
        photos=[row for row in beside.photos if here(row["visit"]["operation"]["number"], row["visit"]["item_id"])],
        signatures=beside.signatures,
        tags=tags,
        reopened=beside.reopened,
        looked_back=looked_back_at(axle),
        events=_events(axle),
    )


def _in_zone(view: SlotView, zone: str, side: str) -> bool:
    if not zone:
        return True
    return view.slot.operation.zone.replace(" ", "-") == zone and (not side or view.slot.side in ("", side))


def readings_at(axle: Axle, operations: Collection[int]) -> list[dict[str, Any]]:
    """Every try at these operations. Two queries."""
    sides = dict(Unit.objects.filter(axle=axle).values_list("item", "side"))
    return [row for row in _readings(axle, sides) if row["operation"] in operations]


def _readings(axle: Axle, sides: Mapping[int, str]) -> list[dict[str, Any]]:
    """Every try in the order of the card, the newest pass of an operation last."""
    return told_readings(_READINGS.all(axle=axle.pk), sides)


def told_readings(rows: Sequence[tuple[Any, ...]], sides: Mapping[int, str]) -> list[dict[str, Any]]:
    """What a page shows of each try. `rows`: the columns of `READING`; `sides`: of the units they were taken on."""
    zone, replaced = shop_zone(), {row[_REPLACES] for row in rows}
    return [_reading(row, sides, replaced, zone) for row in rows]


def _reading(row: tuple[Any, ...], sides: Mapping[int, str], replaced: set[int], zone: ZoneInfo) -> dict[str, Any]:
    (
        pk, item, position, attempt, typed, unit_typed, value, low, high, verdict, reason, late, entered, happened, _,
        void, counts, code, name, unit, decimals, gauge, ring, calibration, person, terminal, operation, passed, visit,
    ) = row  # fmt: skip
    voided = "void, still counted as a try" if counts and verdict in OUT else "void"
    redone = visit == VisitState.REDO
    state = voided if void else "pass done again" if redone else "later try" if pk in replaced else ""
    return {
        "pk": pk,
        "item": item,
        "operation": operation,
        "pass": passed,
        "side": sides.get(item, ""),
        "code": code,
        "name": name,
        "position": position,
        "try": attempt,
        "shown": figure(value, decimals) if value is not None else typed,
        "unit": unit_words(unit) if value is not None else "",
        "typed": f"{typed} {unit_typed}" if unit_typed not in ("", unit) else "",
        "limits": limits_of(low, high, decimals),
        "verdict": VERDICT_KIND[verdict],
        "word": VERDICT_WORDS[verdict],
        "state": state,
        "void": void or "",
        "reason": reason,
        "late": late,
        "who": person or "computed",
        "terminal": terminal or "",
        "gauge": f"{gauge} on {ring}" if gauge and ring else gauge or ring or "",
        "calibration": calibration or "",
        "entered": day(entered, zone),
        "happened": day(happened, zone) if happened != entered else "",
    }


def _events(axle: Axle) -> list[dict[str, Any]]:
    """The time line: the newest first."""
    zone = shop_zone()
    return [
        {
            "sequence": sequence,
            "what": kind.replace(".", ": ").replace("_", " "),
            "at": day(at, zone),
            "who": person or "the system",
            "terminal": terminal or "",
        }
        for sequence, kind, at, person, terminal in _EVENTS.all(subject=axle.subject)
    ]
