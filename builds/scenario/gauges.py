"""The invented shop's gauges, with ranges and calibrations. Marks and ranges: the demo's scenario."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal

from measurements.actions.gauges import Calibrated, NewGauge, calibrate, take_in_gauge
from measurements.models import Gauge
from shop.record.who import Who

#: mark, kind, name, unit, step, low, high, setting
GAUGES: tuple[tuple[str, str, str, str, str, str, str, str], ...] = (
    ("G-017", "bore_gauge", "bore gauge 2-6 in", "in", "0.0001", "2", "6", ""),
    ("G-016", "bore_gauge", "bore gauge 2-6 in, housings", "in", "0.0001", "2", "6", ""),
    ("G-014", "bore_gauge", "bore gauge 2-6 in, first one", "in", "0.0001", "2", "6", ""),
    ("G-015", "setting_ring", "setting ring", "in", "", "", "", "3.0630"),
    ("G-018", "setting_ring", "setting ring", "in", "", "", "", "2.3130"),
    ("G-019", "setting_ring", "setting ring", "in", "", "", "", "3.5000"),
    ("G-020", "setting_ring", "setting ring", "in", "", "", "", "2.6250"),
    ("G-021", "outside_micrometer", "micrometer 3-4 in", "in", "0.0001", "3", "4", ""),
    ("G-023", "outside_micrometer", "micrometer 2-3 in", "in", "0.0001", "2", "3", ""),
    ("G-022", "outside_micrometer", "micrometer 0-1 in", "in", "0.0001", "0", "1", ""),
    ("G-034", "dial_indicator", "dial indicator, fine", "in", "0.0001", "", "", ""),
    ("G-033", "dial_indicator", "dial indicator", "in", "0.0005", "", "", ""),
    ("G-041", "inch_pound_wrench", "in-lb dial wrench 0-60", "in-lb", "1", "0", "60", ""),
    ("G-044", "torque_wrench", "digital wrench 5-50", "ft-lb", "1", "5", "50", ""),
    ("G-042", "torque_wrench", "digital wrench 20-150", "ft-lb", "1", "20", "150", ""),
    ("G-043", "torque_wrench", "digital wrench 100-600", "ft-lb", "1", "100", "600", ""),
    ("G-072", "air_pressure_gauge", "air gauge 0-160 psi", "psi", "1", "0", "160", ""),
    ("G-050", "digital_angle_gauge", "digital angle gauge", "deg", "0.1", "", "", ""),
    ("G-051", "angle_gauge", "angle gauge", "deg", "1", "", "", ""),
    ("G-055", "undercut_gauge", "undercut gauge", "in", "0.001", "", "", ""),
    ("G-056", "weld_gauge", "weld gauge", "in", "0.01", "", "", ""),
    ("G-061", "magnetic_film_gauge", "film gauge", "mil", "0.1", "0", "40", ""),
    ("G-071", "low_range_pressure_gauge", "low-range gauge 0-15 psi", "psi", "0.01", "0", "15", ""),
    ("G-073", "barometer", "barometer", "psi", "0.01", "10", "16", ""),
    ("G-074", "gas_thermometer", "gas thermometer", "F", "0.1", "0", "150", ""),
    ("G-081", "contact_pyrometer", "contact pyrometer", "F", "1", "0", "1400", ""),
    ("G-090", "press_load_cell", "press load cell", "lbf", "10", "0", "40000", ""),
    ("G-001", "tape_or_rule", "tape", "in", "0.01", "", "", ""),
    ("G-002", "height_stand_or_long_caliper", "height stand", "in", "0.001", "0", "40", ""),
    ("G-003", "long_caliper_or_gauge_bar", "gauge bar", "in", "0.001", "30", "80", ""),
    ("G-004", "feeler", "feeler set", "in", "", "", "", ""),
    ("G-005", "machine_meter", "welding machine meter, volts", "V", "0.1", "", "", ""),
    ("G-006", "machine_meter", "welding machine meter, amperes", "A", "1", "", "", ""),
    ("G-007", "stop_watch", "stop watch", "s", "1", "", "", ""),
    ("G-008", "plug_gauge", "plug gauge", "in", "0.0001", "", "", ""),
    ("G-009", "taper_plug_gauge", "taper plug gauge", "turns", "0.1", "", "", ""),
    ("G-010", "surface_probe", "surface probe", "F", "1", "", "", ""),
    ("G-011", "air_and_humidity_meter", "air and humidity meter, air", "F", "1", "", "", ""),
    ("G-012", "air_and_humidity_meter", "air and humidity meter, humidity", "%", "1", "", "", ""),
    ("G-013", "depth_tool", "pinion depth tool", "in", "0.001", "", "", ""),
    ("G-024", "depth_gauge", "depth gauge", "in", "0.001", "", "", ""),
    ("G-025", "scale", "scale", "oz", "0.1", "0", "200", ""),
)
CALIBRATED_BEFORE = timedelta(days=120)
GOOD_FOR = timedelta(days=365)
#: Hand torque tools are also due after so many uses (ISO 6789, public torque notes).
WRENCHES, CYCLES = ("inch_pound_wrench", "torque_wrench"), 5000


def take_in_all(
    by: Who,
    now: datetime,
    today: date,
    first: date | None = None,
    own: Mapping[str, Calibrated] | None = None,
) -> dict[str, list[Gauge]]:
    """Every gauge with a calibration in force on `today`; by kind, the one to use first first.

    The calibration is made on `first` (120 days before where none is given) and good for a year; `own` names
    another one by the gauge's mark.
    """
    by_kind: dict[str, list[Gauge]] = {}
    for mark, kind, name, unit, step, low, high, setting in GAUGES:
        new = NewGauge(mark, kind, name, unit, _figure(step), _figure(low), _figure(high), _figure(setting))
        gauge = take_in_gauge(gauge=new, by=by, now=now)
        made = first or today - CALIBRATED_BEFORE
        done = (own or {}).get(mark) or Calibrated(
            made, made + GOOD_FOR, f"LAB-{mark[2:]}-1", due_after=CYCLES if kind in WRENCHES else None
        )
        calibrate(gauge=gauge, calibrated=done, by=by, now=now)
        by_kind.setdefault(kind, []).append(gauge)
    return by_kind


def _figure(text: str) -> Decimal | None:
    return Decimal(text) if text else None
