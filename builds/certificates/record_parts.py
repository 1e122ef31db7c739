"""What an axle was made of and what was decided about it, as plain data for the frozen record."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Q

from builds.models import Axle, Concession, Disposition, Fitted, RedTag, ShorterWait, VisitState, Weld
from builds.reports.work import heat_of
from measurements.models import CharacteristicClass, Reading
from shop.clock import shop_day
from shop.models import Heat, Item, Person, Role, RoleHeld

Piece = dict[str, Any]


def moment(at: datetime | None) -> str:
    return "" if at is None else at.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def text_of(value: Decimal | None) -> str:
    """A figure as text, without exponent and without padding: "105" and "0.0021"."""
    if value is None:
        return ""
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def code_of(person: Person | None) -> str:
    return "" if person is None else f"P{person.pk:03d}"


def fitted_rows(axle: Axle) -> list[Fitted]:
    rows = Fitted.objects.filter(axle=axle).select_related(
        "part", "host__unit", "visit__operation", "removal", "part__part__kind", "part__piece__kind", "part__lot__kind",
        "part__drum__lot__kind", "part__drum__lot__item",
    )  # fmt: skip
    return list(rows.order_by("at", "pk"))


def part_facts(row: Fitted) -> Piece:
    part = row.part
    heat = heat_of(part)
    unit = getattr(row.host, "unit", None)
    removal = getattr(row, "removal", None)
    return {
        "role": row.role,
        "side": unit.side if unit is not None else "",
        "kind": _kind_name(part),
        "tracked_as": part.kind,
        "mark": part.mark,
        "maker": part.maker,
        "lot": part.drum.lot.item.mark if part.kind == "drum" else "",
        "quantity": text_of(row.quantity),
        "set_mark": part.part.set_mark if part.kind == "part" else "",
        "facts": _facts(part),
        "heat": heat.mark if heat is not None else "",
        "certificate": certificate_of(heat),
        "heat_determinable": not (part.kind == "piece" and heat is None),
        "operation": row.visit.operation.number if row.visit is not None else 0,
        "from": moment(row.at),
        "until": moment(removal.at) if removal is not None else "",
        "taken_out_because": removal.reason if removal is not None else "",
        "went_to": removal.get_to_display() if removal is not None else "",
    }


def _kind_name(part: Item) -> str:
    if part.kind == "part":
        return part.part.kind.name
    if part.kind == "piece":
        return part.piece.kind.name
    if part.kind == "lot":
        return part.lot.kind.name
    if part.kind == "drum":
        return part.drum.lot.kind.name
    return str(part.get_kind_display())


def _facts(part: Item) -> list[list[str]]:
    if part.kind != "part":
        return []
    return [[name, str(value)] for name, value in sorted(part.part.facts.items())]


def certificate_of(heat: Item | None) -> str:
    if heat is None:
        return ""
    row = Heat.objects.filter(pk=heat.pk).first()
    return f"{row.certificate} ({row.certificate_type})" if row is not None and row.certificate else ""


def weld_rows(axle: Axle) -> list[Weld]:
    rows = Weld.objects.filter(visit__axle=axle).select_related(
        "procedure", "welder", "wire", "visit__operation", "item__unit", "visit"
    )
    return list(rows.order_by("pk"))


def weld_facts(row: Weld) -> Piece:
    unit = getattr(row.item, "unit", None)
    return {
        "operation": row.visit.operation.number,
        "side": unit.side if unit is not None else "",
        "joint": row.joint,
        "procedure": str(row.procedure),
        "welder": code_of(row.welder),
        "wire": row.wire.mark if row.wire is not None else "",
        "ended": moment(row.ended_at),
        "late": row.late,
        "repair": row.repairs_id is not None,
        "superseded": row.visit.state == VisitState.REDO,
    }


def tag_rows(axle: Axle) -> list[RedTag]:
    """Those of the axle, and those that lay on what is in it: a part, its heat, the lot of a drum."""
    inside = Fitted.objects.filter(axle=axle).now()
    items: set[int | None] = set()
    for path in ("part", "part__part__heat", "part__piece__heat", "part__drum__lot"):
        items |= set(inside.values_list(path, flat=True))
    own = Q(axle=axle) | Q(axle=None, item__in=items - {None})
    rows = RedTag.objects.filter(own).select_related(
        "operation", "disposition__signature__person", "item", "reading__characteristic"
    )
    return list(rows.order_by("number"))


def tag_facts(row: RedTag) -> Piece:
    decided: Disposition | None = getattr(row, "disposition", None)
    return {
        "number": row.number,
        "operation": row.operation.number if row.operation is not None else 0,
        "item": row.item.mark,
        "cause": row.cause,
        "opened": moment(row.opened_at),
        "decision": decided.get_decision_display() if decided is not None else "",
        "reason": decided.reason if decided is not None else "",
        "decided": moment(decided.at) if decided is not None else "",
        "decided_by": code_of(decided.signature.person) if decided is not None else "",
        "decided_as": role_of_decider(decided) if decided is not None else "",
    }


def role_of_decider(row: Disposition) -> str:
    """In which role the decision was signed: what the class of the characteristic asks for, else any that decides."""
    reading = row.tag.reading
    is_fit = reading is not None and reading.characteristic.class_code in (
        CharacteristicClass.SAFETY,
        CharacteristicClass.FIT,
    )
    held = RoleHeld.objects.on(shop_day(row.at)).filter(person=row.signature.person).values_list("role", flat=True)
    roles = (Role.ENGINEER,) if is_fit else (Role.ENGINEER, Role.INSPECTOR, Role.QUALITY)
    return next((str(role.label) for role in roles if role in held), "")


def concession_facts(row: Concession) -> Piece:
    return {
        "number": row.number,
        "red_tag": row.disposition.tag.number,
        "item": row.item.mark,
        "code": row.characteristic.code if row.characteristic is not None else "",
        "name": row.characteristic.name if row.characteristic is not None else "",
        "class": row.characteristic.class_code if row.characteristic is not None else "",
        "unit": row.characteristic.unit if row.characteristic is not None else "",
        "position": row.position,
        "value": text_of(row.value) or row.word,
        "scope": row.scope,
        "reason": row.disposition.reason,
        "decided": moment(row.disposition.at),
        "decided_as": role_of_decider(row.disposition),
        "agreed_by": row.agreed_by,
        "agreed_on": row.agreed_on.isoformat() if row.agreed_on is not None else "",
        "agreed_how": row.agreed_how,
    }


def shorter_rows(axle: Axle) -> list[ShorterWait]:
    return list(ShorterWait.objects.filter(axle=axle).select_related("operation", "signature__person"))


def shorter_facts(row: ShorterWait) -> Piece:
    return {
        "operation": row.operation.number,
        "reason": row.reason,
        "by": code_of(row.signature.person),
        "at": moment(row.signature.at),
    }


def reading_facts(row: Reading) -> Piece:
    """One reading with what it was judged against and where it came from."""
    return {
        "position": row.position,
        "try": row.attempt,
        "typed": row.typed,
        "unit_typed": row.unit_typed,
        "value": text_of(row.value),
        "photo": row.photo,
        "low": text_of(row.low),
        "high": text_of(row.high),
        "never_above": text_of(row.never_above),
        "verdict": row.verdict,
        "gauge": row.gauge.item.mark if row.gauge is not None else "",
        "ring": row.ring.item.mark if row.ring is not None else "",
        "calibration": row.calibration.certificate if row.calibration is not None else "",
        "by": code_of(row.person),
        "entered": moment(row.entered_at),
        "happened": moment(row.happened_at),
        "late": row.late,
        "reason": row.reason,
        "kept_when_asked": row.questioned,
    }
