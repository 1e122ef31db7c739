"""The shim pack from the sizes in the drawer: fewest pieces with the exact sum.

Method: the thicknesses are whole multiples of one exact step; a table over those steps keeps the fewest pieces
for each sum, size after size, with as many of a size as there are (a bounded coin problem). Among equal counts
the pack with the thicker pieces is taken, so the answer does not depend on the order of the drawer.
Units: any, one for all. Exact: no float is used.
Validity: thicknesses above zero, a pack of at most 12 pieces and 100 000 steps. When no pack has the exact sum,
the nearest below and above are named; with a tolerance the nearest inside it is taken.
Source: the computation is exact; "fewest pieces" is common practice, no source (each joint of a pack gives way).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

from measurements.engineering.units import Exact
from measurements.engineering.validity import OutsideValidity, above_zero, not_below_zero, require, shown

MOST_PIECES = 12
MOST_STEPS = 100_000


@dataclass(frozen=True, slots=True)
class Pack:
    """Pieces from thick to thin, and how far their sum is from what was asked."""

    pieces: tuple[Fraction, ...]
    total: Fraction
    error: Fraction


Drawer = Mapping[Exact, int | None] | Sequence[Exact]


def choose_pack(target: Exact, drawer: Drawer, tolerance: Exact = Fraction(0)) -> Pack:
    """The pack for `target`. `drawer`: the sizes, or each with how many there are (None: enough)."""
    above_zero("thickness wanted", target)
    not_below_zero("tolerance", tolerance)
    stock = _stock(drawer)
    wanted, sizes = Fraction(target), sorted(stock, reverse=True)
    step = _step([wanted, *sizes])
    best = _fewest({int(size / step): stock[size] for size in sizes}, most=int((wanted + sizes[0]) / step))
    packs = {total * step: tuple(piece * step for piece in pieces) for total, pieces in best.items()}
    return _nearest(wanted, Fraction(tolerance), packs)


def _stock(drawer: Drawer) -> dict[Fraction, int]:
    """Each thickness with how many may be used, empty boxes left out."""
    counts = drawer if isinstance(drawer, Mapping) else dict.fromkeys(drawer)
    stock = {}
    for size, count in counts.items():
        above_zero("shim thickness", size)
        enough = MOST_PIECES if count is None else count
        not_below_zero("number of shims", enough)
        stock[Fraction(size)] = enough
    stock = {size: count for size, count in stock.items() if count}
    require(bool(stock), "There is no shim in the drawer to choose from.", field="drawer")
    return stock


def _step(values: Sequence[Fraction]) -> Fraction:
    """The largest step of which every value is a whole multiple."""
    denominator = lcm(*(value.denominator for value in values))
    return Fraction(gcd(*(int(value * denominator) for value in values)), denominator)


def _fewest(stock: Mapping[int, int], most: int) -> dict[int, tuple[int, ...]]:
    """The fewest pieces (thick ones first), in steps, for every sum up to `most` that can be reached."""
    require(
        most <= MOST_STEPS,
        "These thicknesses have too fine a common step to search; round them.",
        field="drawer",
    )
    best: dict[int, tuple[int, ...]] = {0: ()}
    for width, count in stock.items():
        for total, pieces in list(best.items()):
            for number in range(1, min(count, MOST_PIECES - len(pieces), (most - total) // width) + 1):
                longer, reached = pieces + (width,) * number, total + number * width
                if reached not in best or _rank(longer) < _rank(best[reached]):
                    best[reached] = longer
    del best[0]
    return best


def _rank(pieces: tuple[int, ...]) -> tuple[int, list[int]]:
    return len(pieces), [-piece for piece in pieces]


def _nearest(target: Fraction, tolerance: Fraction, packs: Mapping[Fraction, tuple[Fraction, ...]]) -> Pack:
    inside = [total for total in packs if abs(total - target) <= tolerance]
    if inside:
        total = min(inside, key=lambda t: (abs(t - target), len(packs[t])))
        return Pack(packs[total], total, total - target)
    below = max((total for total in packs if total < target), default=None)
    above = min((total for total in packs if total > target), default=None)
    near = " and ".join(shown(total) for total in (below, above) if total is not None)
    raise OutsideValidity(f"No pack from the drawer makes {shown(target)}; the nearest: {near}.", field="target")
