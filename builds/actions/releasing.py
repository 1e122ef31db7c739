"""From a definition file to a released, frozen revision of a build card.

A draft is replaced by loading its file again; what is released stays for ever. The rows written at release
are the copy that other tables point at; the text stays what the engineer released.
"""

from __future__ import annotations

import hashlib
import re
from datetime import date, datetime
from decimal import Decimal

from django.db import models
from django.db.models import Max

from builds.definitions.card import Card
from builds.definitions.freezing import frozen_text
from builds.definitions.reading import read_bytes, read_text
from builds.definitions.table import DefinitionError
from builds.errors import BrokenDefinition, Frozen
from builds.models import (
    After,
    AxleModel,
    Invalidates,
    Operation,
    OperationCharacteristic,
    Requirement,
    Revision,
    RevisionState,
)
from measurements.models import Characteristic
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import PartKind, Person, Role, Station
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

#: It stands in addresses and on labels.
_LETTER = re.compile(r"[A-Za-z0-9][A-Za-z0-9.-]*")


def definition_text(content: bytes, name: str) -> str:
    """The text of a file as it came; raises BrokenDefinition for one that is no text or no definition."""
    try:
        read_bytes(content, name)
    except DefinitionError as error:
        raise BrokenDefinition(name, [str(fault) for fault in error.faults]) from error
    return content.decode("utf-8")


def load_definition(*, text: str, name: str, by: Who, now: datetime | None = None) -> Revision:
    """Check a definition and keep it as a draft of its model and revision letter.

    What its windows gave is written into the text that is kept, so that the hash covers it and no later arithmetic
    moves it. Raises BrokenDefinition with every fault, and Frozen when that revision is already released.
    """
    card, text = _read(text, name)
    with act("card.loaded", subject=f"model:{card.code}", by=by, now=now) as a:
        loader = _engineer(by, a)
        facts = {
            "text": text,
            "sha256": hashlib.sha256(text.encode()).hexdigest(),
            "loaded_at": a.now,
            "loaded_by": loader,
        }
        a.note(revision=card.revision, file=name[:120], sha256=facts["sha256"])
        model = AxleModel.objects.filter(code=card.code).first()
        if model is None:
            model = a.create(AxleModel, code=card.code, name=card.name)
        draft = Revision.objects.filter(model=model, letter=card.revision).first()
        if draft is None:
            return a.create_many(Revision, [{"model": model, "letter": card.revision, **facts}])[0]
        if draft.state == RevisionState.RELEASED:
            raise Frozen(
                f"{draft} was released on {_released_on(draft):%d %b %Y} and never changes."
                " Give the file the next revision letter and load it again.",
                field="file",
            )
        return a.update(draft, **facts)


def release(*, revision: Revision, by: Who, now: datetime | None = None) -> Revision:
    """Freeze a draft: write its operations, characteristics, needs, waits and consequences, and date it."""
    with act("card.released", subject=f"model:{revision.model.code}", by=by, now=now) as a:
        engineer = _engineer(by, a)
        draft = Revision.objects.select_related("model").get(pk=revision.pk)
        if draft.state == RevisionState.RELEASED:
            raise Frozen(f"{draft} is already released, since {_released_on(draft):%d %b %Y}.")
        if draft.sha256 != revision.sha256:
            raise Refusal(f"{draft} was loaded again in the meantime. Look at it once more, then release it.")
        a.note(revision=draft.letter, sha256=draft.sha256)
        _write_rows(a, draft, draft.card)
        if draft.model.name != draft.card.name:
            a.update(draft.model, name=draft.card.name)
        return _date(a, draft, engineer)


def _released_on(revision: Revision) -> date:
    assert revision.released_at is not None, "it is released"
    return shop_day(revision.released_at)


def _engineer(by: Who, a: Act) -> Person:
    require_role(by, Role.ENGINEER, shop_day(a.now))
    if by.person is None:
        raise Refusal("A build card is loaded and released by a person. Name the engineer.", field="by")
    return by.person


def _date(a: Act, draft: Revision, engineer: Person) -> Revision:
    return a.update(draft, state=RevisionState.RELEASED, released_at=a.now, released_by=engineer)


def _read(text: str, name: str) -> tuple[Card, str]:
    """The card, and its text as it is kept."""
    try:
        card = read_text(text, name)
        kept = frozen_text(text, card, name)
    except DefinitionError as error:
        raise BrokenDefinition(name, [str(fault) for fault in error.faults]) from error
    faults = _too_long(card)
    if not _LETTER.fullmatch(card.revision):
        faults.append(f"axle, key revision: expected letters, digits, points or hyphens, found “{card.revision}”")
    if faults:
        raise BrokenDefinition(name, faults)
    return card, kept


def _too_long(card: Card) -> list[str]:
    """Names that the tables could not hold: PostgreSQL would stop at them, SQLite would not notice."""
    said: list[tuple[type[models.Model], str, str]] = [
        (AxleModel, "code", card.code),
        (AxleModel, "name", card.name),
        (Revision, "letter", card.revision),
    ]
    for station in card.stations:
        said += [(Station, "code", station.code), (Station, "name", station.name)]
    for kind in card.part_kinds:
        said += [(PartKind, "code", kind.code), (PartKind, "name", kind.name)]
    for operation in card.operations:
        said += [(Operation, "name", operation.name), (Operation, "per", operation.per)]
        said += [
            (Requirement, "role", f"{need.role} {side}") for need in operation.needs for side in need.sides or ("",)
        ]
        for found in operation.characteristics:
            said += [(Characteristic, "code", found.code), (Characteristic, "name", found.name)]
            said += [(Characteristic, "unit", found.unit), (Characteristic, "gauge_kind", found.gauge_kind)]
    return [
        f"{model._meta.verbose_name} {column} “{text[:60]}” has {len(text)} characters; {most} are kept."
        for model, column, text in said
        if len(text) > (most := _room(model, column))
    ]


def _room(model: type[models.Model], column: str) -> int:
    field = model._meta.get_field(column)
    assert isinstance(field, models.CharField)
    return field.max_length or 0


def _write_rows(a: Act, revision: Revision, card: Card) -> None:
    stations = _stations(a, card)
    kinds = _part_kinds(a, card)
    operations = {
        row.number: row
        for row in a.create_many(
            Operation,
            [
                {
                    "revision": revision,
                    "number": operation.number,
                    "name": operation.name,
                    "station": stations[operation.station],
                    "per": operation.per,
                }
                for operation in card.operations
            ],
        )
    }
    _characteristics(a, revision, card, operations)
    _requirements(a, card, operations, kinds)
    _waits(a, card, operations)
    _consequences(a, card, operations)


def _requirements(a: Act, card: Card, operations: dict[int, Operation], kinds: dict[str, PartKind]) -> None:
    """One row per operation, role and kind; where options change only the count, the largest stands."""
    counts: dict[tuple[int, str, str], Decimal] = {}
    for operation in card.operations:
        for need in operation.needs:
            for side in need.sides or ("",):
                key = (operation.number, f"{need.role} {side}".strip(), need.part_kind)
                counts[key] = max(counts.get(key, need.quantity), need.quantity)
    a.create_many(
        Requirement,
        [
            {"operation": operations[number], "role": role, "kind": kinds[kind], "quantity": count}
            for (number, role, kind), count in counts.items()
        ],
    )


def _stations(a: Act, card: Card) -> dict[str, Station]:
    """The card's stations; one that the shop does not have yet is set up with the name the card gives it."""
    known = {station.code: station for station in Station.objects.filter(code__in=[s.code for s in card.stations])}
    last = Station.objects.aggregate(last=Max("order"))["last"] or 0
    new = [station for station in card.stations if station.code not in known]
    rows = [
        {"code": station.code, "name": station.name, "order": last + place}
        for place, station in enumerate(new, start=1)
    ]
    return known | {row.code: row for row in a.create_many(Station, rows)}


def _part_kinds(a: Act, card: Card) -> dict[str, PartKind]:
    known = {kind.code: kind for kind in PartKind.objects.filter(code__in=[k.code for k in card.part_kinds])}
    for kind in card.part_kinds:
        row = known.get(kind.code)
        if row is not None and row.tracking != kind.tracking:
            raise Refusal(
                f"Part kind {kind.code} is kept {row.get_tracking_display()} in this shop; the card says"
                f" “{kind.tracking}”. Give the card's kind a code of its own."
            )
    new = [kind for kind in card.part_kinds if kind.code not in known]
    rows = [{"code": kind.code, "name": kind.name, "tracking": str(kind.tracking)} for kind in new]
    return known | {row.code: row for row in a.create_many(PartKind, rows)}


def _characteristics(a: Act, revision: Revision, card: Card, operations: dict[int, Operation]) -> None:
    asked = [(operation.number, found) for operation in card.operations for found in operation.characteristics]
    once = {found.code: found for _, found in asked}
    rows = a.create_many(
        Characteristic,
        [
            {
                "card_key": revision.key,
                "code": found.code,
                "name": found.name,
                "kind": str(found.kind),
                "unit": found.unit,
                "low": found.low,
                "high": found.high,
                "never_above": found.never_above,
                "decimals": found.decimals,
                "gauge_kind": found.gauge_kind,
                "class_code": str(found.class_),
                "recorded_only": found.recorded_only,
                "event": found.event,
            }
            for found in once.values()
        ],
    )
    by_code = {row.code: row for row in rows}
    pairs = dict.fromkeys((number, found.code) for number, found in asked)
    a.create_many(
        OperationCharacteristic,
        [{"operation": operations[number], "characteristic": by_code[code]} for number, code in pairs],
    )


def _waits(a: Act, card: Card, operations: dict[int, Operation]) -> None:
    after_work: list[dict[str, object]] = [
        {"operation": operations[operation.number], "other": operations[other], "event": "", "minutes": 0}
        for operation in card.operations
        for other in operation.starts_after
    ]
    after_event: list[dict[str, object]] = [
        {"operation": operations[wait.operation], "other": None, "event": wait.event, "minutes": wait.minutes}
        for wait in card.after
    ]
    a.create_many(After, after_work + after_event)


def _consequences(a: Act, card: Card, operations: dict[int, Operation]) -> None:
    pairs = dict.fromkeys(
        (number, found.cause) for found in card.invalidates for number in (*found.operations, *found.own_side)
    )
    a.create_many(Invalidates, [{"operation": operations[number], "cause": cause} for number, cause in pairs])
