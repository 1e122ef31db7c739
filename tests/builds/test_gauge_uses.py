"""A gauge that wears by use, one that is recalled, and one that is judged in per cent, at the reading.

Torque tools: 12 months or 5,000 cycles, whichever comes first (ISO 6789, public torque notes).
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from django.db import IntegrityError, transaction

from builds.actions.claiming import OnPaper, take_up
from builds.models import Visit
from builds.reports.lookback import judged_again, lines
from measurements.actions.gauges import Calibrated, calibrate, note_uses, recall_gauge
from measurements.gauges import GaugeRefused, in_force
from measurements.models import Calibration, GaugeRecall
from shop.clock import shop_day
from shop.errors import Refusal
from shop.record import replay
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import MEASURING_CARD

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(MEASURING_CARD)


@pytest.fixture(scope="module")
def every(bench: Bench) -> Visit:
    return bench.begin(bench.axle(), 12)


def calibrated(bench: Bench, **more: object) -> Calibration:
    """G-3, the torque wrench, from this moment on; due after three uses where nothing else is said."""
    made = shop_day(bench.now)
    given = {"due_after": 3, **more}
    done = Calibrated(made, made + timedelta(days=365), f"LAB-{bench.now:%j-%H%M}", **given)  # type: ignore[arg-type]
    return calibrate(gauge=bench.gauges["G-3"], calibrated=done, by=bench.people["eve"], now=bench.later(minutes=1))


def torque(bench: Bench, visit: Visit, text: str = "105", **more: object) -> str:
    return bench.enter(visit, "12.4", text, reason="next bolt", **more).reading.verdict


def test_it_is_refused_at_its_count_and_taken_again_when_calibrated(bench: Bench, every: Visit) -> None:
    calibrated(bench)
    assert [torque(bench, every) for _ in range(3)] == ["in"] * 3
    with pytest.raises(GaugeRefused, match=r"G-3 is overdue: it has been used 3 times .* is due after 3\.") as refused:
        torque(bench, every)
    assert refused.value.field == "gauge"
    calibrated(bench)
    assert torque(bench, every) == "in"


def test_without_a_number_of_uses_it_is_due_by_the_day_only(bench: Bench, every: Visit) -> None:
    calibrated(bench, due_after=None)
    assert [torque(bench, every) for _ in range(4)] == ["in"] * 4


def test_uses_off_the_record_wear_it_too(bench: Bench, every: Visit) -> None:
    calibrated(bench)
    note_uses(gauge=bench.gauges["G-3"], uses=2, reason="lug nuts of the van", by=bench.people["cy"], now=bench.now)
    assert torque(bench, every) == "in"
    with pytest.raises(GaugeRefused, match="used 3 times"):
        torque(bench, every)
    assert replay.check()[1] == [], "the record alone makes the same rows again"


@pytest.mark.parametrize("uses", [0, -1, 1_000_001])
def test_a_number_of_uses_that_cannot_be_meant(bench: Bench, every: Visit, uses: int) -> None:
    calibrated(bench)
    gauge, by = bench.gauges["G-3"], bench.people["cy"]
    with pytest.raises(Refusal, match="it goes from 1 to 1000000"):
        note_uses(gauge=gauge, uses=uses, reason="lug nuts", by=by, now=bench.now)
    with pytest.raises(Refusal, match="reason is empty"):
        note_uses(gauge=gauge, uses=1, reason=" ", by=by, now=bench.now)
    with pytest.raises(Refusal, match="not due by use"):
        note_uses(gauge=bench.gauges["G-4"], uses=1, reason="trial", by=by, now=bench.now)
    assert note_uses(gauge=gauge, uses=1, reason="lug nuts", by=by, now=bench.now).uses == 1


def late(bench: Bench, at: timedelta) -> Visit:
    """Operation 12 of another axle, done on paper that long ago."""
    ada = bench.people["ada"].person
    assert ada is not None
    paper = OnPaper(ada, bench.now - at)
    return take_up(bench=bench.axle(), key="12/", by=bench.people["ada"], now=bench.later(minutes=1), paper=paper)


def test_work_on_paper_counts_the_uses_up_to_then(bench: Bench, every: Visit) -> None:
    """Worn out today, it was not worn out when the work was done."""
    calibrated(bench)
    bench.later(hours=1)
    visit = late(bench, timedelta(minutes=30))
    assert [torque(bench, every) for _ in range(3)] == ["in"] * 3
    with pytest.raises(GaugeRefused, match="used 3 times"):
        torque(bench, every)
    assert torque(bench, visit) == "in"


def test_a_calibration_made_after_the_work_does_not_count_for_it(bench: Bench, every: Visit) -> None:
    """On the same day, too: what was measured before the calibration went on record was measured under the last one,
    so that a look-back still finds it."""
    before = calibrated(bench)
    bench.later(hours=2)
    visit = late(bench, timedelta(hours=1))
    after = calibrated(bench)
    assert after.made_on == before.made_on
    assert bench.enter(visit, "12.4", "105").reading.calibration == before
    assert bench.enter(every, "12.4", "105", reason="next bolt").reading.calibration == after


def test_a_recalled_gauge_is_refused_on_the_next_entry_until_it_is_calibrated(bench: Bench, every: Visit) -> None:
    calibrated(bench)
    assert torque(bench, every) == "in"
    gauge, by = bench.gauges["G-3"], bench.people["cy"]
    recall_gauge(gauge=gauge, reason="dropped on the floor", by=by, now=bench.later(minutes=1))
    with pytest.raises(GaugeRefused, match=r"G-3 is recalled: dropped on the floor\. Take another torque wrench"):
        torque(bench, every)
    with pytest.raises(Refusal, match="recalled already"):
        recall_gauge(gauge=gauge, reason="again", by=by, now=bench.later(minutes=1))
    calibrated(bench)
    assert torque(bench, every) == "in"
    assert replay.check()[1] == []
    with pytest.raises(IntegrityError), transaction.atomic():
        GaugeRecall.objects.update(reason="nothing")


def test_a_calibration_made_before_the_recall_does_not_lift_it(bench: Bench, every: Visit) -> None:
    calibrated(bench)
    bench.later(days=2)
    recall_gauge(gauge=bench.gauges["G-3"], reason="dropped", by=bench.people["cy"], now=bench.now)
    made = shop_day(bench.now - timedelta(days=1))
    paper = Calibrated(made, made + timedelta(days=365), "LAB-paper")
    calibrate(gauge=bench.gauges["G-3"], calibrated=paper, by=bench.people["eve"], now=bench.later(minutes=1))
    with pytest.raises(GaugeRefused, match="is recalled"):
        torque(bench, every)
    standing = in_force("G-3", bench.now)
    assert standing is not None
    assert standing.recalled == "dropped."


def test_only_keepers_recall_and_count(bench: Bench, every: Visit) -> None:
    calibrated(bench)
    gauge, ada = bench.gauges["G-3"], bench.people["ada"]
    with pytest.raises(Refusal, match="does not hold it today"):
        recall_gauge(gauge=gauge, reason="dropped", by=ada, now=bench.now)
    with pytest.raises(Refusal, match="does not hold it today"):
        note_uses(gauge=gauge, uses=1, reason="trial", by=ada, now=bench.now)
    assert torque(bench, every) == "in"


def test_an_error_in_per_cent_is_taken_out_of_each_reading(bench: Bench) -> None:
    """Limits 100 to 110 ft-lb, found 5 per cent high. By hand: 105 / 1.05 is exactly 100, and in, for limits are
    inclusive; 104 / 1.05 = 2080/21, about 99.05, is below. The rule of thumb 105 less 5 per cent would be 99.75."""
    visit = bench.begin(bench.axle(), 12)
    calibrated(bench, due_after=None)
    assert [torque(bench, visit, text) for text in ("105", "104", "110")] == ["in"] * 3
    bench.later(days=1)
    found = calibrated(bench, as_found=Decimal(5), in_percent=True, due_after=None)
    rows = judged_again(found)
    told = [(row.reading.typed, row.value, row.verdict) for row in rows]
    assert told == [
        ("105", Fraction(100), "in"),
        ("104", Fraction(2080, 21), "below"),
        ("110", Fraction(2200, 21), "in"),
    ]
    shown = {(line.original, line.corrected, line.word) for line in lines(rows)}
    assert shown == {("105", "100", "in limits"), ("104", "99.05", "below the limit"), ("110", "104.76", "in limits")}


@pytest.mark.parametrize(
    ("mark", "percent", "said"),
    [
        ("G-2", "1", "is a ring"),
        ("G-6", "1", "has no percentage"),
        ("G-3", "100", "100 per cent or more"),
        ("G-3", "-100", "100 per cent or more"),
    ],
)
def test_where_a_percentage_makes_no_sense(bench: Bench, mark: str, percent: str, said: str) -> None:
    made = shop_day(bench.now)
    wrong = Calibrated(made, made + timedelta(days=9), "LAB", Decimal(percent), in_percent=True)
    with pytest.raises(Refusal, match=said):
        calibrate(gauge=bench.gauges[mark], calibrated=wrong, by=bench.people["eve"], now=bench.now)
    good = Calibrated(made, made + timedelta(days=9), "LAB", Decimal("0.5"), in_percent=mark == "G-3")
    assert calibrate(gauge=bench.gauges[mark], calibrated=good, by=bench.people["eve"], now=bench.now).pk
