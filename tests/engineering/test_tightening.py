"""Scatter, lubricant, extension, clamp and order of tightening. Sources beside each check."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.tightening import (
    Method,
    Wrench,
    clamp_torque,
    click_wrench_deviation,
    extension_setting,
    least_preload,
    measured_scatter,
    relubricated_torque,
    tightening_factor,
    tightening_order,
    tightening_passes,
)
from measurements.engineering.validity import OutsideValidity


@pytest.mark.parametrize(
    ("half_width", "factor"),
    [(0.09, 1.20), (0.17, 1.41), (0.23, 1.60), (0.28, 1.78), (0.43, 2.51), (0.60, 4.0)],
)
def test_tightening_factors(half_width: float, factor: float) -> None:
    # VDI 2230 as quoted publicly
    assert tightening_factor(half_width) == pytest.approx(factor, abs=0.006)


def test_least_preload() -> None:
    # published: 41.9 kN (M12 8.8, μ .14), α_A 1.8 -> 23.3 kN
    assert least_preload(41.9, 1.8) == pytest.approx(23.3, abs=0.03)


def test_methods_are_ordered_by_their_scatter() -> None:
    worst = [method.value[1] for method in Method]
    assert worst == sorted(worst)
    assert all(best < bad for best, bad in (method.value for method in Method))


def test_measured_scatter() -> None:
    # Shigley tables 8-13, 8-14: bolts torqued to 90 N·m, kN (book 34.3 and 4.91, 34.18 and 2.88)
    dry = "23.6 27.6 28.0 29.4 30.3 30.7 32.9 33.8 33.8 33.8 34.7 35.6 35.6 37.4 37.8 37.8 39.2 40.0 40.5 42.7"
    oiled = "30.3 32.5 32.5 32.9 32.9 33.8 34.3 34.7 37.4 40.5"
    found_dry, found_oiled = (measured_scatter([*map(float, text.split())]) for text in (dry, oiled))
    assert (found_dry.mean, found_dry.deviation) == pytest.approx((34.26, 4.909), abs=0.006)
    assert (found_oiled.mean, found_oiled.deviation) == pytest.approx((34.18, 2.881), abs=0.006)
    assert found_oiled.share < found_dry.share


def test_lubrication_lowers_the_torque_in_proportion() -> None:
    assert relubricated_torque(100, 0.20, 0.15) == pytest.approx(75)


@pytest.mark.parametrize(
    ("target", "wrench", "extension", "degrees", "setting"),
    [
        (30, 12, 6, 0, 20),  # US TM 9-254
        (50, 16, 2, 0, 44.44),  # US TM 9-254
        (100, 400, 100, 0, 80.00),  # calculated
        (100, 400, 100, 90, 100),  # calculated: square to the wrench it changes nothing
    ],
)
def test_extension_settings(target: float, wrench: float, extension: float, degrees: float, setting: float) -> None:
    assert extension_setting(target, wrench, extension, degrees) == pytest.approx(setting, abs=0.005)


@given(st.floats(1, 1000), st.floats(100, 1000), st.floats(0, 80), st.floats(0, 179), st.floats(0.1, 1))
def test_turning_the_extension_back_raises_the_setting(
    target: float, wrench: float, extension: float, degrees: float, more: float
) -> None:
    setting = extension_setting(target, wrench, extension, degrees)
    assert extension_setting(target, wrench, extension, degrees + more) >= setting
    assert extension_setting(target, wrench, extension, -degrees) == pytest.approx(setting)


def test_wrench_in_and_out_of_range() -> None:
    wrench = Wrench(20, 150)
    assert [wrench.refusal(setting) for setting in (20, 105, 150)] == ["", "", ""]
    assert "160 is outside the marked range 20 to 150" in wrench.refusal(160)
    assert "outside the marked range" in wrench.refusal(19)
    assert "overdue" in Wrench(20, 150, overdue=True).refusal(105)


def test_click_wrench_deviation() -> None:
    # ISO 6789 as described publicly
    assert [click_wrench_deviation(torque) for torque in (5, 10, 10.1, 100)] == [0.06, 0.06, 0.04, 0.04]


def test_one_bolt_clamps_too() -> None:
    assert clamp_torque(1, 1000, 0.15, 0.1) == pytest.approx(15)


def test_an_extension_straight_on_is_the_usual_case() -> None:
    assert extension_setting(30, 12, 6) == extension_setting(30, 12, 6, 0.0)
    assert extension_setting(30, 12, 12 * 0.89, 180) == pytest.approx(30 / 0.11)


def test_a_small_wrench_has_a_range_too() -> None:
    assert Wrench(0.5, 5).refusal(1) == ""
    with pytest.raises(OutsideValidity, match=r"marked range"):
        Wrench(0, 5)


def test_ring_gear_clamp() -> None:
    # calculated
    assert clamp_torque(10, 52500, 0.15, 0.085) == pytest.approx(6693.75)
    assert clamp_torque(10, 52500, 0.15, 0.085, 1.6) == pytest.approx(4183.6, abs=0.05)
    assert clamp_torque(10, 10683, 0.15, 3.5) / 12 == pytest.approx(4673.8, abs=0.05)  # lbf·ft


@pytest.mark.parametrize(
    ("count", "order"),
    [
        # calculated from the rule
        (1, "1"),
        (2, "1-2"),
        (3, "1-2-3"),
        (4, "1-3-2-4"),
        (5, "1-3-5-2-4"),
        (6, "1-4-2-5-3-6"),
        (8, "1-5-3-7-2-6-4-8"),
        (10, "1-6-3-8-2-7-4-9-5-10"),
        (12, "1-7-4-10-2-8-3-9-5-11-6-12"),
    ],
)
def test_orders(count: int, order: str) -> None:
    assert "-".join(map(str, tightening_order(count))) == order


@given(st.integers(1, 100))
def test_every_bolt_comes_once_and_opposites_follow_each_other(count: int) -> None:
    order = tightening_order(count)
    assert sorted(order) == list(range(1, count + 1))
    if count % 2 == 0:
        assert all(second - first == count // 2 for first, second in zip(order[::2], order[1::2], strict=True))


@given(st.integers(4, 50))
def test_the_second_pair_is_square_to_the_first(half: int) -> None:
    third = tightening_order(2 * half)[2]
    assert third - 1 in (half // 2, (half + 1) // 2)


def test_passes() -> None:
    # 30/70/100 % from memory; pattern and final circular check: ASME PCC-1
    first, second, third, last = tightening_passes(4, 105)
    assert [first.torque, second.torque, third.torque, last.torque] == pytest.approx([31.5, 73.5, 105, 105])
    assert [passed.figure for passed in (first, second, third, last)] == [False, False, False, True]
    assert first.order == second.order == third.order == (1, 3, 2, 4)
    assert last.order == (1, 2, 3, 4)
    assert [passed.share for passed in (first, second, third, last)] == [0.3, 0.7, 1.0, 1.0]


@pytest.mark.parametrize("shares", [(), (0.7, 0.3, 1.0), (0.5, 0.5, 1.0), (0.0, 1.0), (0.3, 0.9)])
def test_passes_must_rise_to_the_full_torque(shares: tuple[float, ...]) -> None:
    with pytest.raises(OutsideValidity, match=r"rise to the full torque"):
        tightening_passes(4, 105, shares)


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: tightening_factor(1.0), "half-width"),
    (lambda: least_preload(0, 1.5), "largest preload"),
    (lambda: least_preload(10, 0.9), "tightening factor is 1 or more"),
    (lambda: measured_scatter([1.0]), "Two preloads"),
    (lambda: measured_scatter([1.0, 0.0]), "more than zero"),
    (lambda: relubricated_torque(0, 0.2, 0.15), "torque must be more than zero"),
    (lambda: relubricated_torque(1, 1.0, 0.15), "nut factor before"),
    (lambda: relubricated_torque(1, 0.2, 1.5), "nut factor after"),
    (lambda: extension_setting(0, 12, 6), "target torque"),
    (lambda: extension_setting(30, 0, 6), "length of the wrench"),
    (lambda: extension_setting(30, 12, -6), "length of the extension"),
    (lambda: extension_setting(30, 12, 6, 200), "angle of the extension"),
    (lambda: extension_setting(30, 12, 12, 180), "leaves no arm"),
    (lambda: Wrench(150, 20), "marked range"),
    (lambda: Wrench(20, 150).refusal(math.nan), "plain figure"),
    (lambda: click_wrench_deviation(0), "torque must be more than zero"),
    (lambda: clamp_torque(0, 1, 0.15, 1), "at least one bolt"),
    (lambda: clamp_torque(10, 0, 0.15, 1), "preload"),
    (lambda: clamp_torque(10, 1, 0.6, 1), "friction"),
    (lambda: clamp_torque(10, 1, 0.15, 0), "radius of the bolt circle"),
    (lambda: tightening_order(0), "bolt circle of 0 bolts"),
    (lambda: tightening_order(101), "bolt circle of 101 bolts"),
    (lambda: tightening_passes(4, 0), "target torque"),
]


@pytest.mark.parametrize(("refused", "says"), REFUSED)
def test_figures_outside_their_range_are_refused(refused: Callable[[], object], says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        refused()
