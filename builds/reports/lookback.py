"""What a gauge read since it was last known to be good, put right by the error found, and judged again.

The readings themselves stay as they were written. Exactly those are looked at whose calibration is the last good
one; for a setting ring, those that were set by it from the good calibration's day to the day it was found out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any

from django.db.models import Q, QuerySet

from builds.definitions.card import Card
from builds.models import Axle, Fitted, LookBack, RedTag, Visit, VisitState
from builds.reports.in_axles import axles_holding, came_into
from builds.reports.lookback_rows import Read, decimal_of, visits_of, whole
from builds.reports.part_values import before_rework
from builds.reports.recomputing import worked_out_again
from builds.reports.wording import limits_of
from measurements.engineering.computations import as_decimal
from measurements.engineering.errors import true_share
from measurements.engineering.limits import Limits, judge
from measurements.engineering.units import convert, same_dimension
from measurements.models import OUT, Calibration, Gauge, Reading, ReadingInput, VerdictWord
from shop.clock import shop_zone
from shop.models import ItemKind
from shop.models.fields import SCALE


@dataclass(frozen=True)
class Again:
    """One reading and what it would have been. `value` None: a word, which no figure corrects."""

    reading: Reading | Read
    value: Fraction | None
    verdict: str
    visits: tuple[Visit, ...] = ()
    replaced: bool = False
    voided: bool = False

    @property
    def changed(self) -> bool:
        """Whether in became out, or out became in; a word is never known to have stayed."""
        return not self.verdict or (self.verdict in OUT) != (self.reading.verdict in OUT)

    @property
    def counts(self) -> bool:
        """Not voided, no later try at its place, and its pass was not re-opened. What was read on a bought part belongs
        to the part, and counts wherever that goes."""
        opened = bool(self.visits) and all(visit.state == VisitState.REDO for visit in self.visits)
        opened = opened and self.reading.item.kind != ItemKind.PART
        return not (self.voided or self.replaced or opened)


@dataclass(frozen=True)
class Off:
    """A gauge, or ring, and its error, shown minus true (a ring: how much larger than its mark), in its own unit or
    in per cent of the true value."""

    gauge: Gauge
    error: Decimal
    in_percent: bool = False


#: A reading, its value put right, and the verdict on that.
_Row = tuple[Read, Fraction | None, str]


def last_good(found: Calibration) -> Calibration | None:
    """The calibration before: on its day the gauge was as its certificate says."""
    before = Calibration.objects.filter(gauge=found.gauge, made_on__lte=found.made_on).exclude(pk=found.pk)
    return before.filter(Q(made_on__lt=found.made_on) | Q(pk__lt=found.pk)).order_by("-made_on", "-pk").first()


def judged_again(found: Calibration) -> list[Again]:
    """Every reading that the error touches, near and, through what was computed from it, far; oldest first.

    A constant number of queries for each step from a reading to what is computed from it.
    """
    error, good = found.as_found, last_good(found)
    if not error or good is None:
        return []
    return put_right(_taken(found, good), Off(found.gauge, error, found.in_percent))


def if_it_were_off(off: Off, first: date, last: date) -> list[Again]:
    """The same for an error that nobody found: every reading that the gauge, or ring, took part in from the first day
    to the last, both included, whatever calibration was in force. A question: nothing is kept."""
    return put_right(_between(off.gauge, first, last), off)


def put_right(taken: QuerySet[Reading], off: Off) -> list[Again]:
    """These readings, and what was computed from them, with the error taken out."""
    right: dict[int, Fraction] = {}
    rows: dict[int, _Row] = {}
    correct = _correction(off)
    for reading in whole(taken):
        rows[reading.pk] = row = (reading, *correct(reading))
        if row[1] is not None:
            right[reading.pk] = row[1]
    level = _computed_from(taken.values("pk"), rows, right)
    while level:
        level = _computed_from(level, rows, right)
    return with_visits(rows.values())


def _taken(found: Calibration, good: Calibration) -> QuerySet[Reading]:
    if found.gauge.setting is None:
        return Reading.objects.filter(gauge=found.gauge, calibration=good)
    return _between(found.gauge, good.made_on, found.made_on)


def _between(gauge: Gauge, first: date, last: date) -> QuerySet[Reading]:
    begin = datetime.combine(first, time(), shop_zone())
    end = datetime.combine(last + timedelta(days=1), time(), shop_zone())
    taken = Reading.objects.filter(gauge=gauge) if gauge.setting is None else Reading.objects.filter(ring=gauge)
    return taken.filter(happened_at__gte=begin, happened_at__lt=end)


def _correction(off: Off) -> Callable[[Read], tuple[Fraction | None, str]]:
    """From a reading to its true value and the verdict on that. A gauge that reads high showed too much; a gauge set
    by a ring larger than its mark, too little.

    No value where no figure was read, or where the gauge's unit does not go into the drawing's. A gauge has steps, so
    the same figure under the same limits comes again and again, and is worked out once.
    """
    gauge, error = off.gauge, off.error
    share = true_share(error) if off.in_percent else None

    @lru_cache
    def shift(unit: str) -> Fraction | None:
        """What has to be added, in the unit of the drawing; in per cent it is the same in every unit."""
        if not same_dimension(gauge.unit, unit):
            return None
        own = convert(error, gauge.unit, unit, difference=True)
        return own if gauge.setting is not None else -own

    @lru_cache(maxsize=4096)
    def judged(exact: tuple[int | None, ...], unit: str) -> tuple[Fraction | None, str]:
        value, *limits = exact
        more = shift(unit)
        if value is None or more is None:
            return None, ""
        shown = Fraction(value, 10**SCALE)
        true = shown * share if share is not None else shown + more
        return true, VerdictWord.of(judge(true, Limits(*map(decimal_of, limits))))

    def correct(reading: Read) -> tuple[Fraction | None, str]:
        true, verdict = judged(reading.exact, reading.characteristic.unit)
        return true, VerdictWord.NONE if verdict and reading.verdict == VerdictWord.NONE else verdict

    return correct


def _verdict(reading: Read, value: Fraction) -> str:
    """By the limits of that moment; what had no limit then has none now."""
    if reading.verdict == VerdictWord.NONE:
        return VerdictWord.NONE
    return VerdictWord.of(judge(value, Limits(reading.low, reading.high, reading.never_above)))


def _computed_from(
    level: set[int] | QuerySet[Reading, Any], rows: dict[int, _Row], right: dict[int, Fraction]
) -> set[int]:
    """Work out what was computed from this level; gives the keys that were newly, or again, put right."""
    touched = ReadingInput.objects.filter(source_id__in=level).values("computed_id")
    sources: dict[int, list[Reading]] = {}
    for edge in ReadingInput.objects.filter(computed_id__in=touched).select_related(
        "source__characteristic", "source__item__unit"
    ):
        sources.setdefault(edge.computed_id, []).append(edge.source)
    computed = whole(Reading.objects.filter(pk__in=sources))
    cards = _cards_of(computed)
    moved = set()
    for reading in computed:
        asked = cards[reading.pk].characteristic(reading.characteristic.code)
        try:
            value = worked_out_again(reading, asked, sources[reading.pk], right)
        except (ValueError, ZeroDivisionError):
            value = None  # no figure comes out of the corrected ones: a person looks at it
        if value is None or right.get(reading.pk) == value:
            if reading.pk not in rows:
                rows[reading.pk] = (reading, None, "")
            continue
        right[reading.pk] = value
        rows[reading.pk] = (reading, value, _verdict(reading, value))
        moved.add(reading.pk)
    return moved


def _cards_of(readings: Iterable[Read]) -> Mapping[int, Card]:
    readings = list(readings)
    visits = visits_of(readings)
    found = {row.pk: visits[row.sheet_id][0].bench for row in readings if row.sheet_id in visits}
    return {pk: bench.card_revision.card for pk, bench in found.items()}


def with_visits(rows: Iterable[_Row]) -> list[Again]:
    """Each with the passes on whose sheets it stands, oldest first."""
    rows = sorted(rows, key=lambda row: row[0].pk)
    visits = visits_of(row[0] for row in rows)
    old = before_rework([row[0].pk for row in rows if row[0].item.kind == ItemKind.PART])
    return [
        Again(row, value, said, visits.get(row.sheet_id, ()), row.is_replaced or row.pk in old, row.is_voided)
        for row, value, said in rows
    ]


def axles_touched(rows: Iterable[Again]) -> dict[Axle, list[Again]]:
    """By axle, what counts there and changed its verdict: where it was measured, and where the unit or part is now."""
    changed = [row for row in rows if row.counts and row.changed]
    holding = axles_holding({row.reading.item_id for row in changed})
    found: dict[Axle, list[Again]] = {}
    for row in changed:
        own = [visit.axle for visit in row.visits if visit.axle is not None]
        for axle in dict.fromkeys([*own, *holding.get(row.reading.item_id, ())]):
            found.setdefault(axle, []).append(row)
    return dict(sorted(found.items(), key=lambda pair: pair[0].serial))


def changed_on(rows: Iterable[Again], axle: Axle) -> list[Again]:
    """What changed and concerns this axle: measured at one of its passes, or of a part or unit that was ever in it.

    Nothing that happens later takes anything away from it, so who may decide stays as grave as it was.
    """
    changed = [row for row in rows if row.changed]
    items = {row.reading.item_id for row in changed}
    units = came_into(axle).values("unit_id")
    fits = Fitted.objects.filter(Q(axle=axle) | Q(host__in=units), part_id__in=items)
    own = {*fits.values_list("part_id", flat=True), *units.filter(unit_id__in=items).values_list("unit_id", flat=True)}
    return [
        row for row in changed if row.reading.item_id in own or any(visit.axle_id == axle.pk for visit in row.visits)
    ]


def kept(made: LookBack) -> list[Again]:
    """What was put on record, as it was judged that day."""
    stored = {row.reading_id: row for row in made.readings.all()}
    readings = whole(Reading.objects.filter(judged_again__look_back=made))
    return with_visits((reading, stored[reading.pk].exact, stored[reading.pk].verdict) for reading in readings)


def opened_by(made: LookBack) -> QuerySet[RedTag]:
    """The red tags that putting it on record opened, by number."""
    return RedTag.objects.filter(reading__judged_again__look_back=made, opened_at=made.at).order_by("number")


@dataclass(frozen=True)
class Line:
    """One row of the page and of the list: original and corrected side by side."""

    again: Again
    serials: tuple[str, ...]
    original: str
    corrected: str
    limits: str
    verdict: str
    word: str

    @property
    def place(self) -> str:
        reading = self.again.reading
        words = f"{reading.characteristic.code} {reading.characteristic.name}"
        return f"{words}, {reading.position}" if reading.position else words


def lines(rows: Iterable[Again]) -> list[Line]:
    """What changed first, then by axle, in the order of the readings."""
    made = [line_of(row) for row in rows]
    return sorted(made, key=lambda line: (not (line.again.changed and line.again.counts), line.serials))


def line_of(row: Again) -> Line:
    """One reading in words."""
    reading, asked = row.reading, row.reading.characteristic
    serials = tuple(sorted({visit.axle.serial for visit in row.visits if visit.axle is not None}))
    places = asked.decimals
    original = reading.typed if reading.value is None else f"{as_decimal(reading.value, places):f}"
    corrected = "" if row.value is None else _figure(row.value, places)
    word = VerdictWord(row.verdict).label if row.verdict else "a person looks at it"
    limits = limits_of(reading.low, reading.high, places)
    return Line(row, serials, original, corrected, limits, VerdictWord(reading.verdict).label, word)


def _figure(value: Fraction, places: int) -> str:
    """With the places of the drawing; with two more where it does not end there, as a percentage seldom does, for a
    figure rounded up to its limit would contradict its verdict."""
    short = as_decimal(value, places)
    return f"{short:f}" if Fraction(short) == value else f"{as_decimal(value, places + 2):f}"
