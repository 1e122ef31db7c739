"""ISO 286-1/-2 limits of size: IT5 to IT11, over 3 mm up to and including 315 mm.

A nominal size belongs to the band (over a, up to and including b]. Deviations are in µm, sizes in mm.
    holes A side: EI = -es of the shaft letter; JS ±IT/2; K M N to IT8 and P to X to IT7: ES = -ei + Δ,
    Δ = IT(n) - IT(n-1); above those grades ES = -ei (N: 0). One listed exception: M6 over 250 mm is -9.
Tables typed from memory of the standard; H-hole fits agree with an independent library over the range.
"""

from bisect import bisect_left
from dataclasses import dataclass
from decimal import Decimal

from measurements.engineering.validity import OutsideValidity, require

_MAIN = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315)
_SPLIT = (3, 6, 10, 14, 18, 24, 30, 40, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315)

# Standard tolerances in µm per main band. IT4 is only for Δ.
_GRADES: dict[int, tuple[int, ...]] = {
    4: (4, 4, 5, 6, 7, 8, 10, 12, 14, 16),
    5: (5, 6, 8, 9, 11, 13, 15, 18, 20, 23),
    6: (8, 9, 11, 13, 16, 19, 22, 25, 29, 32),
    7: (12, 15, 18, 21, 25, 30, 35, 40, 46, 52),
    8: (18, 22, 27, 33, 39, 46, 54, 63, 72, 81),
    9: (30, 36, 43, 52, 62, 74, 87, 100, 115, 130),
    10: (48, 58, 70, 84, 100, 120, 140, 160, 185, 210),
    11: (75, 90, 110, 130, 160, 190, 220, 250, 290, 320),
}

# Fundamental deviation of shafts: es below the zero line for c to h, ei for k to x.
_UPPER_MAIN: dict[str, tuple[int, ...]] = {
    "d": (-30, -40, -50, -65, -80, -100, -120, -145, -170, -190),
    "e": (-20, -25, -32, -40, -50, -60, -72, -85, -100, -110),
    "f": (-10, -13, -16, -20, -25, -30, -36, -43, -50, -56),
    "g": (-4, -5, -6, -7, -9, -10, -12, -14, -15, -17),
    "h": (0,) * 10,
}
_UPPER_SPLIT: dict[str, tuple[int, ...]] = {
    "c": (-70, -80, -95, -95, -110, -110, -120, -130, -140, -150,
          -170, -180, -200, -210, -230, -240, -260, -280, -300, -330),
}  # fmt: skip
_LOWER_MAIN: dict[str, tuple[int, ...]] = {
    "k": (1, 1, 1, 2, 2, 2, 3, 3, 4, 4),
    "m": (4, 6, 7, 8, 9, 11, 13, 15, 17, 20),
    "n": (8, 10, 12, 15, 17, 20, 23, 27, 31, 34),
    "p": (12, 15, 18, 22, 26, 32, 37, 43, 50, 56),
}
_LOWER_SPLIT: dict[str, tuple[int | None, ...]] = {
    "r": (15, 19, 23, 23, 28, 28, 34, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98),
    "s": (19, 23, 28, 28, 35, 35, 43, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130, 140, 158, 170),
    "t": (None, None, None, None, None, 41, 48, 54, 66, 75, 91, 104, 122, 134, 146, 166, 180, 196, 218, 240),
    "u": (23, 28, 33, 33, 41, 48, 60, 70, 87, 102, 124, 144, 170, 190, 210, 236, 258, 284, 315, 350),
    "x": (28, 34, 40, 45, 54, 64, 80, 97, 122, 146, 178, 210, 248, 280, 310, 350, 385, 425, 475, 525),
}  # fmt: skip
SHAFTS = (*"cdefgh", "js", *"kmnprstux")
HOLES = tuple(letter.upper() for letter in SHAFTS)
_DELTA_TO_IT8 = "kmn"


@dataclass(frozen=True, slots=True)
class Zone:
    """A tolerance zone such as H7 or s6 at one nominal size: deviations in µm (half µm for JS)."""

    nominal_mm: Decimal
    name: str
    lower_um: Decimal
    upper_um: Decimal

    @property
    def smallest_mm(self) -> Decimal:
        """Lower limit of size."""
        return self.nominal_mm + self.lower_um / 1000

    @property
    def largest_mm(self) -> Decimal:
        """Upper limit of size."""
        return self.nominal_mm + self.upper_um / 1000


@dataclass(frozen=True, slots=True)
class Fit:
    """A hole and a shaft of one nominal size; interference = shaft - hole in µm, negative is clearance."""

    hole: Zone
    shaft: Zone

    @property
    def smallest_interference_um(self) -> Decimal:
        """Smallest shaft in the largest hole."""
        return self.shaft.lower_um - self.hole.upper_um

    @property
    def largest_interference_um(self) -> Decimal:
        """Largest shaft in the smallest hole."""
        return self.shaft.upper_um - self.hole.lower_um


def tolerance_um(nominal_mm: Decimal, grade: int) -> int:
    """The standard tolerance IT5 to IT11 in µm."""
    _check_size(nominal_mm)
    require(5 <= grade <= 11, f"IT{grade} is not kept here: grades are IT5 to IT11.", field="grade")
    return _GRADES[grade][_band(_MAIN, nominal_mm)]


def zone(nominal_mm: Decimal, name: str) -> Zone:
    """The zone of a hole ("H7") or a shaft ("s6") at a nominal size in mm."""
    letter = name.rstrip("0123456789")
    digits = name[len(letter) :]
    known = letter in SHAFTS or letter in HOLES
    require(
        known and digits.isascii() and digits.isdigit(),
        f"“{name}” is not a zone kept here: holes C to X, shafts c to x, grades 5 to 11, such as H7 or s6.",
        field="zone",
    )
    grade = int(digits)
    width = tolerance_um(nominal_mm, grade)
    if letter in ("js", "JS"):
        half = Decimal(width) / 2
        return Zone(nominal_mm, name, -half, half)
    if letter.islower():
        lower, upper = _shaft(nominal_mm, letter, grade, width)
    else:
        lower, upper = _hole(nominal_mm, letter, grade, width)
    return Zone(nominal_mm, name, Decimal(lower), Decimal(upper))


def fit(nominal_mm: Decimal, hole: str, shaft: str) -> Fit:
    """The fit of a hole and a shaft such as 50 H7/p6."""
    require(hole[:1].isupper() and shaft[:1].islower(), "Give the hole with a capital and the shaft without.")
    return Fit(zone(nominal_mm, hole), zone(nominal_mm, shaft))


def _check_size(nominal_mm: Decimal) -> None:
    require(
        _MAIN[0] < nominal_mm <= _MAIN[-1],
        f"{nominal_mm} mm is outside the sizes kept: over {_MAIN[0]} up to and including {_MAIN[-1]} mm.",
        field="nominal size",
    )


def _band(edges: tuple[int, ...], nominal_mm: Decimal) -> int:
    return bisect_left(edges, nominal_mm) - 1


def _shaft(nominal_mm: Decimal, letter: str, grade: int, width: int) -> tuple[int, int]:
    main, split = _band(_MAIN, nominal_mm), _band(_SPLIT, nominal_mm)
    if letter in _UPPER_MAIN or letter in _UPPER_SPLIT:
        upper = _UPPER_MAIN[letter][main] if letter in _UPPER_MAIN else _UPPER_SPLIT[letter][split]
        return upper - width, upper
    lower = _lower_deviation(letter, main, split)
    if letter == "k" and grade > 7:
        lower = 0
    return lower, lower + width


def _hole(nominal_mm: Decimal, letter: str, grade: int, width: int) -> tuple[int, int]:
    main, split = _band(_MAIN, nominal_mm), _band(_SPLIT, nominal_mm)
    small = letter.lower()
    if small in _UPPER_MAIN or small in _UPPER_SPLIT:
        lower_shaft, upper_shaft = _shaft(nominal_mm, small, grade, width)
        return -upper_shaft, -lower_shaft
    upper = -_lower_deviation(small, main, split)
    if grade <= (8 if small in _DELTA_TO_IT8 else 7):
        upper += width - _GRADES[grade - 1][main]
    elif small in ("k", "n"):
        upper = 0
    if (letter, grade) == ("M", 6) and nominal_mm > 250:
        upper = -9
    return upper - width, upper


def _lower_deviation(letter: str, main: int, split: int) -> int:
    if letter in _LOWER_MAIN:
        return _LOWER_MAIN[letter][main]
    deviation = _LOWER_SPLIT[letter][split]
    if deviation is None:
        raise OutsideValidity("Zones t and T begin over 24 mm; take u or s instead.", field="zone")
    return deviation
