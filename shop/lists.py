"""A list as CSV: what a page lists, for a spreadsheet. No page here, no request."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from io import StringIO

from django.utils import timezone

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True)
class CsvList:
    """A head and lines of the same length. `name`: the file's, without its ending."""

    name: str
    head: Sequence[str]
    lines: Iterable[Sequence[object]]

    def text(self) -> str:
        """Numbers stay numbers; a text that a spreadsheet would take for a formula is neutralised."""
        out = StringIO(newline="")
        writer = csv.writer(out)
        writer.writerow(self.head)
        writer.writerows([_cell(one) for one in line] for line in self.lines)
        return out.getvalue()


def _cell(one: object) -> object:
    """Moments by the shop's clock, days as days, nothing for None."""
    if isinstance(one, datetime):
        return timezone.localtime(one).strftime("%Y-%m-%d %H:%M")
    if isinstance(one, date):
        return one.isoformat()
    if isinstance(one, bool):
        return "yes" if one else "no"
    if one is None or isinstance(one, int | float):
        return one
    text = str(one)
    return f"'{text}" if text.startswith(_FORMULA) and not _is_figure(text) else text


def _is_figure(text: str) -> bool:
    """A negative figure is no formula."""
    rest = text[1:]
    return text[0] in "+-" and rest.replace(".", "", 1).isdecimal()
