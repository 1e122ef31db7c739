"""What stands beside the readings of one visit: tags, parts, photos, concessions, rounds. Each is read once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from builds.definitions.plan import BuildPlan, Slot, slot_key
from builds.models import Bench, Concession, Photo, RedTag, Reopening, Visit, of_bench
from builds.progress import covers
from builds.reports.agreed import agreed_elsewhere, is_safety
from builds.reports.at_pass import AtPass
from builds.reports.clocks import clocks_of
from builds.reports.kit import NeedState, PartRows, needs_of, role_of, rows_of_host
from measurements.models import Reading
from shop.models.prepared import Prepared, among, number

LONGEST_WORD = 120  # of an answer, as a concession keeps it


@dataclass(frozen=True)
class Beside:
    """Read when it is first asked for, and kept as it was then: an action makes its own under the lock.

    `known_tags`, `known_rows`, `known_photos` and `known_done` (how many of the slots that come before this one are
    done or excused): where the caller has just read them.
    """

    visit: Visit
    bench: Bench
    slot: Slot
    known_tags: Sequence[RedTag] | None = None
    known_rows: PartRows | None = None
    known_photos: Sequence[Photo] | None = None
    known_done: int | None = None

    def knowing(self, at_pass: AtPass, *, tagged: bool) -> Beside:
        """With what a statement under the lock has just read; red tags are read only where there are any."""
        tags = None if tagged else ()
        return replace(
            self, known_tags=tags, known_rows=at_pass.parts, known_photos=at_pass.photos, known_done=at_pass.done
        )

    @cached_property
    def tags(self) -> Sequence[RedTag]:
        """Every open tag of the axle, or of the unit that is in none."""
        return tags_of(self.bench) if self.known_tags is None else self.known_tags

    @cached_property
    def needs(self) -> list[NeedState]:
        """The parts that this operation fits, with what is set aside and what is in."""
        if not self.slot.needs:
            return []
        return needs_of(self.bench, [self.slot], self._rows())

    def _rows(self) -> PartRows:
        host = {(self.bench.pk, self.slot.unit, self.slot.side): self.visit.item}
        if self.known_rows is not None:
            return PartRows(host, self.known_rows.aside, self.known_rows.fitted)
        roles = {role_of(self.slot, planned) for planned in self.slot.needs}
        return replace(rows_of_host(self.visit.item_id, roles), hosts=host)

    @cached_property
    def photos(self) -> Sequence[Photo]:
        """Every photo taken at this visit; none where the operation asks for none."""
        if self.known_photos is not None:
            return self.known_photos
        if not any(slot.photos for slot in self.bench.plan.of_operation(self.slot.operation.number)):
            return ()
        return tuple(_PHOTOS.all(visit=self.visit.pk))

    @cached_property
    def conceded(self) -> set[tuple[int, str, str, object, str]]:
        """(item, code, position, value, word) of every concession on this axle: bound to one value, or one answer,
        at one place. One of class S that another customer agreed to covers nothing here."""
        every = Concession.objects.filter(of_bench(self.bench, "disposition__tag__"), characteristic__isnull=False)
        rows = list(every.select_related("characteristic", "disposition__tag"))
        axle, safety = self.bench.as_axle, [row for row in rows if is_safety(row)]
        strange = agreed_elsewhere(axle.line.order.customer_id, safety) if axle is not None and safety else set()
        return {
            (row.item_id, row.characteristic.code, row.position, row.value, row.word)
            for row in rows
            if row.characteristic is not None and row.pk not in strange
        }

    @cached_property
    def rounds(self) -> Counter[str]:
        """How often this operation was begun again, by cause."""
        rows = Reopening.objects.filter(
            of_bench(self.bench, "visit__"), visit__operation=self.visit.operation_id, visit__item=self.visit.item_id
        )
        return Counter(rows.values_list("cause", flat=True))

    def shortened(self, event: str) -> bool:
        """Whether a shorter wait for this operation was signed since the last such event."""
        clocks = clocks_of(self.bench)
        at = clocks.events[self.bench.pk].get(event)
        signed_at = clocks.shortened[self.bench.pk].get(self.visit.operation.number)
        return at is not None and covers(signed_at, at)


def conceded_word(reading: Reading) -> str:
    """What a concession is bound to where there is no figure: the answer itself."""
    return "" if reading.value is not None else reading.typed[:LONGEST_WORD]


_PHOTOS = Prepared(lambda: Photo.objects.filter(visit=number("visit")).select_related("person").order_by("pk"))
_OPEN_ALONE = Prepared(
    lambda: (
        RedTag.objects.open()
        .filter(among("item_id", "units"), axle=None)
        .select_related("operation", "item__unit")
        .order_by("number")
    )
)
_OPEN_OF = Prepared(
    lambda: (
        RedTag.objects.open()
        .filter(among("axle_id", "axles"))
        .select_related("operation", "item__unit")
        .order_by("number")
    )
)


def open_tags(axles: Sequence[int]) -> list[RedTag]:
    """The open tags of these axles, oldest first."""
    return _OPEN_OF.all(axles=axles)


def open_tags_alone(units: Sequence[int]) -> list[RedTag]:
    """The same of units that are in no axle."""
    return _OPEN_ALONE.all(units=units)


def tags_of(bench: Bench) -> list[RedTag]:
    return open_tags([bench.pk]) if bench.as_axle is not None else open_tags_alone([bench.pk])


def slots_under(plan: BuildPlan, tag: RedTag) -> Iterable[str]:
    """The slots that a tag lies on: its unit's own, else every slot of its operation, else all there are."""
    if tag.operation is None:
        return plan.by_key
    keys = [slot.key for slot in plan.of_operation(tag.operation.number)]
    unit = getattr(tag.item, "unit", None)
    return [key for key in keys if unit is not None and key == slot_key(tag.operation.number, unit.side)] or keys
