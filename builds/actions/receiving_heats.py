"""Steel melts: the mill's certificate is judged value by value, then an inspector frees the first use.

Chemistry and strength belong to the heat, once, whoever is built from it. One melt may come as several
kinds of stock; each kind has its own certificate and is taken in by itself. Values are judged exactly as
typed unless the material is bought to ASTM E29, which rounds to the limit's last place first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from builds.actions.receiving import TAKES_IN, identity, put_down
from builds.definitions.card import Card, Material
from builds.definitions.card import PartKind as CardPartKind
from builds.definitions.characteristic import Characteristic as Planned
from builds.definitions.words import Tracking
from builds.errors import FarOff, NotFree
from builds.models import Revision
from measurements.engineering.limits import FigureError, Limits, Verdict, far_off, judge, parse_figure
from measurements.engineering.units import rounded
from measurements.models import Characteristic, Reading, Sheet, VerdictWord
from shop.actions.signing import Grant, signature
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Heat, HeatStatus, ItemKind, PartKind, Role, Supplier, Where
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.models import Signature
from shop.record.who import Who

#: EN 10204: 2.2 is not from this delivery, 3.1 is, 3.2 adds an outside inspector.
CERTIFICATE_TYPES = ("2.2", "3.1", "3.2")
GIVEN_BY_HEAT = "heat"


@dataclass(frozen=True)
class NewHeat:
    """A melt as its certificate states it. `values`: as typed, by characteristic code.

    `kept`: the codes whose far-off value was asked about and stays.
    """

    mark: str
    supplier: Supplier
    kind: PartKind
    certificate: str
    certificate_type: str
    values: Mapping[str, str] = field(default_factory=dict)
    kept: frozenset[str] = frozenset()
    sure: bool = False


def take_in_heat(*, heat: NewHeat, revision: Revision, by: Who, now: datetime | None = None) -> Heat:
    """Judge a certificate by the limits that a card's revision sets for this kind of steel.

    A value out of limit refuses the whole heat, which is kept on record in quarantine; otherwise the heat is
    held until one inspector has looked at it.
    """
    if heat.certificate_type not in CERTIFICATE_TYPES:
        raise Refusal("Say which type of certificate came: 2.2, 3.1 or 3.2.", field="certificate_type")
    if not heat.certificate.strip():
        raise Refusal("Type the number of the mill's certificate.", field="certificate")
    card = revision.card
    who = identity(ItemKind.HEAT, heat.mark, sort=heat.kind.code, maker=heat.supplier.code)
    judged = [_judged(found, card, heat) for found in steel_values(card, heat.kind.code)]
    refused = [one.name for one in judged if one.verdict not in (VerdictWord.IN, VerdictWord.NONE)]
    with act("heat.taken_in", subject=who.item.subject, by=by, now=now) as a:
        require_role(by, TAKES_IN, shop_day(a.now))
        item = put_down(a, who, Where.QUARANTINE if refused else Where.STOCK, sure=heat.sure)
        row = a.create(
            Heat,
            item=item,
            supplier=heat.supplier,
            material=material_of(card, heat.kind.code).name,
            certificate=heat.certificate.strip(),
            certificate_type=heat.certificate_type,
            status=HeatStatus.REFUSED if refused else HeatStatus.HELD,
        )
        _write(a, row, revision, judged)
        a.note(certificate=row.certificate, refused_for=refused, values=dict(heat.values))
        return row


def free_heat(*, heat: Heat, grant: Grant, by: Who, now: datetime | None = None) -> Heat:
    """One inspector frees the first use of a heat, for the whole shop, with a signature."""
    with act("heat.freed", subject=heat.item.subject, by=by, now=now) as a:
        require_role(by, Role.INSPECTOR, shop_day(a.now))
        kept = Heat.objects.select_related("item").get(pk=heat.pk)
        if kept.status == HeatStatus.REFUSED:
            raise NotFree(f"Heat {kept.item.mark} was refused and is not freed. Send it back.")
        if kept.status == HeatStatus.FREE:
            raise Refusal(f"Heat {kept.item.mark} is already free, since {shop_day(kept.freed_at or a.now):%d %b %Y}.")
        signed = signature(a, grant, Signature.Meaning.RELEASED)
        return a.update(kept, status=HeatStatus.FREE, freed_by=signed.person, freed_at=a.now)


def require_free(heat: Heat, *, held_too: bool = False) -> None:
    """Refuse steel that was refused, or not looked at yet by an inspector (`held_too`: that passes)."""
    if heat.status == HeatStatus.FREE or (held_too and heat.status == HeatStatus.HELD):
        return
    mark = heat.item.mark
    if heat.status == HeatStatus.REFUSED:
        raise NotFree(f"Heat {mark} was refused. Nothing of it is used; set it aside.", field="scan")
    raise NotFree(
        f"Heat {mark} is held: its first use waits for an inspector, who frees it in the material drawer.",
        field="scan",
    )


def steel_values(card: Card, part_kind: str) -> list[Planned]:
    """What a heat's certificate must state for steel of this part kind, in the order of the card."""
    roles = {need.role for operation in card.operations for need in operation.needs if need.part_kind == part_kind}
    return [found for found in _given_by_heat(card) if found.given and found.given.role in roles]


def comes_by_heat(card: Card, kind: CardPartKind) -> bool:
    """Whether heats of this kind are taken in: stock with values to judge, or parts of a stated material."""
    if kind.tracking == Tracking.HEAT or steel_values(card, kind.code):
        return True
    return kind.tracking == Tracking.SERIAL and bool(kind.material)


def _given_by_heat(card: Card) -> Iterator[Planned]:
    for operation in card.operations:
        for found in operation.characteristics:
            if found.given is not None and found.given.source == GIVEN_BY_HEAT:
                yield found


def material_of(card: Card, part_kind: str) -> Material:
    """The material of a part kind; one that the card does not describe is judged absolutely."""
    code = card.part_kind(part_kind).material
    known = {material.code: material for material in card.materials}
    return known.get(code, Material(code=code, name=code or part_kind, grade=""))


@dataclass(frozen=True)
class _Judged:
    code: str
    name: str
    typed: str
    value: Decimal | None
    verdict: VerdictWord
    limits: Limits
    unit: str
    questioned: bool


_WORDS = {
    Verdict.IN: VerdictWord.IN,
    Verdict.BELOW: VerdictWord.BELOW,
    Verdict.ABOVE: VerdictWord.ABOVE,
    Verdict.NEVER: VerdictWord.NEVER,
}


def _judged(found: Planned, card: Card, heat: NewHeat) -> _Judged:
    typed = heat.values.get(found.code, "").strip()
    limits = Limits(found.low, found.high, found.never_above)
    if not typed and not found.optional:
        raise Refusal(
            f"{found.name} ({found.code}) is blank. Type what the certificate states; blank is not zero.",
            field=found.code,
        )
    if found.choices or not typed or not found.unit:
        word = VerdictWord.NONE if found.recorded_only or not typed else _word(found, typed)
        return _Judged(found.code, found.name, typed, None, word, limits, "", False)
    try:
        value = parse_figure(typed)
    except FigureError as error:
        raise Refusal(f"{found.name}: {error}", field=found.code) from error
    if found.recorded_only:
        return _Judged(found.code, found.name, typed, value, VerdictWord.NONE, limits, found.unit, False)
    question = far_off(value, limits, Decimal(1).scaleb(-found.decimals))
    if question is not None and found.code not in heat.kept:
        asked = FarOff(f"{found.name}: {question.text}", str(question.meant or ""))
        asked.field = found.code
        raise asked
    compared = as_compared(value, limits, material_of(card, heat.kind.code).rounding)
    verdict = _WORDS[judge(compared, limits)]
    return _Judged(found.code, found.name, typed, value, verdict, limits, found.unit, question is not None)


def _word(found: Planned, typed: str) -> VerdictWord:
    if found.choices and typed not in found.choices:
        raise Refusal(f"{found.name} is one of: {', '.join(found.choices)}.", field=found.code)
    return VerdictWord.IN if not found.accepted or typed in found.accepted else VerdictWord.NO


def as_compared(value: Decimal, limits: Limits, rounding: str) -> Decimal:
    """The value held against the limits: as it is, or by ASTM E29 rounded to the limit's last place."""
    stated = [limit for limit in (limits.low, limits.high) if limit is not None]
    if rounding != "E29" or not stated:
        return value
    places = max(-int(limit.as_tuple().exponent) for limit in stated)
    return rounded(value, Decimal(1).scaleb(-places))


def _write(a: Act, heat: Heat, revision: Revision, judged: list[_Judged]) -> None:
    rows = {row.code: row for row in Characteristic.objects.filter(card_key=revision.key)}
    sheet = a.create(Sheet, item=heat.item, opened_at=a.now)
    a.create_many(
        Reading,
        [
            {
                "sheet": sheet,
                "item": heat.item,
                "characteristic": rows[one.code],
                "typed": one.typed,
                "unit_typed": one.unit,
                "value": one.value,
                "low": one.limits.low,
                "high": one.limits.high,
                "never_above": one.limits.never_above,
                "verdict": one.verdict,
                "person": a.by.person,
                "terminal": a.by.terminal,
                "entered_at": a.now,
                "happened_at": a.now,
                "questioned": one.questioned,
            }
            for one in judged
            if one.typed
        ],
    )
