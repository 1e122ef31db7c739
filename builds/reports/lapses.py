"""What a person did by a process on days when the skill for it was not valid: a look-back over a lapse.

Live work is refused on the day itself. What is found here came in late from paper, or was signed before a
qualification was ended for that day. The day of the work counts, not the day of its entry.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q

from builds.definitions.card import Operation as Asked
from builds.definitions.naming import with_side
from builds.definitions.words import skill_words
from builds.models import Axle, LapsedVisit, LapseLookBack, RedTag, Revision, Unit, Visit, Weld
from builds.reports.in_axles import axles_holding
from builds.reports.kit import side_of
from measurements.models import CharacteristicClass
from shop.clock import shop_day
from shop.lists import CsvList
from shop.models import Person
from shop.permissions import SkillState, said_of, skill_days

#: Of what is on record, where somebody has written down a qualification for that day since.
SINCE = "A qualification that was written down since counts for that day."
_WHOLE = ("axle__item", "axle__revision__model", "operation", "item__unit__revision__model", "worked_by")


@dataclass(frozen=True)
class Lapsed:
    """One pass, the day of its work, what was done in it, and why the skill did not count that day."""

    visit: Visit
    on: date
    what: str
    why: str

    @property
    def late(self) -> bool:
        return self.visit.late

    @property
    def side(self) -> str:
        return side_of(self.visit) or "-"

    @property
    def named(self) -> str:
        operation = self.visit.operation
        return f"{operation.number} {with_side(operation.name, self.side.strip('-'))}"


def lapsed_work(person: Person, process: str) -> list[Lapsed]:
    """Every such pass, oldest work first, and what stands on record already; a constant number of statements."""
    on_day, known = skill_days(person, process), on_record(person, process)
    found: dict[int, Lapsed] = {}
    for visit, at, what in _done(person, process):
        day = shop_day(at)
        state = on_day(day)
        valid = state is not None and state.valid
        before = found.get(visit.pk)
        if (valid and visit.pk not in known) or (before is not None and before.on <= day):
            continue
        why = SINCE if valid else _why(person, process, state)
        found[visit.pk] = Lapsed(visit, day, what, why)
    return sorted(found.values(), key=lambda row: (row.on, row.visit.pk))


def _why(person: Person, process: str, state: SkillState | None) -> str:
    return f"{said_of(person, process, state).partition('. ')[0].replace(process, skill_words(process))}."


def _done(person: Person, process: str) -> Iterable[tuple[Visit, datetime, str]]:
    """(pass, when, what) of everything this person did by the process: welds laid, work signed, holds looked at."""
    welds = Weld.objects.filter(welder=person, procedure__process=process)
    joints: dict[int, tuple[datetime, list[str]]] = {}
    for weld in welds.order_by("ended_at", "pk"):
        joints.setdefault(weld.visit_id, (weld.ended_at, []))[1].append(weld.joint)
    work, looks = _operations(process)
    mine = Q(worked_by=person) | Q(worked_by=None, done_signatures__signature__person=person)
    worked = Q(mine, operation__in=work) & ~Q(done_signatures__part="on reject")
    looked = Q(hold__signature__person=person, operation__in=looks)
    rows = Visit.objects.filter(Q(pk__in=joints) | worked | looked).distinct().order_by("pk")
    rows = rows.select_related(*_WHOLE, "hold__signature").prefetch_related("done_signatures__signature")
    for visit in rows.defer("axle__revision__text", "item__unit__revision__text"):
        if visit.pk in joints:
            at, names = joints[visit.pk]
            yield visit, at, f"welded {', '.join(names)}"
        elif visit.operation_id in work and _did(visit, person):
            yield visit, visit.worked_at or visit.done_at or visit.claimed_at, "did the work"
        hold = getattr(visit, "hold", None)
        if hold is not None and hold.signature.person_id == person.pk and visit.operation_id in looks:
            yield visit, hold.signature.at, "signed the hold"


def _did(visit: Visit, person: Person) -> bool:
    if visit.worked_by_id is not None:
        return visit.worked_by_id == person.pk
    signed = [row for row in visit.done_signatures.all() if row.part != "on reject"]
    return any(row.signature.person_id == person.pk for row in signed)


def _operations(process: str) -> tuple[set[int], set[int]]:
    """Keys of the operations whose doer needs the process, and of those whose hold is signed by it."""
    work, looks = set(), set()
    named = Revision.objects.filter(text__contains=process).select_related("model").prefetch_related("operations")
    for revision in named:
        for row in revision.operations.all():
            asked = revision.card.operation(row.number)
            if process == asked.skill or process in {weld.process for weld in asked.welds}:
                work.add(row.pk)
            if asked.hold is not None and asked.hold.skill == process:
                looks.add(row.pk)
    return work, looks


def on_record(person: Person, process: str) -> dict[int, LapsedVisit]:
    """By pass, what stands in a look-back already."""
    rows = LapsedVisit.objects.filter(look_back__person=person, look_back__process=process)
    return {row.visit_id: row for row in rows.select_related("look_back")}


def by_axle(rows: Iterable[Lapsed]) -> dict[Axle, list[Lapsed]]:
    """What was done at each axle, and on a unit that is in it now."""
    rows = list(rows)
    holding = axles_holding({row.visit.item_id for row in rows})
    found: dict[Axle, list[Lapsed]] = {}
    for row in rows:
        own = [] if row.visit.axle is None else [row.visit.axle]
        for axle in dict.fromkeys([*own, *holding.get(row.visit.item_id, ())]):
            found.setdefault(axle, []).append(row)
    return dict(sorted(found.items(), key=lambda pair: pair[0].serial))


def by_unit(rows: Iterable[Lapsed]) -> dict[Unit, list[Lapsed]]:
    """What was done, in an axle or in none, on units that are in none now."""
    found: dict[Unit, list[Lapsed]] = {}
    for row in rows:
        unit: Unit | None = getattr(row.visit.item, "unit", None)
        if unit is not None and unit.axle_id is None:
            found.setdefault(unit, []).append(row)
    return dict(sorted(found.items(), key=lambda pair: pair[0].serial))


def classes_of(rows: Iterable[Lapsed]) -> set[str]:
    """The classes of what was done. A weld counts as a safety characteristic whatever else the operation measures
    (house rule: who may weld is what makes it sound)."""
    found: set[str] = set()
    for row in rows:
        asked = _asked(row)
        found |= {str(one.class_) for one in asked.characteristics}
        if asked.welds:
            found.add(CharacteristicClass.SAFETY)
    return found


def _asked(row: Lapsed) -> Asked:
    return row.visit.bench.card_revision.card.operation(row.visit.operation.number)


def tags_of(made: Collection[LapseLookBack]) -> dict[tuple[int, int | None], list[RedTag]]:
    """By look-back and axle, the red tags that putting it on record opened."""
    found: dict[tuple[int, int | None], list[RedTag]] = {}
    when = {(one.at, one.by_id): one.pk for one in made}
    rows = RedTag.objects.filter(axle__lapses__look_back__in=made).distinct().select_related("disposition")
    for tag in rows.order_by("number"):
        if (one := when.get((tag.opened_at, tag.opened_by_id))) is not None:
            found.setdefault((one, tag.axle_id), []).append(tag)
    return found


def lapse_list(person: Person, process: str, rows: list[Lapsed]) -> CsvList:
    head = ("axle", "on", "operation", "name", "what", "day of the work", "entered late", "why")
    lines = [
        (
            row.visit.bench.serial, row.visit.item.mark, row.visit.operation.number, row.visit.operation.name,
            row.what, row.on, row.late, row.why,
        )
        for row in rows
    ]  # fmt: skip
    return CsvList(f"{person.code}-{process}-lapsed", head, lines)
