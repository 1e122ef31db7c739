"""Rotating torque: TM 10-3930-660-34 and TM 9-2320-302-34 figures; carrier's share calculated."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.bearings.rotating_torque import (
    ADJUSTER_RISE_IN_LB,
    SEEN_TORQUE,
    Torque,
    carrier_share,
    carrier_torque,
    total_at_pinion,
)
from measurements.engineering.validity import OutsideValidity

torques = st.decimals("0", "60", places=1)
ratios = st.decimals("1", "15", places=2)


# Published pairs: 5-45 in-lb = .56-5.08 N·m, 10-30 = 1.13-3.39; adjuster 2-4 = .2-.5.
@pytest.mark.parametrize(
    ("inch_pounds", "newton_metres"), [(5, 0.56), (45, 5.08), (10, 1.13), (30, 3.39), (2, 0.23), (4, 0.45)]
)
def test_published_pairs(inch_pounds: int, newton_metres: float) -> None:
    torque = Torque.from_inch_pounds(inch_pounds)
    assert torque.newton_metres == pytest.approx(newton_metres, abs=0.0051)
    assert torque.inch_pounds == pytest.approx(inch_pounds, rel=1e-12)


def test_seen_ranges() -> None:
    """Heavy 5-45 new, 10-30 used (TM 10-3930-660-34, TM 9-2320-302-34); light 20-25, 10-15 (public pages)."""
    assert [(s.low_in_lb, s.high_in_lb) for s in SEEN_TORQUE] == [(5, 45), (10, 30), (20, 25), (10, 15)]
    assert all(s.source for s in SEEN_TORQUE)
    assert ADJUSTER_RISE_IN_LB == (2, 4)


def test_pull_on_a_string() -> None:
    """Calculated: 20 N at 40 mm is 0.8 N·m."""
    assert Torque.from_pull(20, 40).newton_metres == pytest.approx(0.8)
    assert Torque.from_pull(0, 40).newton_metres == 0
    with pytest.raises(OutsideValidity, match="pull"):
        Torque.from_pull(-1, 40)
    with pytest.raises(OutsideValidity, match="radius"):
        Torque.from_pull(1, 0)


def test_carrier_over_the_ratio() -> None:
    """Calculated: 2.5 + 3.0/4.1 = 3.232 N·m."""
    assert float(total_at_pinion(Decimal("2.5"), Decimal("3.0"), Decimal("4.1"))) == pytest.approx(3.232, abs=5e-4)
    assert carrier_share(Decimal("3.0"), Decimal("4.1")) == Fraction(30, 41)


@given(torques, torques, ratios)
def test_carrier_torque_is_found_back_from_the_rise(pinion: Decimal, carrier: Decimal, ratio: Decimal) -> None:
    total = total_at_pinion(pinion, carrier, ratio)
    assert carrier_torque(pinion, total, ratio) == Fraction(carrier)


@given(torques, ratios, st.decimals("0.01", "5", places=2))
def test_a_slower_axle_shows_less_of_its_carrier(carrier: Decimal, ratio: Decimal, more: Decimal) -> None:
    if carrier and ratio + more <= 15:
        assert carrier_share(carrier, ratio + more) < carrier_share(carrier, ratio)


def test_outside_validity() -> None:
    one = Decimal(1)
    with pytest.raises(OutsideValidity, match="pinion torque"):
        total_at_pinion(Decimal(-1), one, Decimal(4))
    with pytest.raises(OutsideValidity, match="carrier torque"):
        carrier_share(Decimal(-1), Decimal(4))
    with pytest.raises(OutsideValidity, match="ratio must be from 1 to 15"):
        carrier_share(one, Decimal("0.9"))
    with pytest.raises(OutsideValidity, match="ratio must be from 1 to 15"):
        carrier_torque(one, one, Decimal("15.1"))
    with pytest.raises(OutsideValidity, match="below the pinion's own torque"):
        carrier_torque(Decimal(3), Decimal(2), Decimal(4))
    assert carrier_torque(Decimal(3), Decimal(3), Decimal(4)) == 0
