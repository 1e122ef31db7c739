"""Computed characteristics: written by the program as soon as their inputs are there, and never typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from builds.actions.judging import judged_exactly
from builds.definitions.characteristic import Characteristic as Asked
from builds.definitions.computations import feeds
from builds.definitions.words import Kind
from builds.models import VisitState, of_bench
from builds.reports.at_hand import not_voided
from builds.reports.clocks import clocks_of
from builds.reports.part_values import given_by_parts
from builds.reports.recomputing import group_of, side_of, without_side
from builds.reports.work import Work
from measurements.engineering.computations import MissingInput, Result, as_decimal, compute
from measurements.engineering.units import Exact
from measurements.models import Characteristic, Reading, ReadingInput
from shop.errors import Refusal
from shop.record.act import Act

STORED_PLACES = 9
Computed = tuple[Mapping[str, Result], list[Reading]]
Inputs = Mapping[str, Mapping[str, Exact | None]]


def sheet_of(work: Work) -> int:
    """The newest sheet of the visit: its own."""
    return work.visit.sheet_links.order_by("-pk").values_list("sheet_id", flat=True)[0]


def characteristic_row(work: Work, code: str) -> Characteristic:
    """The card's row that readings point at."""
    found = work.rows.get(code)
    return found or Characteristic.objects.get(card_key=work.bench.card_revision.key, code=code)


def compute_from(a: Act, work: Work, code: str, sheet: int) -> tuple[list[Reading], Work]:
    """Compute everything at this visit that depends on `code`, near and far, as far as its inputs are there."""
    made: list[Reading] = []
    changed = {code}
    for planned in work.planned:
        asked = planned.characteristic
        if asked.kind is not Kind.COMPUTED or asked.computation is None:
            continue
        if changed.isdisjoint(found for _, found in asked.computation.inputs):
            continue
        rows = _compute(a, work, asked, sheet)
        if rows:
            made += rows
            changed.add(asked.code)
            tries = dict(work.tries)
            for row in rows:
                key = (asked.code, row.position)
                tries[key] = (*tries.get(key, ()), row)
            work = replace(work, tries=tries)
    return made, work


def compute_at_sight(a: Act, work: Work) -> tuple[list[Reading], Work]:
    """Compute what depends on no reading of this visit: hours since an event, by the server's clock. Work on paper was
    done earlier than it is entered, and its hours end when it was done."""
    made: list[Reading] = []
    at = min(work.visit.worked_at or a.now, a.now)
    for planned in work.planned:
        asked = planned.characteristic
        if asked.computation is not None and asked.computation.event:
            hours = hours_since(work, asked.computation.event, at)
            if hours is not None:
                made += _write(a, work, asked, ({"": Result(hours)}, []), sheet_of(work))
    return made, work


def compute_cited(a: Act, work: Work) -> tuple[list[Reading], Work]:
    """In a pass that asks single codes again: what is worked out from values that the part here brings along. They were
    read elsewhere, so nobody enters them, and nothing else of this pass would work it out anew."""
    made: list[Reading] = []
    for code in given_by_parts(work.slot) if work.visit.only else ():
        rows, work = compute_from(a, work, code, sheet_of(work))
        made += rows
    return made, work


def hours_since(work: Work, event: str, now: datetime) -> Fraction | None:
    """Hours from the last such event on the axle to now; None when there was none."""
    at = clocks_of(work.bench).events[work.bench.pk].get(event)
    return None if at is None else Fraction((now - at).total_seconds()) / 3600


def fit_of(work: Work, asked: Asked) -> Mapping[str, Result]:
    """Of a fit that is judged by the means of what is read here, the exact result of each group with its smallest and
    largest by reading; empty for every other computation."""
    named = asked.computation
    here = {planned.code for planned in work.slot.characteristics}
    if named is None or named.name != "interference_of_means" or not here.issuperset(code for _, code in named.inputs):
        return {}
    return _results(work, asked)[0]


def _compute(a: Act, work: Work, asked: Asked, sheet: int) -> list[Reading]:
    return _write(a, work, asked, _results(work, asked), sheet)


def _results(work: Work, asked: Asked) -> Computed:
    """The exact results as far as their inputs are there, and the readings that they come from."""
    assert asked.computation is not None
    inputs: dict[str, dict[str, Exact | None]] = {}
    sources: list[Reading] = []
    codes = dict(asked.computation.inputs)
    for role, code in codes.items():
        found = _readings(work, code)
        exact = _exact(work, code)
        inputs[role] = {
            without_side(position, work.side): _input(row, exact.get(position)) for position, row in found.items()
        }
        sources += [row for row in found.values() if row is not None]
    results: dict[str, Result] = {}
    for part in _by_position(asked, inputs):
        try:
            results |= compute(asked.computation.name, part, dict(asked.computation.constants), codes)
        except MissingInput:
            continue  # not all there yet: the finish names what is missing
        except (ValueError, ZeroDivisionError) as error:
            raise Refusal(f"{asked.code} {asked.name}: {error}", field="value") from error
    return results, sources


def _exact(work: Work, code: str) -> Mapping[str, Fraction]:
    """What is computed at this visit, by position, before it was rounded to be stored: worked out again."""
    planned = next((found for found in work.planned if found.code == code), None)
    if planned is None or planned.characteristic.computation is None or planned.characteristic.computation.event:
        return {}
    results, _ = _results(work, planned.characteristic)
    groups = {place.position: group_of(place.position, results) for place in work.places_of(planned)}
    return {position: results[group].value for position, group in groups.items() if group is not None}


def _readings(work: Work, code: str) -> dict[str, Reading | None]:
    """What counts at each position of this code: at this visit, or at the operation of the axle that asked it."""
    here = next((planned for planned in work.slot.characteristics if planned.code == code), None)
    if here is not None:
        return {place.position: place.last for place in work.places_of(here)}
    rows = (
        Reading.objects.standing()
        .filter(
            # One pass stands, though the sheet may be of one before it too that is to redo for another code.
            of_bench(work.bench, "sheet__visit_links__visit__"),
            sheet__visit_links__visit__state__in=set(VisitState) - {VisitState.REDO},
            characteristic__code=code,
        )
        .select_related("characteristic", "item__unit")
        .order_by("pk")
    )
    return {row.position: row for row in rows if side_of(row) in ("", work.side)}


def _input(reading: Reading | None, exact: Fraction | None) -> Exact | None:
    """What a reading is to a computation; a word (go, yes) counts as one.

    A value that was computed itself goes on exactly, and not as rounded to be stored: rounding it could take the next
    result over its limit.
    """
    if reading is None:
        return None
    if reading.value is None:
        return Decimal(1)
    if exact is not None and as_decimal(exact, STORED_PLACES) == reading.value:
        return exact
    return reading.value


def _by_position(asked: Asked, inputs: Inputs) -> list[Inputs]:
    """Inputs split so that each result is computed as soon as its own inputs are there.

    Where the card asks one result per position (arc energy of each weld) every position stands alone; where it asks
    one per side, or one for all, all readings of that group are needed.
    """
    labels = [label for planned in (asked.positions,) for label in planned.labels({})]
    positions = {position for readings in inputs.values() for position in readings}
    if set(labels) >= positions and positions != {""}:
        return [
            {role: {position: readings[position]} for role, readings in inputs.items() if position in readings}
            for position in sorted(positions)
        ]
    sides = sorted({side for position in positions if (side := position.partition(" ")[0]) in ("left", "right")})
    if len(sides) > 1:
        return [
            {
                role: {pos: value for pos, value in readings.items() if pos.partition(" ")[0] == side}
                for role, readings in inputs.items()
            }
            for side in sides
        ]
    return [inputs]


def _write(a: Act, work: Work, asked: Asked, computed: Computed, sheet: int) -> list[Reading]:
    """New rows for what has changed: one statement for the readings, one for what they were computed from."""
    results, sources = computed
    rows: list[Reading] = []
    planned = work.slot.planned(asked.code)
    for place in work.places_of(planned):
        group = group_of(place.position, results)
        if group is None:
            continue
        value = as_decimal(results[group].value, STORED_PLACES)
        last = place.tries[-1] if place.tries else None
        if last is not None and last.value == value and last is place.last and last.sheet_id == sheet:
            continue  # of a sheet of the pass before it came from other readings, and is written anew
        row: dict[str, Any] = {
            "sheet_id": sheet,
            "item_id": place.item,
            "characteristic": characteristic_row(work, asked.code),
            "position": place.position,
            "attempt": last.attempt + 1 if last else 1,
            "typed": format(as_decimal(results[group].value, asked.decimals), "f"),
            "unit_typed": asked.unit,
            "value": value,
            "low": asked.low,
            "high": asked.high,
            "never_above": asked.never_above,
            "verdict": judged_exactly(asked, results[group].value),
            "entered_at": a.now,
            "happened_at": a.now,
            "late": work.visit.late,
            "replaces": last,
            "reason": "computed again from new readings" if last else "",
        }
        reading = not_voided(a.create(Reading, **row))
        used = [found for found in sources if feeds(without_side(found.position, work.side), place.position)]
        a.create_many(ReadingInput, [{"computed": reading, "source": source} for source in used])
        rows.append(reading)
    return rows
