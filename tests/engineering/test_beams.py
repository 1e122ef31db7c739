"""A housing on two pads: calculated row, and the deflection by integrating the moment twice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.geometry.beams import TwoPads, bend
from measurements.engineering.geometry.sections import Tube, section
from measurements.engineering.validity import OutsideValidity

TUBE = section(Tube(88.9, 12.7))


def test_calculated_row() -> None:
    """15 kN at 400 mm, track 1 600, 88.9 x 12.7, E 207 000: 117.60 MPa and 3.749 mm."""
    found = bend(TwoPads(15_000, 400, 1_600), TUBE)
    assert found.moment_nm == pytest.approx(6_000)
    assert found.stress_mpa == pytest.approx(117.60, abs=0.005)
    assert found.deflection_mm == pytest.approx(3.749, abs=5e-4)


@given(st.floats(100, 50_000), st.floats(0.05, 0.5), st.floats(500, 3_000))
def test_agrees_with_integrating_the_moment(load: float, share: float, track: float) -> None:
    """Unit load at the middle: d = 2 * integral over half the beam of M(x) * x/2 / (E I)."""
    pad = share * track
    steps = 200
    width = track / 2 / steps
    total = 0.0
    for i in range(steps):
        x = (i + 0.5) * width
        total += load * min(x, pad) * x / 2 * width
    expected = 2 * total / (207_000 * TUBE.bending_mm4)
    assert bend(TwoPads(load, pad, track), TUBE).deflection_mm == pytest.approx(expected, rel=1e-3)


def test_inches_and_millimetres_are_the_same() -> None:
    inch = bend(TwoPads.from_inches(3_372.134, 15.748, 62.992), TUBE)
    metric = bend(TwoPads(15_000, 400, 1_600), TUBE)
    assert inch.stress_mpa == pytest.approx(metric.stress_mpa, rel=1e-4)
    assert metric.stress_psi == pytest.approx(17_056, rel=1e-3)
    assert metric.deflection_in == pytest.approx(3.749 / 25.4, rel=1e-3)


def test_pads_at_the_middle_are_one_load() -> None:
    """Textbook: P L^3/(48 E I) with P = 2 F."""
    found = bend(TwoPads(1_000, 800, 1_600), TUBE)
    assert found.deflection_mm == pytest.approx(2_000 * 1_600**3 / (48 * 207_000 * TUBE.bending_mm4))


@pytest.mark.parametrize(
    ("load", "pad", "track", "words"),
    [
        (-1, 400, 1600, "load at a pad"),
        (1, 0, 1600, "wheel to pad"),
        (1, 400, 0, "track"),
        (1, 801, 1600, "between the wheels"),
    ],
)
def test_outside_validity(load: float, pad: float, track: float, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        TwoPads(load, pad, track)
    with pytest.raises(OutsideValidity, match="modulus of elasticity"):
        bend(TwoPads(1, 400, 1600), TUBE, 0)
