"""What a signed pass leaves behind of its arcs: a record of each weld, and the use that keeps its welder's skill."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from builds.definitions.card import Weld as Joint
from builds.definitions.words import skill_words
from builds.models import Weld, WeldProcedure
from builds.reports.work import Place, Work, wire_of
from shop.actions.skills import note_use
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Person
from shop.record.act import Act


def keep_welds(a: Act, work: Work) -> None:
    """One record for each weld; one on a joint that has a weld already is a repair of it."""
    visit = work.visit
    for weld in work.slot.welds:
        procedure = _procedure(weld, visit.worked_at or a.now)
        wire = wire_of(work)
        for place in _arcs(work, weld):
            joint = f"{weld.joint} {place.position}".strip()
            before = Weld.objects.filter(item=visit.item, joint=joint, repaired_by=None).order_by("-pk").first()
            a.create(
                Weld,
                visit=visit,
                item=visit.item,
                joint=joint,
                procedure=procedure,
                welder=_welder(a, work, place),
                wire=wire.part if wire is not None else None,
                ended_at=visit.worked_at or a.now,
                entered_at=a.now,
                late=visit.late,
                repairs=before,
            )


def _arcs(work: Work, weld: Joint) -> Iterator[Place]:
    """The single welds of a joint that this pass asked for."""
    return (place for place in work.places if place.asked.code == weld.positions_of)


def _welder(a: Act, work: Work, place: Place) -> Person | None:
    """Who stood at this weld and entered its readings; a colleague may sign the pass that two of them shared. On paper
    it is said who."""
    read = place.last.person if place.last is not None else None
    return work.visit.worked_by or read or a.by.person


def _procedure(weld: Joint, at: datetime) -> WeldProcedure:
    """The procedure that the card names, in force on the day of the arc and qualified for its process."""
    found = WeldProcedure.objects.filter(code=weld.procedure, revision=weld.procedure_revision).first()
    day = shop_day(at)
    if found is None:
        named = f"{weld.procedure} rev {weld.procedure_revision}"
        raise Refusal(f"Weld procedure {named} is not in the shop's list. Ask the engineer.")
    if not found.in_force(day):
        raise Refusal(f"Weld procedure {found} was not in force on {day:%d %b %Y}. Ask the engineer.")
    if found.process != weld.process:
        listed, asked = map(skill_words, (found.process, weld.process))
        raise Refusal(f"Weld procedure {found} is for {listed}; this joint is welded by {asked}. Ask the engineer.")
    return found


def keep_skills(a: Act, work: Work) -> None:
    """Keep the day's use of each process, for who laid its arcs. Work entered late, or done while lapsed, renews
    nothing; nor does a pass that asked only for something beside the weld and laid no arc."""
    if work.visit.late or a.by.person is None:
        return
    operation, day = work.slot.operation, shop_day(a.now)
    hands = {weld.process: set[Person]() for weld in operation.welds}
    for weld in work.slot.welds:
        hands[weld.process] |= {who for place in _arcs(work, weld) if (who := _welder(a, work, place)) is not None}
    if operation.skill:
        hands.setdefault(operation.skill, {a.by.person})
    for process, people in hands.items():
        for person in sorted(people, key=lambda one: one.pk):
            note_use(a, person=person, process=process, on=day, source=f"{work.bench.serial} {operation.number}")
