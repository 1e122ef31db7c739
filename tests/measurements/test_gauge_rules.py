"""Which gauge may measure: kind, calibration in force on the shop's day, retirement, range, ring."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from measurements.actions.gauges import Calibrated, NewGauge, calibrate, retire_gauge, take_in_gauge
from measurements.gauges import GaugeRefused, good_gauge, good_ring, in_range
from measurements.models import Gauge
from shop.clock import shop_zone
from shop.errors import Refusal
from shop.models import Role
from shop.record.who import Who
from tests import factories

pytestmark = pytest.mark.django_db
DUE = date(2026, 6, 1)


@pytest.fixture
def inspector() -> Who:
    return Who(factories.person("calla", Role.INSPECTOR, pin=""))


def gauge(by: Who, mark: str = "G-1", kind: str = "bore_gauge", setting: str = "") -> Gauge:
    size = Decimal(setting) if setting else None
    new = NewGauge(mark, kind, "a gauge", "in", Decimal("0.0001"), Decimal(2), Decimal(6), size)
    made = take_in_gauge(gauge=new, by=by)
    calibrate(gauge=made, calibrated=Calibrated(date(2026, 1, 1), DUE, "LAB-1"), by=by)
    return made


def midnight(day: date) -> datetime:
    return datetime.combine(day, datetime.min.time(), shop_zone()).astimezone(UTC)


def test_a_good_gauge_is_taken(inspector: Who) -> None:
    made = gauge(inspector)
    assert good_gauge("~G:G-1", "bore_gauge", midnight(DUE) - timedelta(minutes=1)).gauge == made


def test_it_is_overdue_from_the_shops_midnight_on(inspector: Who) -> None:
    gauge(inspector)
    with pytest.raises(GaugeRefused, match="overdue: its calibration ran out on 01 Jun 2026, today"):
        good_gauge("G-1", "bore_gauge", midnight(DUE))


def test_a_retired_gauge_is_refused(inspector: Who) -> None:
    made = gauge(inspector)
    retire_gauge(gauge=made, reason="dropped", by=inspector)
    with pytest.raises(GaugeRefused, match="is retired"):
        good_gauge("G-1", "bore_gauge", midnight(DUE) + timedelta(days=300))


@pytest.mark.parametrize(
    ("scan", "kind", "said"),
    [
        ("", "bore_gauge", "No gauge was scanned"),
        ("G-9", "bore_gauge", "No gauge carries the mark"),
        ("G-1", "torque_wrench", "is a bore gauge; this needs a torque wrench"),
    ],
)
def test_a_wrong_scan_is_refused(inspector: Who, scan: str, kind: str, said: str) -> None:
    gauge(inspector)
    with pytest.raises(GaugeRefused, match=said):
        good_gauge(scan, kind, midnight(date(2026, 3, 1)))


def test_a_gauge_without_calibration_is_refused(inspector: Who) -> None:
    take_in_gauge(gauge=NewGauge("G-2", "feeler", "feeler", "in"), by=inspector)
    with pytest.raises(GaugeRefused, match="no calibration on record"):
        good_gauge("G-2", "feeler", midnight(date(2026, 3, 1)))


@pytest.mark.parametrize(("value", "fits"), [("2", True), ("6", True), ("6.0001", False), ("1.9999", False)])
def test_the_range_includes_its_ends(inspector: Who, value: str, fits: bool) -> None:
    made = gauge(inspector)
    if fits:
        in_range(made, Decimal(value), "in")
        return
    with pytest.raises(GaugeRefused, match="outside the range"):
        in_range(made, Decimal(value), "in")


def test_the_range_is_judged_in_the_gauges_own_unit(inspector: Who) -> None:
    made = gauge(inspector)
    in_range(made, Decimal("152.4"), "mm")
    with pytest.raises(GaugeRefused):
        in_range(made, Decimal("152.5"), "mm")


def test_a_gauge_without_a_range_is_still_one_of_its_own_kind_of_unit(inspector: Who) -> None:
    volts = take_in_gauge(gauge=NewGauge("G-5", "machine_meter", "volt meter", "V", Decimal("0.1")), by=inspector)
    in_range(volts, Decimal(25), "V")
    with pytest.raises(GaugeRefused, match="G-5 reads V; this needs A"):
        in_range(volts, Decimal(225), "A")


@pytest.mark.parametrize("stale", [True, False])
def test_a_gauge_retired_since_it_was_loaded_is_not_calibrated(inspector: Who, stale: bool) -> None:
    made = gauge(inspector)
    loaded = Gauge.objects.select_related("item").get(pk=made.pk)
    again = Calibrated(date(2026, 6, 1), date(2026, 12, 1), "LAB-2")
    if stale:
        retire_gauge(gauge=made, reason="dropped", by=inspector)
        with pytest.raises(Refusal, match="G-1 is retired"):
            calibrate(gauge=loaded, calibrated=again, by=inspector)
        assert loaded.retired_at is None, "what was loaded before does not know it"
    else:
        calibrate(gauge=loaded, calibrated=again, by=inspector)
    assert made.calibrations.count() == (1 if stale else 2)


@pytest.mark.parametrize(("size", "fits"), [("3.0630", True), ("3.5000", False)])
def test_a_ring_must_lie_near_the_limits(inspector: Who, size: str, fits: bool) -> None:
    gauge(inspector, "R-1", "setting_ring", size)
    limits = (Decimal("3.0625"), Decimal("3.0637"), "in")
    at = midnight(date(2026, 3, 1))
    if fits:
        assert good_ring("R-1", at, *limits).setting == Decimal(size)
        return
    with pytest.raises(GaugeRefused, match="too far from the limits"):
        good_ring("R-1", at, *limits)
