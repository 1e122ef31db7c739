"""A gauge was found off: judge again what it read, stop what is still here, and decide about what has left."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from builds.actions.computing import STORED_PLACES
from builds.actions.loose import kits_with, to_shelf
from builds.actions.settling import Settled, decision_of
from builds.actions.tagging import NUMBERS, Wrong, open_tag
from builds.errors import MovedOn
from builds.models import Axle, Bench, JudgedAgain, LookBack, LookBackAxle, LookBackDecision, RedTag
from builds.reports.in_axles import axles_holding
from builds.reports.lookback import (
    Again,
    axles_touched,
    changed_on,
    judged_again,
    kept,
    last_good,
    line_of,
)
from builds.reports.lookback_units import parts_touched, units_touched
from measurements.actions.gauges import KEEPERS
from measurements.engineering.computations import as_decimal
from measurements.engineering.limits import plain
from measurements.models import Calibration, CharacteristicClass, Reading
from shop.actions.signing import Grant
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, ItemKind
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who


def look_back(*, found: Calibration, by: Who, now: datetime | None = None) -> LookBack:
    """Put the look-back over what the gauge read on record, and stop every axle here with a verdict that changed, and
    every unit and part that is in none.

    All axles and units are locked at once with the gauge, so that no lock waits for another one of ours.
    """
    found = Calibration.objects.select_related("gauge__item").get(pk=found.pk)
    subjects = _subjects(judged_again(found))
    with act("gauge.looked_back", subject=found.gauge.item.subject, by=by, now=now, also=(*subjects, NUMBERS)) as a:
        require_role(by, KEEPERS, shop_day(a.now))
        good, error = _good(found)
        rows = judged_again(found)
        touched = axles_touched(rows)
        if set(_subjects(rows)) - set(subjects):
            raise MovedOn("Another axle was measured with this gauge just now. Press once more.")
        assert by.person is not None
        made = a.create(LookBack, found=found, good=good, error=error, person=by.person, at=a.now)
        _keep(a, made, rows)
        tags = {axle: _stop(a, made, axle, changed, by) for axle, changed in touched.items()}
        a.create_many(LookBackAxle, [{"look_back": made, "axle": axle, "tag": tag} for axle, tag in tags.items()])
        alone = units_touched(rows)
        for unit, changed in alone.items():
            _tags_on(a, made, unit, changed, by)
        loose = parts_touched(rows)
        for part, changed in loose.items():
            _tags_on_part(a, made, part, changed, by)
        a.note(
            readings=len(rows),
            axles=[axle.serial for axle in tags],
            units=[unit.serial for unit in alone],
            parts=[part.mark for part in loose],
            error=f"{plain(error)} {found.error_unit}",
        )
    return made


def _good(found: Calibration) -> tuple[Calibration, Decimal]:
    """The last good calibration and the error found since."""
    good = last_good(found)
    if not found.as_found:
        raise Refusal("This calibration found no error, so there is nothing to look back for.")
    if good is None:
        raise Refusal("No earlier calibration is on record: with this gauge nothing could have been read.")
    if LookBack.objects.filter(found=found).exists():
        raise MovedOn("This look-back is on record already. Look at the page again.")
    return good, found.as_found


def _keep(a: Act, made: LookBack, rows: list[Again]) -> None:
    a.create_many(
        JudgedAgain,
        [
            {
                "look_back": made,
                "reading_id": row.reading.pk,
                "value": None if row.value is None else as_decimal(row.value, STORED_PLACES),
                "verdict": row.verdict,
            }
            for row in rows
        ],
    )


def _still_here(axles: Iterable[Axle]) -> list[Axle]:
    return [axle for axle in axles if axle.closed_at is None and axle.scrapped_at is None]


def _subjects(rows: list[Again]) -> list[str]:
    benches: list[Bench] = [*_still_here(axles_touched(rows)), *units_touched(rows)]
    loose = list(parts_touched(rows))
    found = [*(bench.subject for bench in benches), *(part.subject for part in loose), *kits_with(loose)]
    return list(dict.fromkeys(found))


def _stop(a: Act, made: LookBack, axle: Axle, changed: list[Again], by: Who) -> RedTag | None:
    """The first red tag that stops it. None on an axle that is not here any more."""
    return _tags_on(a, made, axle, changed, by)[0] if _still_here([axle]) else None


def _tags_on(a: Act, made: LookBack, bench: Bench, changed: list[Again], by: Who) -> list[RedTag]:
    """A red tag for each value that changed, the gravest first, since each is decided for itself. It lies on what was
    read, a unit or a part, where that is in the axle: if it goes, its tag goes with it."""
    axle = bench.as_axle
    inside = _in_it(axle, {row.reading.item_id for row in changed}) if axle is not None else set()
    grave = _gravest_first(changed)
    readings = Reading.objects.select_related("characteristic", "item").in_bulk([row.reading.pk for row in grave])
    return [
        open_tag(
            wrong=Wrong(
                readings[row.reading.pk].item if row.reading.item_id in inside else bench.item,
                _cause(made, row),
                axle,
                reading=readings[row.reading.pk],
                stops_axle=axle is not None,
            ),
            by=by,
            now=a.now,
        )
        for row in grave
    ]


def _tags_on_part(a: Act, made: LookBack, part: Item, changed: list[Again], by: Who) -> None:
    """The same on a part that is in nothing: it leaves its kit and goes to the red-tag shelf."""
    grave = _gravest_first(changed)
    readings = Reading.objects.select_related("characteristic").in_bulk([row.reading.pk for row in grave])
    for row in grave:
        open_tag(wrong=Wrong(part, _cause(made, row), reading=readings[row.reading.pk]), by=by, now=a.now)
    to_shelf(a, part)


def _gravest_first(changed: Iterable[Again]) -> list[Again]:
    by_class = [CharacteristicClass.SAFETY, CharacteristicClass.FIT, CharacteristicClass.LOOK, ""]
    return sorted(changed, key=lambda row: by_class.index(row.reading.characteristic.class_code))


def _in_it(axle: Axle, items: set[int]) -> set[int]:
    """Of these items the units and the parts with one place that are in the axle now."""
    single = Item.objects.filter(pk__in=items, kind__in=(ItemKind.UNIT, ItemKind.PART)).values_list("pk", flat=True)
    return {item for item, axles in axles_holding(list(single)).items() if axle in axles}


def _cause(made: LookBack, row: Again) -> str:
    gauge = made.found.gauge
    line = line_of(row)
    found = f"is {line.corrected}, {line.word}" if line.corrected else "is to be looked at"
    return (
        f"Gauge {gauge.item.mark} was found off by {plain(made.found.as_found or Decimal(0))} {made.found.error_unit}:"
        f" {line.place} was read {line.original} and {found}."
    )


def settle(*, row: LookBackAxle, settled: Settled, grant: Grant, by: Who, now: datetime | None = None) -> None:
    """Sign what becomes of a closed axle. An axle that is still here is decided by its red tag."""
    row = LookBackAxle.objects.select_related("axle__item", "look_back__found__gauge__item", "tag").get(pk=row.pk)
    with act("look_back.decided", subject=row.axle.subject, by=by, now=now) as a:
        if row.tag is not None:
            raise Refusal(f"{row.axle.serial} is stopped by red tag {row.tag.number}. Decide there.")
        if LookBackDecision.objects.filter(axle=row).exists():
            raise MovedOn(f"{row.axle.serial} has been decided already. Look at the page again.")
        made = decision_of(
            a,
            serial=row.axle.serial,
            classes=classes_of(changed_on(kept(row.look_back), row.axle)),
            known_on=row.look_back.found.made_on,
            settled=settled,
            grant=grant,
            by=by,
        )
        a.create(LookBackDecision, axle=row, **made)
        a.note(gauge=row.look_back.found.gauge.item.mark, outcome=settled.outcome, reason=made["reason"])


def classes_of(changed: Iterable[Again]) -> set[str]:
    """The classes of what changed."""
    return {row.reading.characteristic.class_code for row in changed}
