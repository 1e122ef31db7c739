"""One gauge at its last use, two terminals at two axles in the same second: one takes it, the other is refused."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from datetime import timedelta
from typing import Any

import pytest

from builds.actions import judging
from builds.actions.measuring import Taken
from builds.models import Visit
from measurements.actions.gauges import Calibrated, calibrate
from measurements.gauges import GaugeRefused
from measurements.models import Calibration, Reading
from shop.clock import shop_day
from shop.record.verify import verify
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import MEASURING_CARD
from tests.concurrency.threads import together

pytestmark = pytest.mark.django_db(transaction=True)
#: So long the first one waits for the other to have looked at the gauge too; on SQLite it is kept out and cannot.
KEPT_OUT_S = 0.7
MOST = 3


@pytest.fixture
def bench(transactional_db: None) -> Bench:
    return open_bench(MEASURING_CARD)


@pytest.fixture
def last(bench: Bench) -> Calibration:
    """The torque wrench is due after three uses, and two are taken."""
    made = shop_day(bench.now)
    given = Calibrated(made, made + timedelta(days=365), "LAB-2", due_after=MOST)
    row = calibrate(gauge=bench.gauges["G-3"], calibrated=given, by=bench.people["eve"], now=bench.later(minutes=1))
    visit = bench.begin(bench.axle(), 12)
    for _ in range(MOST - 1):
        bench.enter(visit, "12.4", "105", reason="next bolt")
    return row


def both_look_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each has looked the gauge up, with one use left, before either writes."""
    met, real = threading.Barrier(2), judging.good_gauge

    def looked(*given: Any) -> Any:
        chosen = real(*given)
        with suppress(threading.BrokenBarrierError):
            met.wait(KEPT_OUT_S)
        return chosen

    monkeypatch.setattr(judging, "good_gauge", looked)


def race(bench: Bench) -> list[Any]:
    visits = [bench.begin(bench.axle(), 12, who) for who in ("ada", "ben")]
    at = bench.later(minutes=1)

    def enter(visit: Visit, who: str) -> Callable[[], Taken]:
        return lambda: bench.enter(visit, "12.4", "105", who, at=at)

    return together(*(enter(visit, who) for visit, who in zip(visits, ("ada", "ben"), strict=True)))


def test_the_last_use_is_taken_once(bench: Bench, last: Calibration, monkeypatch: pytest.MonkeyPatch) -> None:
    both_look_first(monkeypatch)
    outcomes = race(bench)
    assert sorted(type(outcome).__name__ for outcome in outcomes) == ["GaugeRefused", "Taken"]
    (refused,) = [outcome for outcome in outcomes if isinstance(outcome, GaugeRefused)]
    assert "G-3 is overdue: it has been used 3 times" in refused.text
    assert Reading.objects.filter(calibration=last).count() == MOST
    assert verify().findings == []


@pytest.mark.postgresql
def test_control_without_the_lock_it_is_used_once_too_often(
    bench: Bench, last: Calibration, monkeypatch: pytest.MonkeyPatch
) -> None:
    both_look_first(monkeypatch)
    monkeypatch.setattr(judging, "still_within_uses", lambda *_: None)
    assert [type(outcome).__name__ for outcome in race(bench)] == ["Taken", "Taken"]
    assert Reading.objects.filter(calibration=last).count() == MOST + 1


@pytest.mark.postgresql
def test_a_gauge_that_is_due_by_the_day_alone_keeps_nobody_waiting(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    both_look_first(monkeypatch)
    assert [type(outcome).__name__ for outcome in race(bench)] == ["Taken", "Taken"]
