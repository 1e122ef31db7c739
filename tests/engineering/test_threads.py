"""Threads: ISO 898-1 and Shigley table 8-2 stress areas, FED-STD-H28/2B engagement."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.threads import Thread, least_engagement, thread
from measurements.engineering.validity import OutsideValidity

INCH = 0.0254
KSI = 6894757.293168


@pytest.mark.parametrize(
    ("name", "published", "computed"),
    [
        # ISO 898-1, mm²
        ("M8", 36.6, 36.61),
        ("M10", 58.0, 57.99),
        ("M12", 84.3, 84.27),
        ("M14", 115, 115.44),
        ("M16", 157, 156.67),
        ("M18", 192, 192.47),
        ("M20", 245, 244.79),
        # fine, from memory
        ("M10x1.25", 61.2, 61.20),
        ("M12x1.25", 92.1, 92.07),
        ("M12x1.5", 88.1, 88.13),
        ("M14x1.5", 125, 124.55),
        ("M16×1.5", 167, 167.25),
    ],
)
def test_metric_stress_areas(name: str, published: float, computed: float) -> None:
    area = thread(name).stress_area * 1e6
    assert area == pytest.approx(published, rel=0.005)
    assert area == pytest.approx(computed, abs=0.005)


@pytest.mark.parametrize(
    ("name", "published"),
    [
        # Shigley table 8-2, in²
        ("3/8-16", 0.0775),
        ("3/8-24", 0.0878),
        ("7/16-14", 0.1063),
        ("7/16-20", 0.1187),
        ("1/2-13", 0.1419),
        ("1/2-20", 0.1599),
        ("9/16-18", 0.203),
        ("5/8-18", 0.256),
        ("3/4-10", 0.334),
        ("3/4-16", 0.373),
    ],
)
def test_unified_stress_areas(name: str, published: float) -> None:
    assert thread(name).stress_area / INCH**2 == pytest.approx(published, abs=0.0006)


def test_metric_and_unified_areas_use_different_formulas() -> None:
    half = thread("1/2-20")
    as_metric = Thread("the same", half.diameter, half.pitch, metric=True)
    assert as_metric.stress_area > half.stress_area * 1.002


def test_designations() -> None:
    assert thread("M12") == Thread("M12", 0.012, 0.00175, metric=True)
    assert thread("1 1/8-12").diameter == pytest.approx(1.125 * INCH)
    assert thread("1-8").diameter == pytest.approx(INCH)
    assert thread("1/2-20").pitch == pytest.approx(INCH / 20)


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("", "is not a thread designation"),
        ("M", "is not a thread designation"),
        ("1/2", "is not a thread designation"),
        ("1/0-20", "is not a thread designation"),
        ("1/2-0", "is not a thread designation"),
        ("1-0", "is not a thread designation"),
        ("M12*1.25", "is not a thread designation"),
        ("M12x9", "does not fit its diameter"),
        ("M12x0", "does not fit its diameter"),
        ("1/2-1", "does not fit its diameter"),
        ("M13", "coarse pitch of M13 is not kept here"),
    ],
)
def test_designations_that_cannot_be_are_refused(name: str, says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        thread(name)


@pytest.mark.parametrize(("name", "inches"), [("1/2-20", 0.739), ("1/2-13", 0.632)])
def test_engagement_of_a_hard_bolt_in_soft_metal(name: str, inches: float) -> None:
    # FED-STD-H28/2B worked with a screw-thread library: 150 ksi bolt, 60 ksi nut material, 2A/2B
    found = least_engagement(thread(name), bolt_tensile_pa=150 * KSI, nut_tensile_pa=60 * KSI)
    assert found.length / INCH == pytest.approx(inches, rel=1e-3)
    assert found.weaker == "nut thread"


def test_in_equal_material_the_bolt_thread_governs() -> None:
    found = least_engagement(thread("1/2-20"), bolt_tensile_pa=120 * KSI, nut_tensile_pa=150 * KSI)
    assert found.weaker == "bolt thread"


@given(st.sampled_from(["1/4-20", "3/8-24", "7/16-14", "3/4-16", "1-8"]), st.floats(30, 149), st.floats(1, 50))
def test_softer_metal_needs_more_thread(name: str, nut: float, more: float) -> None:
    def length(strength: float) -> float:
        found = least_engagement(thread(name), bolt_tensile_pa=150 * KSI, nut_tensile_pa=strength * KSI)
        return found.length

    assert length(nut) >= length(nut + more)


@pytest.mark.parametrize(
    ("name", "bolt", "nut", "says"),
    [
        ("M12", 150, 60, "inch threads only"),
        ("2/16-40", 150, 60, "bolt diameter must be from 0.25 to 1.5 in"),
        ("1/2-20", 0, 60, "tensile strength of the bolt"),
        ("1/2-20", 150, -1, "tensile strength of the nut"),
    ],
)
def test_engagement_outside_its_range_is_refused(name: str, bolt: float, nut: float, says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        least_engagement(thread(name), bolt_tensile_pa=bolt * KSI, nut_tensile_pa=nut * KSI)
