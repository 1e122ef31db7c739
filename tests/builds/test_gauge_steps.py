"""The gauge's step and unit at a reading: a coarser gauge, a finer figure and another kind of unit are refused.

Figures marked "calculated" were worked out by hand from 1 in = 25.4 mm.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from builds.models import Visit
from measurements.actions.gauges import NewGauge, take_in_gauge
from measurements.gauges import GaugeRefused
from shop.clock import shop_day
from shop.errors import Refusal
from tests.builds.bench import DUE, Bench, calibrated, open_bench
from tests.builds.bench_cards import card_with, one

pytestmark = pytest.mark.django_db


def figure(code: str, unit: str, low: str, high: str, rest: str) -> str:
    limits = f'unit = "{unit}"\nlow = {low}\nhigh = {high}\non_low = "tag"\non_high = "tag"\nsource = "test figure"\n'
    return one(code, "measured", limits + rest)


CARD = card_with(
    17,
    figure("17.1", "in", "3.0637", "3.0647", 'decimals = 4\nstep = 0.0001\ngauge_kind = "outside_micrometer"'),
    figure("17.2", "in", "0.45", "0.50", 'decimals = 2\ngauge_kind = "outside_micrometer"'),
    figure("17.3", "A", "190", "230", 'gauge_kind = "machine_meter"'),
    figure("17.5", "in", "0.010", "0.015", "decimals = 3"),
    figure("17.6", "in", "0.010", "0.015", 'decimals = 3\ngauge_kind = "depth_gauge"'),
    figure("17.4", "F", "60", "80", 'decimals = 1\nstep = 0.5\ngauge_kind = "gas_thermometer"'),
)
#: mark, kind, unit, step
GAUGES = (
    ("M-1", "outside_micrometer", "in", "0.0001"),
    ("M-2", "outside_micrometer", "mm", "0.5"),
    ("M-3", "outside_micrometer", "mm", "0.001"),
    ("M-4", "outside_micrometer", "mm", "0.01"),
    ("M-5", "outside_micrometer", "inch", "0.0005"),
    ("V-1", "machine_meter", "V", "0.1"),
    ("A-1", "machine_meter", "A", "1"),
    ("D-1", "depth_gauge", "in", ""),
    ("T-1", "gas_thermometer", "C", "0.5"),
    ("T-2", "gas_thermometer", "C", "0.2"),
)


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    bench = open_bench(CARD)
    for mark, kind, unit, step in GAUGES:
        new = NewGauge(mark, kind, kind, unit, Decimal(step) if step else None)
        bench.gauges[mark] = take_in_gauge(gauge=new, by=bench.people["eve"], now=bench.now)
        calibrated(bench, mark, shop_day(bench.now), shop_day(bench.now) + DUE)
    return bench


@pytest.fixture(scope="module")
def visit(bench: Bench) -> Visit:
    return bench.begin(bench.axle(), 17)


@pytest.mark.parametrize(
    ("code", "text", "more", "said", "field"),
    [
        # steps of 0.5 mm are .0197 in, of 0.01 mm .00039 in (calculated); the card asks for .0001 in
        (
            "17.1",
            "77.83",
            {"unit": "mm", "gauge": "M-2"},
            "M-2 reads in steps of 0.5 mm; this needs 0.0001 in",
            "gauge",
        ),
        ("17.1", "3.0642", {"gauge": "M-4"}, "M-4 reads in steps of 0.01 mm; this needs 0.0001 in", "gauge"),
        ("17.1", "3.0645", {"gauge": "M-5"}, "M-5 reads in steps of 0.0005 inch; this needs 0.0001 in", "gauge"),
        # steps of 0.5 C are 0.9 F, of 0.2 C 0.36 F (calculated): a difference has no zero shift
        ("17.4", "70", {"gauge": "T-1"}, "T-1 reads in steps of 0.5 C; this needs 0.5 F", "gauge"),
        ("17.2", "12.0049", {"unit": "mm", "gauge": "M-4"}, "finer than the gauge reads: its step is 0.01", "value"),
        (
            "17.1",
            "3.06425",
            {"unit": "inch", "gauge": "M-1"},
            "finer than the gauge reads: its step is 0.0001",
            "value",
        ),
        ("17.1", "3.06425", {"gauge": "M-1"}, "finer than the gauge reads: its step is 0.0001", "value"),
        ("17.3", "210", {"gauge": "V-1"}, "V-1 reads V; this needs A", "gauge"),
    ],
)
def test_what_the_gauge_cannot_show_is_refused(
    bench: Bench, visit: Visit, code: str, text: str, more: dict[str, Any], said: str, field: str
) -> None:
    with pytest.raises(Refusal) as found:
        bench.enter(visit, code, text, sure=True, **more)
    assert (said in found.value.text, found.value.field) == (True, field), found.value.text
    assert isinstance(found.value, GaugeRefused) == (field == "gauge")


@pytest.mark.parametrize(
    ("code", "text", "more", "value", "verdict"),
    [
        ("17.1", "3.0642", {"gauge": "M-1"}, "3.0642", "in"),
        ("17.1", "3.0642", {"gauge": "M-1", "unit": "inch"}, "3.0642", "in"),
        # a gauge in inches: rounded to its step of .0001; 77.8349 mm is 3.064366 in (calculated)
        ("17.1", "77.8349", {"gauge": "M-1", "unit": "mm"}, "3.0644", "in"),
        # a gauge in millimetres shows its own steps: nothing is rounded away; 77.831 mm is 3.0642126 in (calculated)
        ("17.1", "77.831", {"gauge": "M-3", "unit": "mm"}, "3.064212598", "in"),
        # 12.71 mm is .500394 in (calculated): above, though the card shows it as 0.50
        ("17.2", "12.71", {"gauge": "M-4", "unit": "mm"}, "0.500393701", "above"),
        ("17.2", "12.70", {"gauge": "M-4", "unit": "mm"}, "0.5", "in"),
        # no step is known, of a gauge or of the eye: 0.39 mm is .015354 in (calculated), above, though shown as .015
        ("17.5", "0.39", {"unit": "mm"}, "0.015354331", "above"),
        ("17.6", "0.39", {"gauge": "D-1", "unit": "mm"}, "0.015354331", "above"),
        ("17.6", "0.381", {"gauge": "D-1", "unit": "mm"}, "0.015", "in"),
        ("17.3", "210", {"gauge": "A-1"}, "210", "in"),
        ("17.4", "20.2", {"gauge": "T-2", "unit": "C"}, "68.36", "in"),
    ],
)
def test_control_what_the_gauge_shows_is_taken(
    bench: Bench, visit: Visit, code: str, text: str, more: dict[str, Any], value: str, verdict: str
) -> None:
    reading = bench.enter(visit, code, text, sure=True, **more).reading
    assert (reading.value, reading.verdict) == (Decimal(value), verdict)
