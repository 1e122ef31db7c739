"""Give the advices that the card names at an operation, and keep each beside the try it was given for.

An advice is worked out from readings that stand in the record, in the same transaction as the entry that changed it.
It never signs and never touches a reading; a new answer is a new row.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from django.db.models import F

from builds.actions.computing import sheet_of
from builds.definitions.card import AdviceCall, Card
from builds.definitions.characteristic import Characteristic as Asked
from builds.models import Visit, VisitState, of_bench
from builds.reports.beside_advice import Facts, Row, facts_of, given_by_heat, heats_welded, steel_rows
from builds.reports.kit import slot_of
from builds.reports.work import Work, work_of
from measurements.bench.advice import ADVICE, advise
from measurements.bench.answer import Answer
from measurements.bench.given import Given, Value
from measurements.engineering.limits import Limits
from measurements.models import Advised, Reading
from shop.record.act import Act

_COLUMNS = {
    "code": F("characteristic__code"),
    "side": F("sheet__visit_links__visit__item__unit__side"),
}


#: A reading of a re-opened pass counts no more.
_COUNTING = [state for state in VisitState if state != VisitState.REDO]


def give_advice(a: Act, work: Work, sheet: int, *, after: Reading | None = None, changed: Iterable[str] = ()) -> bool:
    """Keep each advice of this operation whose answer is new; with `changed`, only those that these codes, or facts
    of these names, feed. Gives whether there was one.

    Two queries and one statement per new answer; none at an operation without advice. Steel takes two queries more,
    welder, procedure and wire four.
    """
    names = set(changed)
    fed = [(call, _fed_by(call)) for call in work.slot.operation.advice]
    calls = [call for call, by in fed if not names or not names.isdisjoint(by)]
    if not calls:
        return False
    said = False
    card = work.bench.card_revision.card
    told = _told(work)
    rows, facts = _told_with(a, work, calls)
    for call in calls:
        for side in (work.side,) if work.side or not call.by_side else card.sides:
            answer = answer_to(card, call, rows, side, facts)
            text = answer.as_json()
            if told.get((call.name, side)) != text:
                a.create(Advised, sheet_id=sheet, name=call.name, side=side, answer=text, after=after, at=a.now)
                a.note(**{f"advised {call.name} {side}".strip(): answer.says})
                said = True
    return said


def advise_on_part(a: Act, visit: Visit, role: str) -> None:
    """What a part scanned in changes: only where an advice of the operation is told of such a part."""
    told = {name for call in slot_of(visit).operation.advice for name in ADVICE[call.name].facts if name in role}
    if told:
        work = work_of(visit)
        give_advice(a, work, sheet_of(work), changed=told)


def _fed_by(call: AdviceCall) -> set[str]:
    """The codes and the facts whose change asks for an advice anew; of one that is given once a pass, only those that
    sharpen it."""
    entry = ADVICE[call.name]
    codes = {code for role, code in call.inputs if not entry.once or role in entry.may_have}
    return codes | set(entry.facts)


def _told_with(a: Act, work: Work, calls: Sequence[AdviceCall]) -> tuple[list[Row], Facts]:
    """The readings of these advices, those of the steel among them, and the facts they are told."""
    codes = {code for call in calls for _, code in call.inputs}
    wanted = {name for call in calls for name in ADVICE[call.name].facts}
    steel = given_by_heat(work.bench.card_revision.card, codes)
    heats = heats_welded(work) if steel or "heats" in wanted else []
    rows = _readings(work, codes - steel, earlier=any(ADVICE[call.name].tries for call in calls))
    if steel:
        rows += steel_rows(heats, steel)
    return rows, facts_of(work, wanted, heats, a.by.person, a.now) if wanted else []


def _told(work: Work) -> dict[tuple[str, str], str]:
    """The newest answer to each advice at this pass."""
    rows = Advised.objects.filter(sheet__visit_links__visit=work.visit).order_by("pk")
    return {(name, side): answer for name, side, answer in rows.values_list("name", "side", "answer")}


def _readings(work: Work, codes: set[str], *, earlier: bool) -> list[Row]:
    """Every reading of these codes at the passes of this axle that count, oldest first; `earlier`: at the passes that
    were opened again too, which count no more."""
    rows = Reading.objects.standing().filter(
        of_bench(work.bench, "sheet__visit_links__visit__"),
        characteristic__code__in=codes,
        characteristic__card_key=work.bench.card_revision.key,
        sheet__visit_links__visit__state__in=list(VisitState) if earlier else _COUNTING,
    )
    told = rows.order_by("pk").values_list(
        "position",
        "value",
        "typed",
        *_COLUMNS.values(),
        "sheet__visit_links__visit",
        "sheet__visit_links__visit__state",
    )
    return [Row(*row[:-1])._replace(counts=row[-1] in _COUNTING) for row in told]


def answer_to(
    card: Card, call: AdviceCall, rows: Sequence[Row], side: str = "", facts: Sequence[tuple[str, str, str]] = ()
) -> Answer:
    """The answer from the rows of the readings it is fed with: the newest at each position; of a side, its own only."""
    asked = {role: card.characteristic(code) for role, code in call.inputs}
    given = Given(
        readings=_by_role(card, call, [row for row in rows if row.counts], side),
        limits={role: _limits(found) for role, found in asked.items() if _has_limits(found)},
        figures=dict(call.figures),
        facts=_facts(call, facts, side),
        tries=_tries(card, call, rows, side) if ADVICE[call.name].tries else (),
    )
    return advise(call.name, given, {role: f"{found.code} {found.name}" for role, found in asked.items()})


def _by_role(card: Card, call: AdviceCall, rows: Sequence[Row], side: str) -> dict[str, dict[str, Value]]:
    """The newest at each position, by role."""
    readings: dict[str, dict[str, Value]] = {}
    for role, code in call.inputs:
        for row in (row for row in rows if row.code == code):
            position = _on_side(row, side, card.sides)
            if position is not None:
                readings.setdefault(role, {})[position] = row.typed if row.value is None else row.value
    return readings


def _tries(
    card: Card, call: AdviceCall, rows: Sequence[Row], side: str
) -> tuple[Mapping[str, Mapping[str, Value]], ...]:
    """Each pass at the last operation that feeds the advice, with what stood from the operations before it then."""
    last = max((operation_of(code) for _, code in call.inputs), default=0)
    passes = dict.fromkeys(row.visit for row in rows if operation_of(row.code) == last)
    found = []
    for visit in passes:
        end = max(at for at, row in enumerate(rows) if row.visit == visit)
        stood = [row for row in rows[: end + 1] if row.visit == visit or operation_of(row.code) != last]
        found.append(_by_role(card, call, stood, side))
    return tuple(found)


def operation_of(code: str) -> int:
    """The number of the operation that a code begins with."""
    return int(code.partition(".")[0])


def _on_side(row: Row, side: str, sides: Sequence[str]) -> str | None:
    """The position without its side; None when it is of the other side, by its own words or by its unit's."""
    if not side:
        return row.position
    first, _, rest = row.position.partition(" ")
    own = first if first in sides else row.side or side
    if own != side:
        return None
    return rest if first in sides else row.position


def _limits(asked: Asked) -> Limits:
    return Limits(asked.low, asked.high, asked.never_above)


def _has_limits(asked: Asked) -> bool:
    return any(limit is not None for limit in (asked.low, asked.high, asked.never_above))


def _facts(call: AdviceCall, facts: Sequence[tuple[str, str, str]], side: str) -> dict[str, str]:
    """Those of this side, or of every side where there is none; an advice that is told no facts is told none."""
    if not ADVICE[call.name].facts:
        return {}
    told: dict[str, str] = {}
    for name, own, words in facts:
        if not side or own in ("", side):
            told[name] = f"{told[name]}; {words}" if name in told else words
    return told
