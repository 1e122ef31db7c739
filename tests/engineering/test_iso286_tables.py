"""The tables of ISO 286 band by band, against figures written by an independent fits library (pressfit 0.1.0)
and, for r, t and x to 180 mm, a public machine-drawing textbook's table of fundamental deviations."""

from decimal import Decimal
from itertools import pairwise

import pytest

from measurements.engineering.iso286 import tolerance_um, zone

MAIN = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315)
SPLIT = (3, 6, 10, 14, 18, 24, 30, 40, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315)

# grade, then the tolerance in each main band
TOLERANCES = """
5 5 6 8 9 11 13 15 18 20 23
6 8 9 11 13 16 19 22 25 29 32
7 12 15 18 21 25 30 35 40 46 52
8 18 22 27 33 39 46 54 63 72 81
9 30 36 43 52 62 74 87 100 115 130
10 48 58 70 84 100 120 140 160 185 210
11 75 90 110 130 160 190 220 250 290 320
"""
# letter and grade, then the fundamental deviation in each split band: es to h, ei from k on
DEVIATIONS = """
c7 -70 -80 -95 -95 -110 -110 -120 -130 -140 -150 -170 -180 -200 -210 -230 -240 -260 -280 -300 -330
d7 -30 -40 -50 -50 -65 -65 -80 -80 -100 -100 -120 -120 -145 -145 -145 -170 -170 -170 -190 -190
e7 -20 -25 -32 -32 -40 -40 -50 -50 -60 -60 -72 -72 -85 -85 -85 -100 -100 -100 -110 -110
f7 -10 -13 -16 -16 -20 -20 -25 -25 -30 -30 -36 -36 -43 -43 -43 -50 -50 -50 -56 -56
g7 -4 -5 -6 -6 -7 -7 -9 -9 -10 -10 -12 -12 -14 -14 -14 -15 -15 -15 -17 -17
h7 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0
m7 4 6 7 7 8 8 9 9 11 11 13 13 15 15 15 17 17 17 20 20
n7 8 10 12 12 15 15 17 17 20 20 23 23 27 27 27 31 31 31 34 34
p7 12 15 18 18 22 22 26 26 32 32 37 37 43 43 43 50 50 50 56 56
s7 19 23 28 28 35 35 43 43 53 59 71 79 92 100 108 122 130 140 158 170
u7 23 28 33 33 41 48 60 70 87 102 124 144 170 190 210 236 258 284 315 350
k7 1 1 1 1 2 2 2 2 2 2 3 3 3 3 3 4 4 4 4 4
k8 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0
"""
# the textbook's rows end at 180 mm; "-" where the standard has no zone
TEXTBOOK = """
r6 15 19 23 23 28 28 34 34 41 43 51 54 63 65 68
t6 - - - - - 41 48 54 66 75 91 104 122 134 146
x6 28 34 40 45 54 64 80 97 122 146 178 210 248 280 310
"""


def rows(text: str) -> list[tuple[str, list[str]]]:
    return [(name, figures) for name, *figures in (line.split() for line in text.strip().splitlines())]


def just_above_and_at(edges: tuple[int, ...], band: int) -> tuple[Decimal, Decimal]:
    low, high = list(pairwise(edges))[band]
    return Decimal(low) + Decimal("0.001"), Decimal(high)


@pytest.mark.parametrize(("grade", "figures"), rows(TOLERANCES))
def test_standard_tolerances(grade: str, figures: list[str]) -> None:
    assert len(figures) == len(MAIN) - 1
    for band, figure in enumerate(figures):
        for size in just_above_and_at(MAIN, band):
            assert tolerance_um(size, int(grade)) == int(figure), size


@pytest.mark.parametrize(("name", "figures"), rows(DEVIATIONS) + rows(TEXTBOOK))
def test_fundamental_deviations(name: str, figures: list[str]) -> None:
    for band, figure in enumerate(figures):
        for size in just_above_and_at(SPLIT, band):
            if figure != "-":
                found = zone(size, name)
                assert (found.upper_um if name < "i" else found.lower_um) == int(figure), size


@pytest.mark.parametrize("letter", ["r", "t", "x"])
def test_the_rows_from_memory_above_the_textbook_climb(letter: str) -> None:
    sizes = [Decimal(size) for size in SPLIT if size >= 180]
    deviations = [zone(size, f"{letter}6").lower_um for size in sizes]
    assert all(small < large for small, large in pairwise(deviations))
