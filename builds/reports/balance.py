"""Where the length of a bar went: cut, kerf, scrap and remnant against what the bar was. Exact, in the bar's unit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal

from builds.models import BarMeasure, Measured
from measurements.engineering.limits import plain
from shop.models import Piece

#: One cut of a band saw for tube turns so much into chips (common practice, no source).
KERF_IN = Decimal("0.0625")
NONE = Decimal(0)


@dataclass(frozen=True)
class Balance:
    """`length` None: nobody measured the bar. `pieces`: mark and length (None: not read yet) of each piece cut.

    `remnant` None: it was not measured since the last cut.
    """

    length: Decimal | None
    unit: str
    pieces: tuple[tuple[str, Decimal | None], ...]
    scrap: Decimal
    remnant: Decimal | None

    @property
    def cut(self) -> Decimal:
        return sum((length for _, length in self.pieces if length is not None), NONE)

    @property
    def unread(self) -> tuple[str, ...]:
        return tuple(mark for mark, length in self.pieces if length is None)

    @property
    def kerf(self) -> Decimal:
        """Reckoned, not measured; none where nobody knows the saw's kerf in the bar's unit."""
        return KERF_IN * len(self.pieces) if self.unit == "in" else NONE

    @property
    def at_most(self) -> Decimal | None:
        """What can be left at most: the pieces and the scrapped ends are gone for certain, the kerf by reckoning."""
        return None if self.length is None else self.length - self.cut - self.scrap

    @property
    def left(self) -> Decimal | None:
        """The remnant as measured, else as reckoned; None where a length is missing."""
        if self.remnant is not None:
            return self.remnant
        if self.at_most is None or self.unread:
            return None
        return max(NONE, self.at_most - self.kerf)

    @property
    def difference(self) -> Decimal | None:
        """What bar and parts do not agree by: trimmed ends, the tape, or a piece that nobody wrote down."""
        if self.at_most is None or self.remnant is None or self.unread:
            return None
        return self.at_most - self.kerf - self.remnant


def balance_of(bar: Piece) -> Balance:
    return balances([bar])[bar.pk]


def balances(bars: Collection[Piece]) -> dict[int, Balance]:
    """Two queries, however many bars."""
    keys = [bar.pk for bar in bars]
    pieces: dict[int | None, list[tuple[str, Decimal | None]]] = defaultdict(list)
    for parent, mark, length in (
        Piece.objects.filter(parent__in=keys).order_by("pk").values_list("parent", "item__mark", "length")
    ):
        pieces[parent].append((mark, _short(length)))
    measured: dict[int, list[BarMeasure]] = defaultdict(list)
    for row in BarMeasure.objects.filter(bar__in=keys).order_by("pk"):
        measured[row.bar_id].append(row)
    return {bar.pk: _balance(bar, pieces, measured[bar.pk]) for bar in bars}


def _balance(
    bar: Piece, pieces: Mapping[int | None, list[tuple[str, Decimal | None]]], measured: list[BarMeasure]
) -> Balance:
    cut = tuple(pieces.get(bar.pk, ()))
    # A scrapped end after the measure makes it stale as a cut does.
    last = next((row for row in reversed(measured) if row.what != Measured.LENGTH), None)
    fresh = last is not None and last.what == Measured.REMNANT and last.cuts == len(cut)
    return Balance(
        length=_short(bar.length),
        unit=bar.length_unit,
        pieces=cut,
        scrap=Decimal(plain(sum((row.length or NONE for row in measured if row.what == Measured.SCRAP), NONE))),
        remnant=_short(last.length) if last is not None and fresh else None,
    )


def _short(length: Decimal | None) -> Decimal | None:
    """The same length without the zeros that the database keeps behind it."""
    return None if length is None else Decimal(plain(length))
