"""A skill had lapsed: put on record what was done meanwhile, stop what is still here, decide about what has left."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Q

from builds.actions.settling import Settled, decision_of
from builds.actions.tagging import NUMBERS, Wrong, open_tag
from builds.definitions.words import skill_words
from builds.errors import MovedOn, NotYours
from builds.models import Axle, Bench, LapsedAxle, LapsedDecision, LapsedVisit, LapseLookBack, RedTag
from builds.reports.in_axles import came_into
from builds.reports.lapses import Lapsed, by_axle, by_unit, classes_of, lapsed_work, on_record
from shop.actions.people import subject_of
from shop.actions.signing import Grant
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Person, Role
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

MAY_LOOK = (Role.INSPECTOR, Role.ENGINEER, Role.QUALITY)


def look_back_over_lapse(*, person: Person, process: str, by: Who, now: datetime | None = None) -> LapseLookBack:
    """Put on record what was found since the last time, and stop every axle of it that is still here, and every unit
    that is in none.

    All axles and units are locked at once with the person, so that no lock waits for another one of ours.
    """
    subjects = _subjects(_fresh(person, process))
    with act("skill.looked_back", subject=subject_of(person), by=by, now=now, also=(*subjects, NUMBERS)) as a:
        require_role(by, MAY_LOOK, shop_day(a.now))
        rows = _fresh(person, process)
        touched = by_axle(rows)
        if not rows:
            raise MovedOn("Everything found is on record already. Look at the page again.")
        if set(_subjects(rows)) - set(subjects):
            raise MovedOn("Another axle was entered just now. Press once more.")
        assert by.person is not None
        made = a.create(LapseLookBack, person=person, process=process, by=by.person, at=a.now)
        kept = [{"look_back": made, "visit": row.visit, "on": row.on, "late": row.late} for row in rows]
        a.create_many(LapsedVisit, kept)
        tags = {axle: _stop(a, person, axle, own, by) for axle, own in touched.items()}
        alone = by_unit(rows)
        for own in alone.values():
            _tags_on(a, person, None, own, by)
        a.create_many(LapsedAxle, [{"look_back": made, "axle": axle, "tag": tag} for axle, tag in tags.items()])
        a.note(
            process=process,
            passes=len(rows),
            axles=[axle.serial for axle in tags],
            units=[unit.serial for unit in alone],
        )
    return made


def _fresh(person: Person, process: str) -> list[Lapsed]:
    known = on_record(person, process)
    return [row for row in lapsed_work(person, process) if row.visit.pk not in known]


def _still_here(axles: Iterable[Axle]) -> list[Axle]:
    return [axle for axle in axles if axle.closed_at is None and axle.scrapped_at is None]


def _subjects(rows: list[Lapsed]) -> list[str]:
    benches: list[Bench] = [*_still_here(by_axle(rows)), *by_unit(rows)]
    return [bench.subject for bench in benches]


def _stop(a: Act, person: Person, axle: Axle, rows: list[Lapsed], by: Who) -> RedTag | None:
    """The first red tag that stops it. None on an axle that is not here any more."""
    return _tags_on(a, person, axle, rows, by)[0] if _still_here([axle]) else None


def _tags_on(a: Act, person: Person, axle: Axle | None, rows: list[Lapsed], by: Who) -> list[RedTag]:
    """A red tag for each pass, since each is decided for itself."""
    return [
        open_tag(
            wrong=Wrong(row.visit.item, _cause(person, row), axle, row.visit.operation, stops_axle=axle is not None),
            by=by,
            now=a.now,
        )
        for row in rows
    ]


def _cause(person: Person, row: Lapsed) -> str:
    operation = row.visit.operation
    late = ", entered late from paper" if row.late else ""
    done = f"Operation {operation.number} {operation.name}: {person.name} {row.what} on {row.on:%d %b %Y}{late}."
    return f"{row.why} {done}"[:400]


def settle_lapse(*, row: LapsedAxle, settled: Settled, grant: Grant, by: Who, now: datetime | None = None) -> None:
    """Sign what becomes of a closed axle. An axle that is still here is decided by its red tags."""
    row = LapsedAxle.objects.select_related("axle__item", "look_back__person", "tag").get(pk=row.pk)
    with act("lapse.decided", subject=row.axle.subject, by=by, now=now) as a:
        if row.tag is not None:
            raise Refusal(f"{row.axle.serial} is stopped by red tag {row.tag.number}. Decide there.")
        if LapsedDecision.objects.filter(axle=row).exists():
            raise MovedOn(f"{row.axle.serial} has been decided already. Look at the page again.")
        if by.person == row.look_back.person:
            raise NotYours(f"{row.look_back.person.name} did this work. Somebody else decides about it.")
        found = of_axle(row)
        made = decision_of(
            a,
            serial=row.axle.serial,
            classes=classes_of(found),
            known_on=max(one.on for one in found),
            settled=settled,
            grant=grant,
            by=by,
        )
        a.create(LapsedDecision, axle=row, **made)
        a.note(process=skill_words(row.look_back.process), outcome=settled.outcome, reason=made["reason"])


def of_axle(row: LapsedAxle) -> list[Lapsed]:
    """The passes of one axle of a look-back, as they were put on record."""
    units = came_into(row.axle).values("unit_id")
    kept = LapsedVisit.objects.filter(
        Q(visit__axle=row.axle_id) | Q(visit__axle=None, visit__item__in=units), look_back=row.look_back_id
    )
    own = {one.visit_id for one in kept}
    return [one for one in lapsed_work(row.look_back.person, row.look_back.process) if one.visit.pk in own]
