"""ISO 286 limits. Rows marked "library" agree with an independent fits library over all sizes; Shigley's
examples 7-7 and 7-8 (printed); hole rows other than H from memory of ISO 286-2."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.iso286 import HOLES, SHAFTS, fit, tolerance_um, zone
from measurements.engineering.validity import OutsideValidity

sizes = st.decimals(Decimal("3.001"), Decimal(315), places=3)
grades = st.integers(5, 11)


@pytest.mark.parametrize(
    ("size", "hole", "shaft", "hole_um", "shaft_um", "window"),
    [
        # library
        ("50", "H7", "p6", (0, 25), (26, 42), (1, 42)),
        ("35", "H7", "p6", (0, 25), (26, 42), (1, 42)),
        ("34", "H7", "s6", (0, 25), (43, 59), (18, 59)),
        ("76", "H7", "p6", (0, 30), (32, 51), (2, 51)),
        ("76", "H7", "s6", (0, 30), (59, 78), (29, 78)),
        ("100", "H7", "s6", (0, 35), (71, 93), (36, 93)),
        ("88.9", "H7", "s6", (0, 35), (71, 93), (36, 93)),
        ("90", "H7", "s6", (0, 35), (71, 93), (36, 93)),
        ("60", "H7", "s6", (0, 30), (53, 72), (23, 72)),
        # Shigley example 7-7
        ("34", "H11", "c11", (0, 160), (-280, -120), (-440, -120)),
    ],
)
def test_hole_basis_fits(
    size: str,
    hole: str,
    shaft: str,
    hole_um: tuple[int, int],
    shaft_um: tuple[int, int],
    window: tuple[int, int],
) -> None:
    found = fit(Decimal(size), hole, shaft)
    assert (found.hole.lower_um, found.hole.upper_um) == hole_um
    assert (found.shaft.lower_um, found.shaft.upper_um) == shaft_um
    assert (found.smallest_interference_um, found.largest_interference_um) == window


def test_limits_of_size_in_mm() -> None:
    # Shigley example 7-7
    found = fit(Decimal(34), "H11", "c11")
    assert (found.hole.smallest_mm, found.hole.largest_mm) == (Decimal("34.000"), Decimal("34.160"))
    assert (found.shaft.smallest_mm, found.shaft.largest_mm) == (Decimal("33.720"), Decimal("33.880"))


def test_two_inch_fit_rounds_to_the_printed_tenths() -> None:
    # Shigley example 7-8: 2 in H7/s6 -> hole 2.0000-2.0010, shaft 2.0017-2.0023 (the inch tables there are
    # the metric ones divided by 25.4 and rounded: .0012 and .0021-.0028 for 50.8 mm would be the 50-80 band)
    found = fit(Decimal(50), "H7", "s6")  # the printed example takes the band that ends at 2 in = 50 mm
    inches = [
        round(float(figure) / 25400, 4) for figure in (found.hole.upper_um, found.shaft.lower_um, found.shaft.upper_um)
    ]
    assert inches == [0.0010, 0.0017, 0.0023]


@pytest.mark.parametrize(
    ("size", "name", "lower", "upper"),
    [
        # from memory of ISO 286-2
        ("50", "K7", -18, 7),
        ("50", "M7", -25, 0),
        ("50", "N7", -33, -8),
        ("50", "P7", -42, -17),
        ("25", "K6", -11, 2),
        ("25", "R7", -41, -20),
        ("25", "S7", -48, -27),
        ("100", "N9", -87, 0),
        ("100", "P9", -124, -37),
        ("100", "K8", -38, 16),
        ("100", "K9", -87, 0),
        ("100", "M9", -100, -13),
        ("280", "M6", -41, -9),
        ("250", "M6", -37, -8),
        ("100", "F8", 36, 90),
        ("100", "G7", 12, 47),
        ("34", "C11", 120, 280),
        ("28", "t6", 41, 54),
        ("28", "T7", -54, -33),
        ("160", "x7", 280, 320),
        ("100", "k7", 3, 38),
        ("100", "k8", 0, 54),
        ("100", "h6", -22, 0),
        ("70", "r6", 43, 62),
        ("100", "u6", 124, 146),
    ],
)
def test_zones(size: str, name: str, lower: int, upper: int) -> None:
    found = zone(Decimal(size), name)
    assert (found.lower_um, found.upper_um) == (lower, upper)


def test_symmetric_zones_may_have_half_micrometres() -> None:
    assert (zone(Decimal(50), "js7").lower_um, zone(Decimal(50), "JS7").upper_um) == (
        Decimal("-12.5"),
        Decimal("12.5"),
    )


@pytest.mark.parametrize(("at", "above"), [("120", "120.001"), ("100", "100.001"), ("200", "200.001")])
def test_a_size_at_the_edge_belongs_to_the_lower_band(at: str, above: str) -> None:
    # a reference table tried returns the next band at exact upper limits; bands are up to and including
    assert zone(Decimal(at), "s6") != zone(Decimal(above), "s6")
    assert zone(Decimal("100"), "s6").lower_um == 71
    assert zone(Decimal("200"), "s6").lower_um == 122
    assert tolerance_um(Decimal(120), 7) == 35
    assert tolerance_um(Decimal("120.001"), 7) == 40


@given(sizes, grades, st.sampled_from(SHAFTS))
def test_every_zone_is_as_wide_as_its_grade(size: Decimal, grade: int, letter: str) -> None:
    if letter == "t" and size <= 24:
        return
    width = tolerance_um(size, grade)
    for name in (f"{letter}{grade}", f"{letter.upper()}{grade}"):
        found = zone(size, name)
        assert found.upper_um - found.lower_um == width


@given(sizes, grades)
def test_wider_grades_and_larger_sizes_have_more_tolerance(size: Decimal, grade: int) -> None:
    assert grade == 11 or tolerance_um(size, grade) < tolerance_um(size, grade + 1)
    assert tolerance_um(size, grade) <= tolerance_um(Decimal(315), grade)


@given(sizes, grades)
def test_shaft_letters_climb_in_order(size: Decimal, grade: int) -> None:
    letters = [letter for letter in SHAFTS if letter not in ("js", "t" if size <= 24 else "")]
    middles = [zone(size, f"{letter}{grade}").lower_um for letter in letters]
    assert middles == sorted(middles)


@given(sizes, st.sampled_from([letter for letter in HOLES if letter in "CDEFGH"]), grades)
def test_holes_below_h_mirror_their_shafts(size: Decimal, letter: str, grade: int) -> None:
    hole, shaft = zone(size, f"{letter}{grade}"), zone(size, f"{letter.lower()}{grade}")
    assert (hole.lower_um, hole.upper_um) == (-shaft.upper_um, -shaft.lower_um)


@given(sizes, st.sampled_from("pstu"))
def test_shaft_basis_gives_the_same_fit_as_hole_basis_for_unequal_grades(size: Decimal, letter: str) -> None:
    # the Δ rule exists for this identity: H7/p6 and P7/h6 have the same interference
    if letter == "t" and size <= 24:
        return
    by_hole, by_shaft = fit(size, "H7", f"{letter}6"), fit(size, f"{letter.upper()}7", "h6")
    assert by_hole.smallest_interference_um == by_shaft.smallest_interference_um
    assert by_hole.largest_interference_um == by_shaft.largest_interference_um


@pytest.mark.parametrize(
    ("size", "name", "says"),
    [
        ("3", "H7", "over 3 up to and including 315 mm"),
        ("315.001", "H7", "over 3 up to"),
        ("50", "H4", "IT4 is not kept here"),
        ("50", "H12", "IT12 is not kept"),
        ("50", "z6", "is not a zone kept here"),
        ("50", "H", "is not a zone kept here"),
        ("50", "7H", "is not a zone kept here"),
        ("50", "", "is not a zone kept here"),
        ("24", "t6", "begin over 24 mm"),
        ("24", "T7", "begin over 24 mm"),
    ],
)
def test_zones_outside_the_tables_are_refused(size: str, name: str, says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        zone(Decimal(size), name)


@pytest.mark.parametrize(("hole", "shaft"), [("h7", "p6"), ("H7", "P6"), ("", "p6")])
def test_a_fit_needs_a_hole_and_a_shaft(hole: str, shaft: str) -> None:
    with pytest.raises(OutsideValidity, match=r"hole with a capital"):
        fit(Decimal(50), hole, shaft)
