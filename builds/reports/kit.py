"""What an axle needs, what is set aside for it, what is fitted, and what is short."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache, reduce
from operator import or_
from typing import TypeVar

from django.db.models import Q, QuerySet

from builds.definitions.plan import PlannedNeed, Slot, slot_key
from builds.definitions.words import Tracking
from builds.models import Axle, Bench, Fitted, KitLine, Unit, Visit
from measurements.engineering.limits import plain
from shop.models import Item
from shop.models.prepared import Prepared, number, text


def shown(quantity: Decimal, unit: str = "") -> str:
    """A quantity for a sentence, without trailing zeros."""
    return f"{plain(quantity)} {unit}".strip()


_UNITS = Prepared(lambda: Unit.objects.filter(axle=number("axle")).select_related("item"))

HostedRow = TypeVar("HostedRow", KitLine, Fitted)

#: One lot, one melt or one open drum serves the whole need: its single parts carry no mark to be counted by.
UNCOUNTED = (Tracking.LOT, Tracking.BULK, Tracking.HEAT)


@dataclass(frozen=True)
class NeedState:
    """One need of one slot: who hosts it, in which role, what is there."""

    slot: Slot
    planned: PlannedNeed
    host: Item
    role: str
    tracking: Tracking
    kind_name: str
    aside: tuple[KitLine, ...]
    fitted: tuple[Fitted, ...]

    @property
    def quantity(self) -> Decimal:
        """As the card asks: whole parts, or an amount of a bulk good in the need's own unit."""
        return self.planned.need.quantity

    @property
    def count_in(self) -> Decimal:
        return sum((row.quantity or Decimal(0) for row in self.fitted), Decimal(0))

    @property
    def to_fit(self) -> Decimal:
        return max(Decimal(0), self.quantity - self.count_in)

    @property
    def to_kit(self) -> Decimal:
        """How many are still to be set aside; those already fitted need no place in the kit."""
        if self.tracking in UNCOUNTED:
            return Decimal(0) if self.aside or not self.to_fit else Decimal(1)
        return max(Decimal(0), self.to_fit - len(self.aside))

    @property
    def in_kit(self) -> bool:
        """Whether it is picked with the kit; the rest is taken at the station."""
        return self.planned.need.kit

    @property
    def amount(self) -> str:
        """The quantity as the card states it, with its unit."""
        return shown(self.quantity, self.planned.need.unit)

    @property
    def label(self) -> str:
        """The role in words, with the unit where it is not the axle itself."""
        words = self.role.replace("_", " ")
        return f"{words}, {self.slot.side} {self.slot.unit.replace('_', ' ')}" if self.slot.side else words

    @property
    def words(self) -> str:
        """The kind and where it goes; a part that is called after its place is named once."""
        if self.label.split(",")[0] == self.kind_name.lower():
            return self.kind_name + self.label[len(self.kind_name) :]
        return f"{self.kind_name} ({self.label})"


@dataclass(frozen=True)
class PartRows:
    """Units, kit lines and fitted parts of some axles, read at once. A host belongs to one axle."""

    hosts: Mapping[tuple[int, str, str], Item]
    aside: Mapping[tuple[int, str], list[KitLine]]
    fitted: Mapping[tuple[int, str], list[Fitted]]


def _aside() -> QuerySet[KitLine]:
    return KitLine.objects.filter(returned_at=None).select_related("part").order_by("pk")


def _fitted() -> QuerySet[Fitted]:
    return Fitted.objects.now().select_related("part", "visit__operation").order_by("pk")


@lru_cache(maxsize=64)
def _rows_of(key: str, count: int) -> tuple[Prepared[KitLine], Prepared[Fitted]]:
    """The rows of one axle or one host; with a count, only those in one of so many roles."""
    asked = Q(**{key: number("key")})
    if count:
        asked &= reduce(or_, (Q(role=text(f"role{place}")) for place in range(count)))
    return Prepared(lambda: _aside().filter(asked)), Prepared(lambda: _fitted().filter(asked))


def _rows(key: str, pk: int, roles: Collection[str]) -> PartRows:
    kit, fitted = _rows_of(key, len(roles))
    named = {f"role{place}": role for place, role in enumerate(roles)}
    return PartRows({}, rows_by_host(kit.all(key=pk, **named)), rows_by_host(fitted.all(key=pk, **named)))


def rows_of_host(host: int, roles: Collection[str]) -> PartRows:
    """What is set aside for and fitted in one host, in one of these roles. Two queries."""
    return _rows("host", host, roles)


def hosted_rows(axles: Collection[Bench], roles: Collection[str] | None = None) -> PartRows:
    """What is set aside and fitted, without the units: for who knows them. Two queries, however many axles; of a unit
    that is in no axle it is asked by itself."""
    keys = [axle.pk for axle in axles]
    if len(keys) == 1 and (roles is None or roles):
        return _rows("host" if any(one.as_axle is None for one in axles) else "axle", keys[0], roles or ())
    kit, fitted = _aside().filter(axle__in=keys), _fitted().filter(axle__in=keys)
    if roles is not None:
        kit, fitted = kit.filter(role__in=roles), fitted.filter(role__in=roles)
    return PartRows(hosts={}, aside=rows_by_host(kit), fitted=rows_by_host(fitted))


def part_rows(axles: Collection[Bench], roles: Collection[str] | None = None) -> PartRows:
    """Three queries, however many axles. `roles`: only what stands in one of these roles."""
    keys = [axle.pk for axle in axles]
    units = _UNITS.all(axle=keys[0]) if len(keys) == 1 else Unit.objects.filter(axle__in=keys).select_related("item")
    hosts = {(unit.axle_id or 0, unit.role, unit.side): unit.item for unit in units}
    return replace(hosted_rows(axles, roles), hosts=hosts)


def needs_of(bench: Bench, slots: Iterable[Slot] | None = None, rows: PartRows | None = None) -> list[NeedState]:
    """Every need of the axle, or of the unit that is in none (or of the slots given), in the order of the card, with
    what is there."""
    card = bench.plan.card
    chosen = tuple(bench.plan.slots if slots is None else slots)
    if rows is None:
        roles = None if slots is None else {role_of(slot, planned) for slot in chosen for planned in slot.needs}
        if roles is not None and not roles:
            return []
        rows = part_rows([bench], roles)
    found = []
    for slot in chosen:
        host = rows.hosts.get((bench.pk, slot.unit, slot.side), bench.item)
        for planned in slot.needs:
            kind = card.part_kind(planned.need.part_kind)
            key = (host.pk, role_of(slot, planned))
            fitted = tuple(row for row in rows.fitted.get(key, ()) if _is_its_own(row, slot, kind.tracking))
            inside = {row.part_id for row in fitted}
            aside = tuple(row for row in rows.aside.get(key, ()) if row.part_id not in inside)
            found.append(NeedState(slot, planned, host, key[1], kind.tracking, kind.name, aside, fitted))
    return found


def is_used_up(slot: Slot, tracking: Tracking) -> bool:
    """Whether a weld burns it: its wire and its gas."""
    return bool(slot.welds) and tracking in UNCOUNTED


def _is_its_own(row: Fitted, slot: Slot, tracking: Tracking) -> bool:
    """What another weld burned on the same host, in a role of the same name, is not this one's."""
    return not is_used_up(slot, tracking) or row.visit is None or row.visit.operation.number == slot.operation.number


def slot_of(visit: Visit) -> Slot:
    """The slot that a visit works on."""
    return visit.bench.plan.slot(slot_key(visit.operation.number, side_of(visit)))


def side_of(visit: Visit) -> str:
    """The side of the unit that is worked on: in its axle, or the one that it is built to where it is in none."""
    if visit.item_id == visit.axle_id:
        return ""
    unit: Unit | None = getattr(visit.item, "unit", None)
    if unit is None:
        return ""
    return unit.side if visit.axle_id is not None else unit.built_side


def role_of(slot: Slot, planned: PlannedNeed) -> str:
    """The role under which the part stands in its host: with the side where the host itself has none."""
    return slot.role_of(planned)


def rows_by_host(rows: Iterable[HostedRow]) -> dict[tuple[int, str], list[HostedRow]]:
    """By (host, role)."""
    groups: dict[tuple[int, str], list[HostedRow]] = {}
    for row in rows:
        groups.setdefault((row.host_id, row.role), []).append(row)
    return groups


@dataclass(frozen=True)
class KitState:
    axle: Axle
    needs: tuple[NeedState, ...]

    @property
    def kit_needs(self) -> tuple[NeedState, ...]:
        return tuple(need for need in self.needs if need.in_kit)

    @property
    def station_needs(self) -> tuple[NeedState, ...]:
        return tuple(need for need in self.needs if not need.in_kit)

    @property
    def short(self) -> tuple[NeedState, ...]:
        """What is neither set aside nor fitted; `need.slot` says from which operation it is needed."""
        return tuple(need for need in self.kit_needs if need.to_kit)

    @property
    def is_whole(self) -> bool:
        return not self.short


def kit_state(axle: Axle) -> KitState:
    return KitState(axle=axle, needs=tuple(needs_of(axle)))


def missing_parts(needs: Iterable[NeedState]) -> list[str]:
    """What keeps a slot from being finished: parts that it fits and that have not been scanned in."""
    return [f"{need.words}: {shown(need.to_fit)} of {need.amount} not scanned in" for need in needs if need.to_fit]
