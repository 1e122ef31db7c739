"""Straightness: calculated rows; ISO 13920 limits as a public copy of its tables reads."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.geometry.straightness import (
    centre_offset,
    end_offset,
    lean_deg,
    reverse_bar,
    weldment_length_limit_mm,
    weldment_straightness_mm,
)
from measurements.engineering.validity import OutsideValidity

offsets = st.floats(-5, 5)


def test_bar_row() -> None:
    """.25 up, -.15 forward over 760 mm: .2915 mm at 120.96 degrees; .0188 and -.0113 degrees."""
    found = end_offset(0.25, -0.15, 760)
    assert found.size == pytest.approx(0.2915, abs=5e-5)
    assert found.direction_deg == pytest.approx(120.96, abs=5e-3)
    assert found.camber_deg == pytest.approx(0.0188, abs=5e-5)
    assert found.toe_deg == pytest.approx(-0.0113, abs=5e-5)


@pytest.mark.parametrize(("offset", "length", "angle"), [(0.40, 381, 0.0602), (0.10, 180, 0.0318), (0.015, 26, 0.0331)])
def test_lean(offset: float, length: float, angle: float) -> None:
    """Calculated: across a wheel, across a flange, and .015 in over 26 in (about .03 degrees)."""
    assert lean_deg(offset, length) == pytest.approx(angle, abs=5e-5)


@given(offsets, offsets)
def test_size_and_direction_give_the_offsets_back(up: float, forward: float) -> None:
    found = end_offset(up, forward, 760)
    turn = math.radians(found.direction_deg)
    assert found.size * math.sin(turn) == pytest.approx(up, abs=1e-9)
    assert found.size * math.cos(turn) == pytest.approx(forward, abs=1e-9)


@given(offsets, offsets)
def test_inches_and_millimetres_lean_alike(up: float, forward: float) -> None:
    inch, metric = end_offset(up, forward, 300), end_offset(up * 25.4, forward * 25.4, 300 * 25.4)
    assert metric.camber_deg == pytest.approx(inch.camber_deg, rel=1e-9, abs=1e-12)
    assert metric.toe_deg == pytest.approx(inch.toe_deg, rel=1e-9, abs=1e-12)
    assert metric.size == pytest.approx(inch.size * 25.4, rel=1e-9, abs=1e-12)


def test_centre_is_half_of_the_reading() -> None:
    assert centre_offset(Decimal(".005")) == Decimal(".0025")
    with pytest.raises(OutsideValidity, match="total indicator reading"):
        centre_offset(Decimal("-.001"))


@given(st.decimals("-1", "1", places=4), st.decimals("-1", "1", places=4))
def test_turned_bar_tells_housing_from_bar(housing: Decimal, bar: Decimal) -> None:
    found = reverse_bar(housing + bar, housing - bar)
    assert (found.offset, found.bar_error) == (Fraction(housing), Fraction(bar))


# ISO 13920 tables 1 and 3; the upper end of a range belongs to it.
@pytest.mark.parametrize(
    ("length", "a", "b"),
    [
        (30, "1", "1"),
        (31, "1", "2"),
        (120, "1", "2"),
        (121, "1", "2"),
        (400, "1", "2"),
        (401, "2", "3"),
        (1000, "2", "3"),
        (1001, "3", "4"),
        (2000, "3", "4"),
    ],
)
def test_weldment_lengths(length: float, a: str, b: str) -> None:
    assert weldment_length_limit_mm(length, "A") == Fraction(a)
    assert weldment_length_limit_mm(length, "B") == Fraction(b)


@pytest.mark.parametrize(
    ("length", "e", "f"),
    [
        (31, "0.5", "1"),
        (120, "0.5", "1"),
        (400, "1", "1.5"),
        (1000, "1.5", "3"),
        (1001, "2", "4.5"),
        (2000, "2", "4.5"),
    ],
)
def test_weldment_straightness(length: float, e: str, f: str) -> None:
    assert weldment_straightness_mm(length, "E") == Fraction(e)
    assert weldment_straightness_mm(length, "F") == Fraction(f)


def test_outside_validity() -> None:
    with pytest.raises(OutsideValidity, match="vertical offset"):
        end_offset(math.nan, 0, 760)
    with pytest.raises(OutsideValidity, match="horizontal offset"):
        end_offset(0, math.nan, 760)
    with pytest.raises(OutsideValidity, match="length"):
        lean_deg(1, 0)
    with pytest.raises(OutsideValidity, match="angle of the offset"):
        lean_deg(-200, 760)
    for bad in ((Decimal("NaN"), Decimal(0)), (Decimal(0), Decimal("NaN"))):
        with pytest.raises(OutsideValidity, match="reading"):
            reverse_bar(*bad)
    with pytest.raises(OutsideValidity, match="Classes A and B"):
        weldment_length_limit_mm(500, "E")
    with pytest.raises(OutsideValidity, match="Classes E and F"):
        weldment_straightness_mm(500, "A")
    for length in (0, 2, 2001, math.nan):
        with pytest.raises(OutsideValidity, match="over 2 up to 2000"):
            weldment_length_limit_mm(length, "A")
    for length in (0, 30, 2001, math.nan):
        with pytest.raises(OutsideValidity, match="over 30 up to 2000"):
            weldment_straightness_mm(length, "E")
