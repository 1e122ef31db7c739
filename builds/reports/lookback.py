"""What a gauge read since it was last known to be good, put right by the error found, and judged again.

The readings themselves stay as they were written. Exactly those are looked at whose calibration is the last good
one; for a setting ring, those that were set by it from the good calibration's day to the day it was found out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import Q, QuerySet

from builds.definitions.card import Card
from builds.models import Axle, Fitted, LookBack, RedTag, Visit, VisitState
from builds.reports.recomputing import worked_out_again
from builds.reports.wording import limits_of
from measurements.engineering.computations import as_decimal
from measurements.engineering.errors import without_error
from measurements.engineering.limits import Limits, judge
from measurements.engineering.units import convert, same_dimension
from measurements.models import OUT, Calibration, Reading, ReadingInput, VerdictWord
from shop.clock import shop_zone

_WHOLE = ("characteristic", "item__unit", "voiding", "ring")


@dataclass(frozen=True)
class Again:
    """One reading and what it would have been. `value` None: a word, which no figure corrects."""

    reading: Reading
    value: Fraction | None
    verdict: str
    visits: tuple[Visit, ...] = ()
    replaced: bool = False

    @property
    def changed(self) -> bool:
        """Whether in became out, or out became in; a word is never known to have stayed."""
        return not self.verdict or (self.verdict in OUT) != (self.reading.verdict in OUT)

    @property
    def counts(self) -> bool:
        """Not voided, no later try at its place, and its pass was not re-opened."""
        voided = getattr(self.reading, "voiding", None) is not None
        opened = bool(self.visits) and all(visit.state == VisitState.REDO for visit in self.visits)
        return not (voided or self.replaced or opened)


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
    right: dict[int, Fraction] = {}
    rows: dict[int, Again] = {}
    for reading in _taken(found, good):
        value = _put_right(reading, found, error)
        if value is not None:
            right[reading.pk] = value
        rows[reading.pk] = Again(reading, value, _verdict(reading, value))
    level = set(rows)
    while level:
        level = _computed_from(level, rows, right)
    return _with_places(rows)


def _taken(found: Calibration, good: Calibration) -> QuerySet[Reading]:
    gauge = found.gauge
    begin = datetime.combine(good.made_on, time(), shop_zone())
    end = datetime.combine(found.made_on + timedelta(days=1), time(), shop_zone())
    by_ring = Q(ring=gauge, happened_at__gte=begin, happened_at__lt=end)
    by_gauge = Q(gauge=gauge, calibration=good)
    return Reading.objects.filter(by_gauge | by_ring).select_related(*_WHOLE).order_by("pk")


def _put_right(reading: Reading, found: Calibration, error: Decimal) -> Fraction | None:
    """The true value. A gauge that reads high showed too much; a gauge set by a ring larger than its mark, too little.

    None where no figure was read, or the gauge's unit does not go into the drawing's.
    """
    unit, own = reading.characteristic.unit, found.gauge.unit
    if reading.value is None or not same_dimension(own, unit):
        return None
    if found.in_percent:
        return without_error(reading.value, error)
    shift = convert(error, own, unit, difference=True)
    return Fraction(reading.value) + (shift if reading.ring_id == found.gauge_id else -shift)


def _verdict(reading: Reading, value: Fraction | None) -> str:
    """By the limits of that moment; what had no limit then has none now."""
    if value is None:
        return ""
    if reading.verdict == VerdictWord.NONE:
        return VerdictWord.NONE
    return VerdictWord.of(judge(value, Limits(reading.low, reading.high, reading.never_above)))


def _computed_from(level: set[int], rows: dict[int, Again], right: dict[int, Fraction]) -> set[int]:
    """Work out what was computed from this level; gives the keys that were newly, or again, put right."""
    touched = ReadingInput.objects.filter(source_id__in=level).values("computed_id")
    sources: dict[int, list[Reading]] = {}
    for edge in ReadingInput.objects.filter(computed_id__in=touched).select_related(
        "source__characteristic", "source__item__unit"
    ):
        sources.setdefault(edge.computed_id, []).append(edge.source)
    computed = Reading.objects.filter(pk__in=sources).select_related(*_WHOLE).order_by("pk")
    cards = _cards_of(sources)
    moved = set()
    for reading in computed:
        asked = cards[reading.pk].characteristic(reading.characteristic.code)
        try:
            value = worked_out_again(reading, asked, sources[reading.pk], right)
        except (ValueError, ZeroDivisionError):
            value = None  # no figure comes out of the corrected ones: a person looks at it
        if value is None or right.get(reading.pk) == value:
            if reading.pk not in rows:
                rows[reading.pk] = Again(reading, None, "")
            continue
        right[reading.pk] = value
        rows[reading.pk] = Again(reading, value, _verdict(reading, value))
        moved.add(reading.pk)
    return moved


def _cards_of(readings: Iterable[int]) -> Mapping[int, Card]:
    visits = _visits(readings)
    return {pk: found[0].axle.revision.card for pk, found in visits.items() if found[0].axle is not None}


def _visits(readings: Iterable[int]) -> dict[int, list[Visit]]:
    """The passes on whose sheets these readings stand, by the reading's key."""
    found: dict[int, list[Visit]] = {}
    links = Reading.objects.filter(pk__in=list(readings)).values_list("pk", "sheet__visit_links__visit_id")
    pairs = [(pk, visit) for pk, visit in links if visit is not None]
    wanted = Visit.objects.filter(pk__in={visit for _, visit in pairs})
    visits = {row.pk: row for row in wanted.select_related("axle__item", "axle__revision__model", "operation")}
    for pk, visit in pairs:
        found.setdefault(pk, []).append(visits[visit])
    return found


def _with_places(rows: dict[int, Again]) -> list[Again]:
    visits = _visits(rows)
    replaced = set(
        Reading.objects.filter(replaces_id__in=list(rows), voiding=None).values_list("replaces_id", flat=True)
    )
    return [
        Again(row.reading, row.value, row.verdict, tuple(visits.get(pk, ())), pk in replaced)
        for pk, row in sorted(rows.items())
    ]


def axles_touched(rows: Iterable[Again]) -> dict[Axle, list[Again]]:
    """By axle, what counts there and changed its verdict: where it was measured, and where the part is fitted now."""
    changed = [row for row in rows if row.counts and row.changed]
    fitted: dict[int, list[Axle]] = {}
    parts = Fitted.objects.now().filter(part_id__in={row.reading.item_id for row in changed}).exclude(axle=None)
    for edge in parts.select_related("axle__item", "axle__revision__model"):
        assert edge.axle is not None
        fitted.setdefault(edge.part_id, []).append(edge.axle)
    found: dict[Axle, list[Again]] = {}
    for row in changed:
        own = [visit.axle for visit in row.visits if visit.axle is not None]
        for axle in dict.fromkeys([*own, *fitted.get(row.reading.item_id, ())]):
            found.setdefault(axle, []).append(row)
    return dict(sorted(found.items(), key=lambda pair: pair[0].serial))


def changed_on(rows: Iterable[Again], axle: Axle) -> list[Again]:
    """What changed and concerns this axle: measured at one of its passes, or of a part that was ever in it.

    Nothing that happens later takes anything away from it, so who may decide stays as grave as it was.
    """
    changed = [row for row in rows if row.changed]
    items = {row.reading.item_id for row in changed}
    parts = set(Fitted.objects.filter(axle=axle, part_id__in=items).values_list("part_id", flat=True))
    return [
        row for row in changed if row.reading.item_id in parts or any(visit.axle_id == axle.pk for visit in row.visits)
    ]


def kept(made: LookBack) -> list[Again]:
    """What was put on record, as it was judged that day."""
    stored = made.readings.select_related(*(f"reading__{name}" for name in _WHOLE)).order_by("reading_id")
    rows = {row.reading_id: Again(row.reading, row.exact, row.verdict) for row in stored}
    return _with_places(rows)


def opened_by(made: LookBack) -> QuerySet[RedTag]:
    """The red tags that putting it on record opened, by number."""
    return RedTag.objects.filter(
        reading__judged_again__look_back=made, axle__look_backs__look_back=made, opened_at=made.at
    ).order_by("number")


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
    return Line(row, serials, original, corrected, limits, reading.get_verdict_display(), word)


def _figure(value: Fraction, places: int) -> str:
    """With the places of the drawing; with two more where it does not end there, as a percentage seldom does, for a
    figure rounded up to its limit would contradict its verdict."""
    short = as_decimal(value, places)
    return f"{short:f}" if Fraction(short) == value else f"{as_decimal(value, places + 2):f}"
