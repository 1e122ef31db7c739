"""One visit as the station page and the actions see it: what is asked, what stands, what is missing."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from django.db.models import QuerySet

from builds.definitions.characteristic import Characteristic as Asked
from builds.definitions.plan import PlannedCharacteristic, PlannedNeed, Slot
from builds.definitions.words import Kind, SampleKind
from builds.models import Bench, Fitted, KitLine, Visit
from builds.reports.at_hand import readings
from builds.reports.beside import Beside
from builds.reports.kit import role_of, side_of
from builds.reports.part_values import given_by_parts, own_rows, since_rework, undoubted
from measurements.models import Characteristic, Reading
from shop.models import Item, ItemKind
from shop.models.prepared import Prepared, number

Tries = Mapping[tuple[str, str], tuple[Reading, ...]]


@dataclass(frozen=True)
class Place:
    """One position of one characteristic, with its tries, oldest first."""

    planned: PlannedCharacteristic
    position: str
    tries: tuple[Reading, ...]
    item: int

    @property
    def asked(self) -> Asked:
        return self.planned.characteristic

    @cached_property
    def last(self) -> Reading | None:
        """The try that counts: the newest one that is not voided."""
        return next((reading for reading in reversed(self.tries) if not is_void(reading)), None)

    @property
    def named(self) -> str:
        """As a sentence names it: "220.1 Ring-gear bolt torque, position 7"."""
        words = f"{self.asked.code} {self.asked.name}"
        return f"{words}, position {self.position}" if self.position else words


def is_void(reading: Reading) -> bool:
    return hasattr(reading, "voiding") and reading.voiding is not None


@dataclass(frozen=True)
class Work:
    """A visit with its slot and every place where something is asked."""

    visit: Visit
    bench: Bench
    slot: Slot
    side: str
    tries: Tries
    part_items: Mapping[str, int]
    beside: Beside
    #: The card's rows that readings point at, by code, as far as they were read.
    rows: Mapping[str, Characteristic] = field(default_factory=dict)
    #: Keys of the readings on the visit's own sheets; the others are cited from a part.
    own: frozenset[int] = frozenset()

    @cached_property
    def places(self) -> tuple[Place, ...]:
        return tuple(place for planned in self.planned for place in self.places_of(planned))

    @cached_property
    def planned(self) -> tuple[PlannedCharacteristic, ...]:
        """What this pass asks: everything, or only the codes that were re-opened."""
        only = set(self.visit.only)
        return tuple(found for found in self.slot.characteristics if not only or found.code in only)

    def places_of(self, planned: PlannedCharacteristic) -> tuple[Place, ...]:
        """Asked for by every part of a page, so they are put together once."""
        known = self._known.get(planned.code)
        if known is None:
            known = self._known[planned.code] = self._places_of(planned)
        return known

    @cached_property
    def _known(self) -> dict[str, tuple[Place, ...]]:
        return {}

    def _places_of(self, planned: PlannedCharacteristic) -> tuple[Place, ...]:
        labels = list(planned.labels_on_item)
        positions = planned.characteristic.positions
        if positions.open_ended:
            while (planned.code, positions.nth(len(labels) + 1)) in self.tries:
                labels.append(positions.nth(len(labels) + 1))
        item = self.item_of(planned.characteristic)
        return tuple(Place(planned, label, self.tries.get((planned.code, label), ()), item) for label in labels)

    def item_of(self, asked: Asked) -> int:
        """What is measured: the visit's item, or the bought part whose own reading this is."""
        if asked.given is not None and asked.given.source == "part":
            return self.part_items.get(asked.given.role, self.visit.item_id)
        return self.visit.item_id

    def place(self, code: str, position: str) -> Place | None:
        planned = next((found for found in self.planned if found.code == code), None)
        places = self.places_of(planned) if planned is not None else ()
        return next((place for place in places if place.position == position), None)

    def is_sampled(self, asked: Asked) -> bool:
        """Whether this piece is one of those that the sample plan measures."""
        if asked.sample.kind in (SampleKind.FIRST_PIECE, SampleKind.FIRST_AND_EVERY):
            return asked.sample.takes(self.visit.piece)
        return True

    def is_wanted(self, place: Place) -> bool:
        """Whether nothing can be signed while this place is blank. A position beyond the least of an open-ended
        row is there only because somebody read it: void, it asks for nothing."""
        asked = place.asked
        from_heat = asked.given is not None and asked.given.source == "heat"
        extra = asked.positions.open_ended and place.position not in place.planned.labels_on_item
        # What may stay blank may not where an answer given here asks for it: the end of a heat that was used.
        needed = bool(asked.needed_with) and any(
            one.last is not None and (one.asked.code, one.last.typed) in asked.needed_with for one in self.places
        )
        return (needed or not asked.optional) and not from_heat and not extra and self.is_sampled(asked)

    @cached_property
    def next_place(self) -> Place | None:
        """The first place that is blank and wants a person's entry."""
        return next(
            (
                place
                for planned in self.planned
                if planned.characteristic.kind is not Kind.COMPUTED
                for place in self.places_of(planned)
                if place.last is None and self.is_wanted(place)
            ),
            None,
        )


def work_of(visit: Visit, card: Mapping[str, Characteristic] | None = None, *, every: bool = False) -> Work:
    """Everything asked and entered at this visit; with `card`, only the readings of these rows of the card, unless
    `every` reading is wanted, without its gauge.

    One to three queries beyond the visit itself.
    """
    bench, side = visit.bench, side_of(visit)
    slot = bench.plan.slot(f"{visit.operation.number}/{side}")
    parts = _part_items(visit, slot, None if every else card)
    if every:
        rows = _LEAN.all(visit=visit.pk)
    else:
        rows = readings(visit, card) if card is not None else _OF_VISIT.all(visit=visit.pk)
    own = frozenset(row.pk for row in rows)
    given = given_by_parts(slot) if parts or visit.only else []
    cited: list[Reading] = []
    if parts:
        of_parts = Reading.objects.filter(item_id__in=parts.values(), characteristic__code__in=given)
        cited = list(_with_names(undoubted(since_rework(of_parts)), whole=every or card is None))
    if given and visit.only:
        rows = own_rows(visit, rows, given, cited)
    rows = [row for row in cited if row.pk not in own] + rows
    tries = _grouped(rows)
    beside = Beside(visit, bench, slot)
    return Work(visit, bench, slot, side, tries, part_items=parts, beside=beside, rows=card or {}, own=own)


def codes_around(slot: Slot, code: str) -> dict[str, str]:
    """The code, everything computed from it near and far, and every input of those, near and far: code to name.

    The inputs of an input are needed because a computed value is worked out again from its own, exactly.
    """
    found = {code}
    for planned in slot.characteristics:
        computation = planned.characteristic.computation
        if computation is not None and not found.isdisjoint(other for _, other in computation.inputs):
            found.add(planned.code)
    for planned in reversed(slot.characteristics):
        if planned.code in found and planned.characteristic.computation is not None:
            found |= {other for _, other in planned.characteristic.computation.inputs}
    names = {planned.code: planned.characteristic.name for planned in slot.characteristics}
    return {code: names.get(code, code) for code in sorted(found)}


_WHOLE = ("characteristic", "person", "gauge__item", "ring__item", "calibration", "voiding")
_OF_VISIT = Prepared(
    lambda: Reading.objects.filter(sheet__visit_links__visit=number("visit")).select_related(*_WHOLE).order_by("pk")
)
#: What is drawn again after an entry: the figures and who read them.
_SHOWN = (
    *(column.name for column in Reading._meta.concrete_fields),
    *("characteristic__code", "characteristic__name", "person__name", "voiding__reason", "voiding__counts"),
)
_LEAN = Prepared(
    lambda: (
        Reading.objects.filter(sheet__visit_links__visit=number("visit"))
        .select_related("characteristic", "person", "voiding")
        .only(*_SHOWN)
        .order_by("pk")
    )
)


def _with_names(rows: QuerySet[Reading], *, whole: bool) -> QuerySet[Reading]:
    """With what a page shows beside each reading; an action needs less."""
    return rows.select_related(*(_WHOLE if whole else ("characteristic", "voiding"))).order_by("pk")


def _grouped(rows: Iterable[Reading]) -> Tries:
    groups: dict[tuple[str, str], list[Reading]] = {}
    for row in rows:
        groups.setdefault((row.characteristic.code, row.position), []).append(row)
    return {key: tuple(tries) for key, tries in groups.items()}


def _part_items(visit: Visit, slot: Slot, codes: Collection[str] | None) -> dict[str, int]:
    """The part in each role whose own readings are cited here: fitted, else set aside in the kit."""
    roles = {
        planned.characteristic.given.role
        for planned in slot.characteristics
        if planned.characteristic.given is not None
        and planned.characteristic.given.source == "part"
        and (codes is None or planned.code in codes)
    }
    if not roles:
        return {}
    hosts = [visit.item_id, visit.axle_id]
    names = {role: [role, f"{role} {slot.side}"] for role in roles}
    wanted = [name for both in names.values() for name in both]
    kit = KitLine.objects.filter(host_id__in=hosts, role__in=wanted, returned_at=None, part__kind=ItemKind.PART)
    fitted = Fitted.objects.now().filter(host_id__in=hosts, role__in=wanted, part__kind=ItemKind.PART)
    found = dict(kit.values_list("role", "part_id")) | dict(fitted.values_list("role", "part_id"))
    return {role: found[name] for role, both in names.items() for name in reversed(both) if name in found}


def wires_of(work: Work) -> list[PlannedNeed]:
    """The needs of this operation that are welding wire."""
    return [planned for planned in work.slot.needs if "wire" in planned.need.role]


def wire_of(work: Work) -> Fitted | None:
    """The spool now on record for this joint: the newest scanned in, in this pass or in one before it."""
    roles = [role_of(work.slot, planned) for planned in wires_of(work)]
    here = {"host_id": work.visit.item_id, "visit__operation": work.visit.operation_id, "role__in": roles}
    rows = Fitted.objects.now().filter(**here).select_related("part__drum__lot__kind", "part__lot__kind")
    return rows.order_by("-pk").first()


def cited_heats(work: Work) -> list[Item]:
    """The heats that this visit's given characteristics stand on, through the parts and pieces scanned here."""
    roles = [role_of(work.slot, planned) for planned in work.slot.needs]
    hosts = [work.visit.item_id, work.bench.pk]
    rows = (
        Fitted.objects.now()
        .filter(host_id__in=hosts, role__in=roles)
        .select_related("part__piece__heat__item", "part__part__heat__item", "part__heat")
    )
    found = {}
    for row in rows:
        heat = heat_of(row.part)
        if heat is not None:
            found[heat.pk] = heat
    return list(found.values())


def heat_of(part: Item) -> Item | None:
    """The heat item of a part, a piece, or the heat itself; None where it is not determinable."""
    if part.kind == ItemKind.HEAT:
        return part
    if part.kind == ItemKind.PIECE:
        return part.piece.heat.item if part.piece.heat is not None else None
    if part.kind == ItemKind.PART:
        return part.part.heat.item if part.part.heat is not None else None
    return None
