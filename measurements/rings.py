"""Setting rings: for which limits one has the size, and where a gauge is set on one.

That a gauge is set on a ring stands in the build card alone. The package that keeps the cards declares here who can
tell it: arrows point from there to here.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from decimal import Decimal
from fractions import Fraction

from measurements.engineering.units import convert, same_dimension
from measurements.models import Gauge

#: A setting ring must lie this near the limits (inches; common practice, no source): a bore gauge set on a ring of
#: another size would measure far from where it was set.
RING_WITHIN_IN = Decimal("0.010")

#: Of cards by their keys, (card key, code) of what is measured with a gauge that is set on a ring.
Told = Callable[[Collection[str]], Collection[tuple[str, str]]]
_declared: list[Told] = []


def declare(told: Told) -> None:
    """Once, when the package that keeps the cards is loaded."""
    if told not in _declared:
        _declared.append(told)


def set_on_a_ring(card_keys: Collection[str]) -> set[tuple[str, str]]:
    return {one for told in _declared for one in told(card_keys)}


def has_the_size(ring: Gauge, low: Decimal | None, high: Decimal | None, unit: str) -> bool:
    """Whether this ring lies near enough to these limits."""
    if ring.setting is None or not same_dimension(unit, ring.unit):
        return False
    size = convert(ring.setting, ring.unit, unit)
    margin = convert(RING_WITHIN_IN, "in", unit)
    near_low = low is None or size >= Fraction(low) - margin
    return near_low and (high is None or size <= Fraction(high) + margin)
