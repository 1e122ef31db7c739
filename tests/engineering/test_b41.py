"""ANSI B4.1 force fits: Machinery's Handbook 27th ed. p 663, 31st ed. pp 730-731; one row from memory."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.b41 import CLASSES, force_fit
from measurements.engineering.iso286 import fit
from measurements.engineering.validity import OutsideValidity

MIL = Decimal("0.001")


# nominal size: printed interference smallest-largest of FN1 to FN5 in thousandths; 4.5 from memory
PRINTED = """
0.1  .05-.5    .2-.85    -         .3-.95    .3-1.3
0.2  .1-.6     .2-1.0    -         .4-1.2    .5-1.7
0.3  .1-.75    .4-1.4    -         .6-1.6    .5-2.0
0.5  .1-.8     .5-1.6    -         .7-1.8    .6-2.3
0.6  .2-.9     .5-1.6    -         .7-1.8    .8-2.5
0.75 .2-1.1    .6-1.9    -         .8-2.1    1.0-3.0
1    .3-1.2    .6-1.9    .8-2.1    1.0-2.3   1.3-3.3
1.25 .3-1.3    .8-2.4    1.0-2.6   1.5-3.1   1.4-4.0
1.75 .4-1.4    .8-2.4    1.2-2.8   1.8-3.4   2.4-5.0
2    .6-1.8    .8-2.7    1.3-3.2   2.3-4.2   3.2-6.2
3    .7-1.9    1.0-2.9   1.8-3.7   2.8-4.7   4.2-7.2
3.5  .9-2.4    1.4-3.7   2.1-4.4   3.6-5.9   4.8-8.4
4.5  1.1-2.6   1.6-3.9   2.6-4.9   4.6-6.9   5.8-9.4
5    1.2-2.9   1.9-4.5   3.4-6.0   5.4-8.0   7.5-11.6
6    1.5-3.2   2.4-5.0   3.4-6.0   5.4-8.0   9.5-13.6
7    1.8-3.5   2.9-5.5   4.4-7.0   6.4-9.0   9.5-13.6
"""
CELLS = [
    (size, fit_class, cell)
    for size, *cells in (line.split() for line in PRINTED.strip().splitlines())
    for fit_class, cell in zip(CLASSES, cells, strict=True)
    if cell != "-"
]


@pytest.mark.parametrize(("size", "fit_class", "printed"), CELLS)
def test_interference_rows(size: str, fit_class: str, printed: str) -> None:
    """The printed interference is not stored: it must follow from the stored hole and shaft limits."""
    smallest, _, largest = printed.partition("-")
    found = force_fit(Decimal(size), fit_class)
    assert found.smallest_interference == Decimal(smallest) * MIL
    assert found.largest_interference == Decimal(largest) * MIL
    assert found.from_memory == (size == "4.5")


@pytest.mark.parametrize(
    ("size", "hole", "shaft"),
    [
        # the fits of the two demonstration axles, as their drawings give them
        ("3.5", "3.5014", ("3.5028", "3.5037")),
        ("3.0625", "3.0637", ("3.0647", "3.0654")),
        ("2.625", "2.6262", ("2.6272", "2.6279")),
        ("2.3125", "2.3137", ("2.3145", "2.3152")),
    ],
)
def test_limits_of_size(size: str, hole: str, shaft: tuple[str, str]) -> None:
    found = force_fit(Decimal(size), "FN2")
    assert (found.hole_high, found.shaft_low, found.shaft_high) == (Decimal(hole), *map(Decimal, shaft))


def test_inch_force_fit_is_not_the_iso_fit() -> None:
    # at 2 in: H7/s6 .0007-.0023 (Shigley example 7-8) against FN2 .0008-.0027
    assert force_fit(Decimal(2), "FN2").largest_interference == Decimal("0.0027")
    assert round(fit(Decimal(50), "H7", "s6").largest_interference_um / Decimal(25400), 4) == Decimal("0.0023")


@given(st.decimals(Decimal("0.01"), Decimal("7.09"), places=3), st.sampled_from(CLASSES))
def test_every_force_fit_interferes_and_its_parts_have_tolerance(size: Decimal, fit_class: str) -> None:
    if fit_class == "FN3" and size <= Decimal("0.95"):
        return
    found = force_fit(size, fit_class)
    assert 0 < found.smallest_interference < found.largest_interference
    assert size < found.hole_high < found.shaft_low < found.shaft_high


@pytest.mark.parametrize(("at", "above"), [("3.15", "3.151"), ("3.94", "3.941")])
def test_bands_are_up_to_and_including(at: str, above: str) -> None:
    assert force_fit(Decimal(at), "FN2").largest_interference < force_fit(Decimal(above), "FN2").largest_interference


@pytest.mark.parametrize(
    ("size", "fit_class", "says"),
    [
        ("0", "FN2", "over 0 up to and including 7.09 in"),
        ("7.1", "FN2", "outside the sizes"),
        ("3", "FN6", "is not a force fit kept here: FN1, FN2"),
        ("0.95", "FN3", "no FN3 at 0.95 in; it begins over 0.95"),
    ],
)
def test_fits_outside_the_table_are_refused(size: str, fit_class: str, says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        force_fit(Decimal(size), fit_class)
