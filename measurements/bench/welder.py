"""At the weld bench: whether this welder, this procedure and the wire in hand hold on the day, as facts.

Refusals stay where they are, in the actions; this says what they would say before somebody stands in front of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from measurements.bench.answer import Answer, Line, Tone
from measurements.bench.given import Given

YES = "yes"
SOON_DAYS = 30
_GRAVITY = (Tone.STOP, Tone.DO, Tone.UNKNOWN, Tone.GO)


@dataclass(frozen=True, slots=True)
class _Found:
    """One of the three: its line, and a sentence where it is not simply right."""

    line: Line
    tone: Tone = Tone.GO
    says: str = ""


def welder_and_wire(given: Given) -> Answer:
    """Facts: today; welder, process, skill (yes, lapsed, none), skill_lapses, skill_used; procedure,
    procedure_in_force (yes, no); wire, wire_kind, wire_wanted, wire_opened, wire_expires. Days as 2026-03-02."""
    found = (_welder(given), _procedure(given), _wire(given))
    worst = min(found, key=lambda one: _GRAVITY.index(one.tone))
    says = worst.says if worst.tone is not Tone.GO else ""
    right = f"{given.fact('welder')}, {given.fact('procedure')} and wire {given.fact('wire')} hold today."
    return Answer(
        says or right,
        worst.tone,
        tuple(one.line for one in found),
        reason=tuple(one.says for one in found if one.says and one.says != says),
        assumed=("The people page, the shop's list of procedures and the label of the spool are right.",),
        source="house rule on the safe side of AWS D1.1 and ISO 9606-1: six calendar months without the process",
        validity="this day only; a use while lapsed, or entered late, renews nothing",
        caution=("Wrong wire cannot be seen in a finished weld: compare the label of the spool.",),
    )


def _welder(given: Given) -> _Found:
    name, process, state = given.fact("welder"), given.fact("process"), given.fact("skill")
    if not name:
        return _Found(Line("welder", "not known"), Tone.UNKNOWN, "Who welds is not known: scan the badge.")
    if state != YES:
        lapsed = _day(given, "skill_lapses")
        why = f"lapsed on {_words(lapsed)}" if lapsed else "was never given"
        return _Found(Line("welder", name, note=why), Tone.STOP, f"{name}'s skill in {process} {why}.")
    lapses, today = _day(given, "skill_lapses"), _day(given, "today")
    until = f"valid; lapses on {_words(lapses)} unless used" if lapses else "valid"
    soon = lapses is not None and today is not None and (lapses - today).days <= SOON_DAYS
    says = f"{name}'s skill in {process} lapses on {_words(lapses)}." if soon and lapses else ""
    return _Found(Line("welder", name, note=f"{process}: {until}"), says=says)


def _procedure(given: Given) -> _Found:
    name = given.fact("procedure")
    if given.fact("procedure_in_force") == YES:
        return _Found(Line("procedure", name, note="in force"))
    says = f"{name} is not in the shop's list in force today: ask the engineer."
    return _Found(Line("procedure", name, note="not in force"), Tone.STOP, says)


def _wire(given: Given) -> _Found:
    mark, kind, wanted = (given.fact(name) for name in ("wire", "wire_kind", "wire_wanted"))
    if not mark:
        return _Found(Line("wire", "none scanned", note=wanted), Tone.DO, f"No wire is scanned yet: scan {wanted}.")
    expires, today, opened = (_day(given, name) for name in ("wire_expires", "today", "wire_opened"))
    dates = [f"opened on {_words(opened)}"] if opened else []
    dates.append(f"expires on {_words(expires)}" if expires else "no expiry on record")
    line = Line("wire", mark, note="; ".join((kind, *dates)))
    if kind != wanted:
        return _Found(line, Tone.STOP, f"Wire {mark} is {kind}; this weld takes {wanted}.")
    if expires is not None and today is not None and expires < today:
        return _Found(line, Tone.STOP, f"Wire {mark} expired on {_words(expires)}: take another spool.")
    return _Found(line)


def _day(given: Given, name: str) -> date | None:
    text = given.fact(name)
    return date.fromisoformat(text) if text else None


def _words(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
