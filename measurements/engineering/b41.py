"""ANSI B4.1 force and shrink fits FN1 to FN5 in inches, 0 to 7.09 in, the sizes of an axle shop.

Each row: nominal size over a up to and including b; limits in thousandths of an inch against the nominal
size (the hole's lower limit is the nominal). Interference: smallest = shaft low - hole high, largest = shaft
high. Source: Machinery's Handbook, table 11 of the fits chapter (27th ed. p 663 to 3.94 in; 31st ed. pp
730-731 above 4.73 in); the row 3.94-4.73 is from memory. This is not the inch form of ISO 286: at 2 in
FN2 is .8-2.7 and H7/s6 is .7-2.3, so the system specified is kept with the fit.
"""

from dataclasses import dataclass
from decimal import Decimal

from measurements.engineering.validity import require

CLASSES = ("FN1", "FN2", "FN3", "FN4", "FN5")

# size to: (hole high, shaft low, shaft high) for FN1 to FN5; "-" where the standard has no fit.
_ROWS = """
0.12  .25 .3  .5   | .4 .6  .85 | -            | .4 .7  .95 | .6 .9  1.3
0.24  .3  .4  .6   | .5 .7  1.0 | -            | .5 .9  1.2 | .7 1.2 1.7
0.40  .4  .5  .75  | .6 1.0 1.4 | -            | .6 1.2 1.6 | .9 1.4 2.0
0.56  .4  .5  .8   | .7 1.2 1.6 | -            | .7 1.4 1.8 | 1.0 1.6 2.3
0.71  .4  .6  .9   | .7 1.2 1.6 | -            | .7 1.4 1.8 | 1.0 1.8 2.5
0.95  .5  .7  1.1  | .8 1.4 1.9 | -            | .8 1.6 2.1 | 1.2 2.2 3.0
1.19  .5  .8  1.2  | .8 1.4 1.9 | .8 1.6 2.1   | .8 1.8 2.3 | 1.2 2.5 3.3
1.58  .6  .9  1.3  | 1.0 1.8 2.4 | 1.0 2.0 2.6 | 1.0 2.5 3.1 | 1.6 3.0 4.0
1.97  .6  1.0 1.4  | 1.0 1.8 2.4 | 1.0 2.2 2.8 | 1.0 2.8 3.4 | 1.6 4.0 5.0
2.56  .7  1.3 1.8  | 1.2 2.0 2.7 | 1.2 2.5 3.2 | 1.2 3.5 4.2 | 1.8 5.0 6.2
3.15  .7  1.4 1.9  | 1.2 2.2 2.9 | 1.2 3.0 3.7 | 1.2 4.0 4.7 | 1.8 6.0 7.2
3.94  .9  1.8 2.4  | 1.4 2.8 3.7 | 1.4 3.5 4.4 | 1.4 5.0 5.9 | 2.2 7.0 8.4
4.73  .9  2.0 2.6  | 1.4 3.0 3.9 | 1.4 4.0 4.9 | 1.4 6.0 6.9 | 2.2 8.0 9.4
5.52  1.0 2.2 2.9  | 1.6 3.5 4.5 | 1.6 5.0 6.0 | 1.6 7.0 8.0 | 2.5 10.0 11.6
6.30  1.0 2.5 3.2  | 1.6 4.0 5.0 | 1.6 5.0 6.0 | 1.6 7.0 8.0 | 2.5 12.0 13.6
7.09  1.0 2.8 3.5  | 1.6 4.5 5.5 | 1.6 6.0 7.0 | 1.6 8.0 9.0 | 2.5 12.0 13.6
"""
_MIL = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class ForceFit:
    """One fit at one nominal size; all figures in inches."""

    nominal: Decimal
    fit_class: str
    hole_high: Decimal
    shaft_low: Decimal
    shaft_high: Decimal
    from_memory: bool

    @property
    def smallest_interference(self) -> Decimal:
        """Smallest shaft in the largest hole."""
        return self.shaft_low - self.hole_high

    @property
    def largest_interference(self) -> Decimal:
        """Largest shaft in the smallest hole."""
        return self.shaft_high - self.nominal


def _read() -> tuple[tuple[Decimal, tuple[tuple[Decimal, ...] | None, ...]], ...]:
    rows = []
    for line in _ROWS.split("\n"):
        if line:
            size, _, cells = line.partition(" ")
            fits = (cell.split() for cell in cells.split("|"))
            rows.append((Decimal(size), tuple(None if "-" in fit else tuple(map(Decimal, fit)) for fit in fits)))
    return tuple(rows)


_TABLE = _read()
_LARGEST = _TABLE[-1][0]
_MEMORY_UP_TO = Decimal("4.73")


def force_fit(nominal_in: Decimal, fit_class: str) -> ForceFit:
    """The limits of hole and shaft of an FN class at a nominal size in inches."""
    require(fit_class in CLASSES, f"“{fit_class}” is not a force fit kept here: {', '.join(CLASSES)}.")
    require(
        0 < nominal_in <= _LARGEST,
        f"{nominal_in} in is outside the sizes kept here: over 0 up to and including {_LARGEST} in.",
        field="nominal size",
    )
    size, fits = next(row for row in _TABLE if nominal_in <= row[0])
    limits = fits[CLASSES.index(fit_class)]
    require(limits is not None, f"The standard has no {fit_class} at {nominal_in} in; it begins over 0.95 in.")
    hole_high, shaft_low, shaft_high = (nominal_in + figure * _MIL for figure in limits or ())
    return ForceFit(nominal_in, fit_class, hole_high, shaft_low, shaft_high, size == _MEMORY_UP_TO)
