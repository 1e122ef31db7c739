"""A look-back over a gauge beside hand-written SQL that only fetches the same readings.

3,000 torque readings of one wrench on 250 axles, each judged again with 4 per cent taken out; among as many readings of
other gauges. Budget: twice the SQL, and 20 microseconds for every judgement.

Prints; asserts that both know the same readings and that every value is the one worked out apart from it. Run it on its
own, with nothing else on the machine:
    python3 manage.py test -m benchmark tests/benchmarks/look_back.py -s -n0
"""

from __future__ import annotations

import statistics
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import count
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds.models import Axle, Operation, Phase, Visit, VisitSheet, VisitState
from builds.reports.lookback import Again, judged_again
from measurements.actions.gauges import Calibrated, calibrate
from measurements.models import Calibration, Characteristic, Gauge, Reading, Sheet, VerdictWord
from shop.clock import shop_day
from shop.models import Item, ItemKind
from shop.models.hot_cursor import hot_cursor
from tests.benchmarks.rounds import ROUNDS, Taken, commit_ms, told
from tests.shopfloor import Floor, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark, pytest.mark.timeout(900)]
AXLES, BOLTS, TIMES = 250, 12, 3
READINGS = AXLES * BOLTS
BUDGET, JUDGEMENT_S = 2.0, 20e-6
PERCENT = Decimal(4)
#: What the page shows of each reading, its axle among it, as somebody would ask for it by hand.
BY_HAND = """SELECT r.id, r.item_id, r.position, r.attempt, r.typed, r.unit_typed, r.value, r.low, r.high,
  r.never_above, r.verdict, c.code, c.name, c.unit, c.decimals, c.class_code, i.mark, z.id,
  v.id, v.state, v.number, o.number, a.mark,
  EXISTS (SELECT 1 FROM measurements_reading n LEFT JOIN measurements_voiding w ON w.reading_id = n.id
          WHERE n.replaces_id = r.id AND w.id IS NULL)
FROM measurements_reading r JOIN measurements_characteristic c ON c.id = r.characteristic_id
JOIN shop_item i ON i.id = r.item_id LEFT JOIN measurements_voiding z ON z.reading_id = r.id
LEFT JOIN builds_visitsheet s ON s.sheet_id = r.sheet_id LEFT JOIN builds_visit v ON v.id = s.visit_id
LEFT JOIN builds_operation o ON o.id = v.operation_id LEFT JOIN shop_item a ON a.id = v.axle_id
WHERE r.gauge_id = %s AND r.calibration_id = %s ORDER BY r.id"""


def tightened(floor: Floor, gauge: Gauge, good: Calibration, marks: Any) -> None:
    """A ring gear of 12 bolts on each axle, 100 to 110 ft-lb read as 96 to 114, as the pages would have left it."""
    like = floor.orders[0].lines.get().axles.order_by("pk")[0]
    at, tam = floor.now, floor.people["tam"]
    operation = Operation.objects.get(revision=floor.revision, number=220)
    bolt = Characteristic.objects.get(asked_at__operation=operation, code="220.1")
    items = Item.objects.bulk_create(
        Item(kind=ItemKind.AXLE, sort="", mark=f"OLD-{next(marks):06}") for _ in range(AXLES)
    )
    Axle.objects.bulk_create(
        Axle(
            item=item,
            line=like.line,
            revision=like.revision,
            options=like.options,
            phase=Phase.GONE,
            booked_at=at,
            closed_at=at,
        )
        for item in items
    )
    visits = Visit.objects.bulk_create(
        Visit(item=item, axle_id=item.pk, operation=operation, state=VisitState.DONE, claimed_by=tam, claimed_at=at,
              done_at=at) for item in items
    )  # fmt: skip
    sheets = Sheet.objects.bulk_create(Sheet(item=item, opened_at=at) for item in items)
    VisitSheet.objects.bulk_create(
        VisitSheet(visit=visit, sheet=sheet) for visit, sheet in zip(visits, sheets, strict=True)
    )
    Reading.objects.bulk_create(
        Reading(
            sheet=sheet, item_id=sheet.item_id, characteristic=bolt, position=str(place), typed=str(figure),
            unit_typed="ft-lb", value=Decimal(figure), low=Decimal(100), high=Decimal(110), person=tam,
            verdict=VerdictWord.BELOW if figure < 100 else VerdictWord.ABOVE if figure > 110 else VerdictWord.IN,
            gauge=gauge, calibration=good, entered_at=at, happened_at=at,
        )
        for number, sheet in enumerate(sheets) for place in range(1, BOLTS + 1)
        for figure in [96 + (number + place) % 19]
    )  # fmt: skip


@pytest.fixture
def found(transactional_db: None) -> Calibration:
    """The calibration that finds the wrench 4 per cent high, after all of it."""
    floor = open_shop()
    floor.axle()
    marks, by, now = count(1), floor.who("wenzel"), floor.now + timedelta(days=1)
    wrench, other = (Gauge.objects.get(item__mark=mark) for mark in ("G-042", "G-043"))
    for gauge in (wrench, other):
        tightened(floor, gauge, gauge.calibrations.get(), marks)
    day = shop_day(now)
    done = Calibrated(day, day + timedelta(days=365), "LAB-2", PERCENT, Decimal(0), in_percent=True)
    made = calibrate(gauge=wrench, calibrated=done, by=by, now=now)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return Calibration.objects.select_related("gauge__item").get(pk=made.pk)


def agree(rows: list[Again], hand: list[tuple[Any, ...]]) -> None:
    """On every reading, its axle, and the value that comes out when the error is taken out with other arithmetic."""
    assert [(row.reading.pk, row.visits[0].axle_id is not None) for row in rows] == [(one[0], True) for one in hand]
    assert len(rows) == READINGS
    assert [row.visits[0].axle.serial for row in rows if row.visits[0].axle is not None] == [one[22] for one in hand]
    for row in rows:
        assert row.reading.value is not None
        assert row.value == Fraction(int(row.reading.value) * 100, 104)
        assert (row.verdict == "in") == (10400 <= int(row.reading.value) * 100 <= 11440)
    assert 0 < sum(row.changed for row in rows) < READINGS


def test_a_look_back_over_three_thousand_readings(found: Calibration) -> None:
    good = found.gauge.calibrations.order_by("pk")[0]
    asked: list[Any] = []

    def by_hand() -> None:
        for _ in range(TIMES):
            with hot_cursor(connection) as cursor:
                cursor.execute(BY_HAND, [found.gauge_id, good.pk])
                asked[:] = cursor.fetchall()

    def look_back() -> None:
        for _ in range(TIMES):
            judged_again(found)

    by_hand()
    with CaptureQueriesContext(connection) as caught:
        rows = judged_again(found)
    agree(rows, asked)
    taken = Taken()
    for _ in range(ROUNDS):
        taken.round({"hand": by_hand, "look back": look_back})
    allowed = [BUDGET * one + TIMES * READINGS * JUDGEMENT_S for one in taken.wall["hand"]]
    share = [one / most for one, most in zip(taken.wall["look back"], allowed, strict=True)]
    cpu = [one / (BUDGET * less + TIMES * READINGS * JUDGEMENT_S)
           for one, less in zip(taken.cpu["look back"], taken.cpu["hand"], strict=True)]  # fmt: skip
    probe, middle = commit_ms(), statistics.median(share)
    verdict = ("met" if middle <= 1 else "MISSED") if taken.is_calm("hand", probe) else "contended"
    each, under = (statistics.median(taken.wall[name]) / TIMES * 1000 for name in ("look back", "hand"))
    print(
        f"\nlook-back over {READINGS} readings on {AXLES} axles ({connection.vendor}, {ROUNDS} rounds of {TIMES},"
        f" {len(caught)} statements beside 1): {each:.1f} ms beside {under:.1f} ms;"
        f" {told('of what the budget allows', share)}, {told('of CPU', cpu)}; one commit {probe:.2f} ms;"
        f" budget {BUDGET:g} times the SQL and 20 µs a judgement: {verdict}"
    )
    assert len(caught) <= 12
