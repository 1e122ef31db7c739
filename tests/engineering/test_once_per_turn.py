"""The backlash round: the demo story's eight points, and shapes made on purpose."""

import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from measurements.engineering.gears.once_per_turn import (
    Seat,
    Shape,
    explained_share,
    fit_round,
    locate_runout,
    read_round,
)
from measurements.engineering.validity import OutsideValidity

RUNNING_OUT = [Decimal(p) for p in (".0072", ".0081", ".0096", ".0104", ".0101", ".0089", ".0078", ".0070")]
RESEATED = [Decimal(p) for p in (".0079", ".0082", ".0086", ".0087", ".0085", ".0083", ".0080", ".0079")]
LIMIT, REPEATS = Decimal(".0020"), Decimal(".0002")


def wave(count: int, *, once: float = 0.0, twice: float = 0.0, thrice: float = 0.0) -> list[Decimal]:
    angles = [2 * math.pi * i / count for i in range(count)]
    values = [0.008 + once * math.cos(a) + twice * math.cos(2 * a) + thrice * math.cos(3 * a) for a in angles]
    return [Decimal(f"{value:.9f}") for value in values]


def spike(count: int, at: int, by: str = ".004") -> list[Decimal]:
    return [Decimal(".008") + (Decimal(by) if i == at else 0) for i in range(count)]


def shape(points: Sequence[Decimal]) -> Shape:
    return read_round(fit_round(points), LIMIT, REPEATS).shape


def test_story_spread_and_fit() -> None:
    """Calculated: spread .0034, two points over .0100, largest residual .00014, axial .0049 at .7."""
    found = fit_round(RUNNING_OUT)
    assert found.spread == Decimal("0.0034")
    assert (found.smallest, found.largest) == (Decimal(".0070"), Decimal(".0104"))
    assert found.outside(Decimal(".006"), Decimal(".0100")) == (4, 5)
    assert found.outside(Decimal(".0070"), Decimal(".0104")) == ()  # the limits themselves are inside
    assert found.outside(Decimal(".00701"), Decimal(".01039")) == (4, 8)
    assert round(found.residual, 5) == 0.00014
    assert found.mean == pytest.approx(0.0086375, rel=1e-12)
    assert found.lobe.amplitude == pytest.approx(0.0017265, abs=5e-8)
    assert found.lobe.phase_deg == pytest.approx(148.207, abs=5e-4)
    assert found.explained == pytest.approx(0.99538, abs=5e-6)
    assert round(locate_runout(found, 0.7, 0.0020, 0.0045).expected, 4) == 0.0049


def test_story_says_runout_and_points_at_the_seating() -> None:
    found = fit_round(RUNNING_OUT)
    reading = read_round(found, LIMIT, REPEATS)
    assert (reading.shape, reading.point) == (Shape.ONCE_PER_TURN, 0)
    assert "not a bad tooth" in reading.says
    place = locate_runout(found, 0.7, bench_tir=0.0020, housing_tir=0.0045)
    assert place.seat is Seat.SEATING
    assert "burr" in place.says


def test_story_after_reseating_is_even() -> None:
    found = fit_round(RESEATED)
    assert found.spread == Decimal("0.0008")
    assert found.outside(Decimal(".006"), Decimal(".0100")) == ()
    assert shape(RESEATED) is Shape.EVEN


@pytest.mark.parametrize(
    ("bench", "housing", "seat"),
    [
        (0.0045, 0.0045, Seat.GEAR),
        (0.0010, 0.0040, Seat.SEATING),
        (0.0010, 0.0010, Seat.RADIAL),
        (0.0034 / 0.7 * 2 / 3, 0, Seat.GEAR),
        (0, 0.0034 / 0.7 * 2 / 3, Seat.SEATING),
        (0, 0.0034 / 0.7 * 0.66, Seat.RADIAL),
    ],
)
def test_place_of_the_runout(bench: float, housing: float, seat: Seat) -> None:
    assert locate_runout(fit_round(RUNNING_OUT), 0.7, bench, housing).seat is seat


def test_runouts_below_zero_are_refused() -> None:
    found = fit_round(RUNNING_OUT)
    with pytest.raises(OutsideValidity, match="bench runout"):
        locate_runout(found, 0.7, -0.001, 0)
    with pytest.raises(OutsideValidity, match="runout in the housing"):
        locate_runout(found, 0.7, 0, -0.001)


def test_spread_at_the_limit_is_even_and_one_step_over_is_not() -> None:
    at = [Decimal(".0070"), Decimal(".0080"), Decimal(".0090"), Decimal(".0080")]
    assert shape(at) is Shape.EVEN
    over = [Decimal(".0070"), Decimal(".00801"), Decimal(".0091"), Decimal(".0080")]
    assert shape(over) is Shape.ONCE_PER_TURN


def test_exact_spread_does_not_flip_as_binary_floats_do() -> None:
    """.0082 - .0062 is .0020 exactly, but more than .0020 in binary floats."""
    assert 0.0082 - 0.0062 != 0.0020
    points = [Decimal(".0062"), Decimal(".0072"), Decimal(".0082"), Decimal(".0072")]
    assert fit_round(points).spread == Decimal("0.0020")
    assert shape(points) is Shape.EVEN


@pytest.mark.parametrize("at", range(8))
def test_one_bad_tooth_is_named(at: int) -> None:
    reading = read_round(fit_round(spike(8, at)), LIMIT, REPEATS)
    assert (reading.shape, reading.point) == (Shape.ONE_POINT, at + 1)
    assert f"Point {at + 1} " in reading.says


def test_a_low_tooth_is_named_too() -> None:
    assert shape(spike(8, 3, "-.004")) is Shape.ONE_POINT


def test_a_spike_within_the_dials_own_repeatability_is_not_called_a_tooth() -> None:
    points = spike(8, 3)
    assert read_round(fit_round(points), LIMIT, Decimal(".0020")).shape is not Shape.ONE_POINT


#: Seven points whose scatter about their mean is .0008 (4, -2, -2, 1, -1, 1, -1 times .0004: 28/7 = 2 squared).
SCATTERED = [Decimal(".008") + Decimal(".0004") * step for step in (-2, 4, -1, -2, 1, 1, -1)]


def test_a_point_three_times_the_others_scatter_away_is_not_yet_a_tooth() -> None:
    at, beyond = Decimal(".008") + 3 * Decimal(".0008"), Decimal(".008") + Decimal("3.01") * Decimal(".0008")
    assert shape([at, *SCATTERED]) is Shape.UNCLEAR
    reading = read_round(fit_round([beyond, *SCATTERED]), LIMIT, REPEATS)
    assert (reading.shape, reading.point) == (Shape.ONE_POINT, 1)


def test_of_two_that_stand_out_the_one_farther_from_the_median_is_named() -> None:
    """Twelve points: the median is .0080, .0040 is farther from it than .0119."""
    points = [Decimal(".0040"), *[Decimal(".0078"), Decimal(".0080")] * 5, Decimal(".0119")]
    reading = read_round(fit_round(points), LIMIT, REPEATS)
    assert (reading.shape, reading.point) == (Shape.ONE_POINT, 1)


def test_four_and_five_points_cannot_tell_a_tooth() -> None:
    for count in (4, 5):
        reading = read_round(fit_round(spike(count, 1)), LIMIT, REPEATS)
        assert reading.shape is Shape.UNCLEAR
        assert f"{count} points" in reading.says
    assert shape(spike(6, 1)) is Shape.ONE_POINT


@pytest.mark.parametrize("top", range(0, 180, 25))
def test_an_oval_gear_shows_twice_wherever_its_tops_lie(top: int) -> None:
    angles = [360 * i / 12 for i in range(12)]
    points = [Decimal(f"{0.008 + 0.0017 * math.cos(math.radians(2 * (angle - top))):.9f}") for angle in angles]
    assert shape(points) is Shape.TWICE_PER_TURN


def test_a_top_a_hair_before_the_first_point_lies_at_nought_degrees() -> None:
    """The angle is the smallest negative figure there is room for: 360 degrees less that is 360.0 in binary floats."""
    points = [0.010, 0.008, 0.006, math.nextafter(0.008, 1)]
    assert math.degrees(math.atan2(points[1] - points[3], points[0] - points[2])) % 360 == 360
    assert fit_round([Fraction(point) for point in points]).lobe.phase_deg == 0


def test_oval_gear_shows_twice() -> None:
    assert shape(wave(8, twice=0.0017)) is Shape.TWICE_PER_TURN
    assert shape(wave(8, once=0.0004, twice=0.0017)) is Shape.TWICE_PER_TURN
    assert shape(wave(6, twice=0.0017)) is Shape.TWICE_PER_TURN
    assert shape(wave(8, once=0.0017)) is Shape.ONCE_PER_TURN


def test_mixed_waves_are_unclear() -> None:
    assert shape(wave(8, thrice=0.0017)) is Shape.UNCLEAR
    assert shape(wave(12, once=0.0015, twice=0.0012)) is Shape.UNCLEAR
    assert shape(wave(12, twice=0.0015, thrice=0.0012)) is Shape.UNCLEAR


def test_residual_inside_the_dials_repeatability_counts_as_explained() -> None:
    points = wave(8, once=0.0011, twice=0.0006)
    assert read_round(fit_round(points), LIMIT, Decimal(".0007")).shape is Shape.ONCE_PER_TURN
    assert read_round(fit_round(points), LIMIT, REPEATS).shape is not Shape.ONCE_PER_TURN


def test_what_is_explained_and_what_the_dial_repeats_to_are_reached_at_their_own_figure() -> None:
    """Nine tenths of the scatter: 1 - 1/10, from deviations 2, -2, 1, -1 (sum of squares 10) and a residual of 1."""
    mixed = fit_round(wave(8, once=0.0011, twice=0.0006))
    assert read_round(mixed, LIMIT, mixed.residual).shape is Shape.ONCE_PER_TURN
    made = fit_round([Decimal(10 + step) for step in (2, 1, 0, 0, -2, -1, 0, 0)])
    at, below = (replace(made, residuals=(one, 0, 0, 0, 0, 0, 0, 0)) for one in (1.0, 1.0001))
    assert at.explained == 0.9
    assert read_round(at, 1, Decimal(".1")).shape is Shape.ONCE_PER_TURN
    assert read_round(below, 1, Decimal(".1")).shape is not Shape.ONCE_PER_TURN


@given(st.integers(4, 24), st.floats(0.001, 0.01), st.floats(0.0001, 0.005), st.floats(0, 359.9))
def test_a_made_wave_is_found_again(count: int, mean: float, amplitude: float, phase: float) -> None:
    made = [Fraction(mean + amplitude * math.cos(2 * math.pi * i / count - math.radians(phase))) for i in range(count)]
    found = fit_round(made)
    assert found.lobe.amplitude == pytest.approx(amplitude, rel=1e-9)
    assert math.cos(math.radians(found.lobe.phase_deg - phase)) == pytest.approx(1, abs=1e-9)
    assert found.residual < 1e-12
    assert 0 <= found.lobe.phase_deg < 360


points_of = st.lists(st.integers(20, 200), min_size=4, max_size=16)


@given(points_of, st.integers(0, 15))
def test_starting_at_another_tooth_only_turns_the_phase(tenths: list[int], start: int) -> None:
    points = [Decimal(t) / 10000 for t in tenths]
    turned = points[start % len(points) :] + points[: start % len(points)]
    one, other = fit_round(points), fit_round(turned)
    assert other.spread == one.spread
    assert other.lobe.amplitude == pytest.approx(one.lobe.amplitude, abs=1e-12)
    assert other.residual == pytest.approx(one.residual, abs=1e-12)


@given(points_of)
@example([54, 54, 54, 123, 123, 192])  # stands out by three times the others' scatter to the last digit
def test_inches_and_millimetres_say_the_same(tenths: list[int]) -> None:
    inches = [Decimal(t) / 10000 for t in tenths]
    metric = [point * Decimal("25.4") for point in inches]
    one, other = fit_round(inches), fit_round(metric)
    assert other.spread == one.spread * Fraction("25.4")
    said_in = read_round(one, LIMIT, REPEATS)
    said_mm = read_round(other, LIMIT * Decimal("25.4"), REPEATS * Decimal("25.4"))
    if abs(one.explained - 0.9) > 1e-9:
        assert said_in == said_mm


@given(points_of)
def test_fit_leaves_nothing_of_mean_or_lobe_behind(tenths: list[int]) -> None:
    found = fit_round([Decimal(t) / 10000 for t in tenths])
    angles = [2 * math.pi * i / len(tenths) for i in range(len(tenths))]
    for f in (lambda a: 1.0, math.cos, math.sin):
        assert sum(r * f(a) for r, a in zip(found.residuals, angles, strict=True)) == pytest.approx(0, abs=1e-12)
    assert 0 - 1e-9 <= found.explained <= 1 + 1e-9


def test_no_scatter_is_explained() -> None:
    assert fit_round([Decimal(".0034")] * 5).explained == 1
    assert explained_share([1.0, -1.0], [0.5, -0.5]) == 0.75
    assert shape([Decimal(".008")] * 8) is Shape.EVEN


def test_three_points_and_figures_that_are_none_are_refused() -> None:
    with pytest.raises(OutsideValidity, match="at least 4 equally spaced points; there are 3"):
        fit_round(RUNNING_OUT[:3])
    with pytest.raises(OutsideValidity, match="backlash at point 2 must be a plain figure"):
        fit_round([Decimal(".008"), Decimal("NaN"), Decimal(".008"), Decimal(".008")])
    with pytest.raises(OutsideValidity, match="spread limit"):
        read_round(fit_round(RUNNING_OUT), Decimal(0), REPEATS)
    with pytest.raises(OutsideValidity, match="repeatability"):
        read_round(fit_round(RUNNING_OUT), LIMIT, Decimal("-.0001"))
