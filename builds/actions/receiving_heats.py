"""Steel melts: the mill's certificate is judged value by value, then an inspector frees the first use.

Chemistry and strength belong to the heat, once, whoever is built from it. One melt may come as several kinds of stock;
each kind is taken in by itself. What is on record is never written over: a wrong value gets a new try with a reason,
and the heat is held again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from builds.actions.identities import TAKES_IN, identity, put_down, within_one
from builds.actions.judging_heats import Asked, Judged, asked_of, judged, material_of, rounding_of
from builds.actions.materials import in_force
from builds.actions.papers import Named, bring, cover, subject_of
from builds.errors import AlreadyThere, LooksAlike, NotFree
from builds.models import Delivery, HeatJudged, PaperKind, Revision
from measurements.engineering.limits import Limits
from measurements.models import Characteristic, Reading, Sheet
from shop.actions.signing import Grant, signature
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Heat, HeatStatus, Item, ItemKind, PartKind, Place, Role, Supplier, Where
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.models import Signature
from shop.record.who import Who

LONGEST_REASON = 300
_GONE = (Where.SCRAP, Where.SUPPLIER)


@dataclass(frozen=True)
class NewHeat:
    """A melt as its certificate states it. `values`: as typed, by code.

    `kept`: the codes whose odd value was asked about and stays. `sure`: the mark is right although another one looks
    like it. `shared`: the certificate really names another heat as well.
    """

    mark: str
    supplier: Supplier
    kind: PartKind
    certificate: str
    certificate_type: str
    values: Mapping[str, str] = field(default_factory=dict)
    kept: frozenset[str] = frozenset()
    sure: bool = False
    shared: bool = False
    delivery: Delivery | None = None
    scan: bytes = b""


def take_in_heat(*, heat: NewHeat, revision: Revision, by: Who, now: datetime | None = None) -> Heat:
    """Judge a certificate by the limits of the material and of a card's revision for this kind of steel.

    A value out of limit refuses the whole heat, which is kept on record in quarantine; otherwise the heat is
    held until one inspector has looked at it.
    """
    card, material = revision.card, in_force(material_of(revision.card, heat.kind.code).code)
    asked, rounding = asked_of(revision, heat.kind.code, material), rounding_of(card, heat.kind.code, material)
    _says_enough(heat, asked)
    who = identity(ItemKind.HEAT, heat.mark, sort=heat.kind.code, maker=heat.supplier.code)
    _second_paper(heat, who.item)
    found = [judged(one, heat.values.get(one.code, ""), rounding, kept=one.code in heat.kept) for one in asked]
    refused = [one.asked.name for one in found if one.is_bad]
    named = Named(heat.supplier, heat.certificate, heat.certificate_type, heat.scan, shared=heat.shared)
    with act("heat.taken_in", subject=who.item.subject, also=(subject_of(named),), by=by, now=now) as a:
        require_role(by, TAKES_IN, shop_day(a.now))
        item = put_down(a, who, Where.QUARANTINE if refused else Where.STOCK, sure=heat.sure)
        if not heat.sure:
            _one_character_off(heat, who.mark)
        row = a.create(
            Heat,
            item=item,
            supplier=heat.supplier,
            material=material.name if material is not None else material_of(card, heat.kind.code).name,
            certificate=heat.certificate.strip(),
            certificate_type=heat.certificate_type,
            status=HeatStatus.REFUSED if refused else HeatStatus.HELD,
        )
        sheet = a.create(Sheet, item=item, opened_at=a.now)
        a.create(HeatJudged, heat=row, revision=revision, material=material, rounding=rounding, sheet=sheet)
        _write(a, row, sheet, found)
        paper = cover(a, named, item)
        bring(a, heat.delivery, item)
        a.note(certificate=paper.number, refused_for=refused, values=dict(heat.values), rounding=rounding)
        return row


def _says_enough(heat: NewHeat, asked: list[Asked]) -> None:
    if heat.certificate_type not in PaperKind.values:
        raise Refusal("Say which type of certificate came: 2.1, 2.2, 3.1 or 3.2.", field="certificate_type")
    if not heat.certificate.strip():
        raise Refusal("Type the number of the mill's certificate.", field="certificate")
    if heat.certificate_type == PaperKind.DECLARATION and any(not one.optional for one in asked):
        raise Refusal(
            "A declaration of type 2.1 states no results, so this steel cannot be judged by it. Ask the mill for the"
            " certificate with the results, and lay the steel in quarantine until it is here.",
            field="certificate_type",
        )


def _second_paper(heat: NewHeat, item: Item) -> None:
    """Two certificates for one heat: the second is added to the heat that is here, and overwrites nothing."""
    same = Heat.objects.filter(item__kind=item.kind, item__sort=item.sort, item__maker=item.maker)
    known = same.filter(item__mark=item.mark).first()
    if known is not None and known.certificate != heat.certificate.strip():
        raise AlreadyThere(
            f"Heat {item.mark} of {heat.supplier} is here already, by certificate {known.certificate}. Add"
            f" {heat.certificate.strip()[:80]} on the heat's own page as a further paper, after comparing its values"
            " with those on record.",
            field="mark",
        )


def _one_character_off(heat: NewHeat, mark: str) -> None:
    """Marks of one mill that differ by a single character are the slips that join two melts into one; the same mark of
    two mills is the slip, in the list of suppliers, that makes two melts of one."""
    others = Item.objects.filter(kind=ItemKind.HEAT, mark=mark).exclude(maker=heat.supplier.code)
    other = Supplier.objects.filter(code__in=others.values("maker")).order_by("name").first()
    if other is not None:
        raise LooksAlike(
            f"Heat {mark} is here already, of {other}. Two mills may stamp the same number; keep it only if this steel"
            f" and its certificate really come from {heat.supplier}.",
            field="supplier",
        )
    marks = Item.objects.filter(kind=ItemKind.HEAT, maker=heat.supplier.code).exclude(mark=mark)
    alike = sorted({known for known in marks.values_list("mark", flat=True) if within_one(known, mark)})
    if alike:
        raise LooksAlike(
            f"{mark} differs from heat {' and '.join(alike[:3])} of {heat.supplier} by one character only. Read the"
            " number on the steel and on the certificate again; keep it only if both heats are really there.",
            field="mark",
        )


@dataclass(frozen=True)
class Corrected:
    """A value put right: as the certificate really states it, and why it was entered otherwise."""

    code: str
    typed: str
    reason: str
    kept: bool = False


def correct_value(*, heat: Heat, corrected: Corrected, by: Who, now: datetime | None = None) -> Heat:
    """A new try of one value. The heat is judged again by the limits of then, and held for the inspector again.

    A heat that was scrapped or sent back stays refused: what is gone is not taken in by a correction.
    """
    reason = " ".join(corrected.reason.split())
    if not reason or len(reason) > LONGEST_REASON:
        raise Refusal(f"Say in at most {LONGEST_REASON} characters why the value is put right.", field="reason")
    with act("heat.corrected", subject=heat.item.subject, by=by, now=now) as a:
        require_role(by, TAKES_IN, shop_day(a.now))
        row = Heat.objects.select_related("item", "judged__sheet").get(pk=heat.pk)
        last = _last(row, corrected.code)
        place = Place.objects.get(pk=row.pk)
        if place.where in _GONE:
            raise Refusal(f"Heat {row.item.mark} is {place.get_where_display()}. Its values are not changed any more.")
        value = judged(_as_asked(last), corrected.typed, row.judged.rounding, kept=corrected.kept)
        if not value.typed or value.typed == last.typed:
            raise Refusal(
                f"{last.characteristic.name} already stands as {last.typed}. Type another value.", field="typed"
            )
        _write(a, row, row.judged.sheet, [value], replaces=last, reason=reason)
        bad = [each.characteristic.name for each in stated(row) if each.is_out]
        status = HeatStatus.REFUSED if bad else HeatStatus.HELD
        if bad != [] or place.where == Where.QUARANTINE:
            a.update(place, where=Where.QUARANTINE if bad else Where.STOCK, since=a.now)
        a.note(code=corrected.code, was=last.typed, value=value.typed, reason=reason, refused_for=bad)
        return a.update(row, status=status, freed_by=None, freed_at=None)


def stated(heat: Heat) -> list[Reading]:
    """The value that counts of each code: its last try, in the order of the first."""
    rows = Reading.objects.standing().filter(item=heat.item).select_related("characteristic").order_by("pk")
    return list({row.characteristic.code: row for row in rows}.values())


def _last(heat: Heat, code: str) -> Reading:
    found = next((row for row in stated(heat) if row.characteristic.code == code), None)
    if found is None or not hasattr(heat, "judged"):
        raise Refusal(
            f"Heat {heat.item.mark} has no value {code[:12]} on record that could be put right.", field="code"
        )
    return found


def _as_asked(last: Reading) -> Asked:
    row = last.characteristic
    limits = Limits(last.low, last.high, last.never_above)
    return Asked(
        row.code, row.name, row.unit, limits, row.decimals, row.card_key,
        recorded_only=row.recorded_only and last.low is None and last.high is None,
    )  # fmt: skip


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


def _write(
    a: Act, heat: Heat, sheet: Sheet, found: list[Judged], replaces: Reading | None = None, reason: str = ""
) -> None:
    keys = {one.asked.key for one in found}
    rows = {(row.card_key, row.code): row for row in Characteristic.objects.filter(card_key__in=keys)}
    a.create_many(
        Reading,
        [
            {
                "sheet": sheet,
                "item": heat.item,
                "characteristic": rows[one.asked.key, one.asked.code],
                "attempt": replaces.attempt + 1 if replaces is not None else 1,
                "typed": one.typed,
                "unit_typed": one.unit,
                "value": one.value,
                "low": one.asked.limits.low,
                "high": one.asked.limits.high,
                "never_above": one.asked.limits.never_above,
                "verdict": one.verdict,
                "person": a.by.person,
                "terminal": a.by.terminal,
                "entered_at": a.now,
                "happened_at": a.now,
                "replaces": replaces,
                "reason": reason,
                "questioned": one.questioned,
            }
            for one in found
            if one.typed
        ],
    )
