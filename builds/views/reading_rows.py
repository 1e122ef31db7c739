"""The rows of an axle file's readings, put together here: some hundred rows of a template cost more than all the rest
of the page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from html import escape
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from builds.definitions.naming import of_one_side, says_side
from measurements.models import Voiding
from shop.templatetags.shop_look import verdict_word

Row = Mapping[str, Any]


_TOLD = (
    "reason", "shown", "unit", "typed", "limits", "word", "state", "void", "who", "terminal", "gauge", "calibration",
    "entered", "happened",
)  # fmt: skip
_words_of = itemgetter(*_TOLD)
_BETWEEN = "\x1f"


def _escaped(row: Row) -> dict[str, str]:
    """What is told of one try, escaped in one go: word by word it costs as much as all the rest of the row."""
    words = _words_of(row)
    told = escape(_BETWEEN.join(words)).split(_BETWEEN)
    if len(told) != len(words):  # the separator itself stands in one of them
        told = list(map(escape, words))
    return dict(zip(_TOLD, told, strict=True))


_HEAD = (
    '<table class="folds wraps"><caption class="unseen">Every try of every reading of operation {operation}</caption>'
    '<thead><tr><th scope="col">Characteristic</th><th scope="col">Reading</th><th scope="col">Limits</th>'
    '<th scope="col">Verdict</th><th scope="col">With</th><th scope="col">Who, when</th></tr></thead><tbody>'
)


def groups(rows: Iterable[Row], *, closed: bool, of: str = "axle") -> list[tuple[int, int, SafeString]]:
    """(operation, how many tries, their table), in the order given. `of`: what they should be of, as the way to declare
    one void says it."""
    found = []
    for operation, tries in groupby(rows, key=lambda row: row["operation"]):
        drawn = [reading_row(row, closed=closed, of=of) for row in tries]
        table = (
            f'<div class="scroll" tabindex="0" role="region" aria-label="Readings of operation {operation}">'
            f"{_HEAD.format(operation=operation)}\n{chr(10).join(drawn)}\n</tbody></table></div>\n"
        )
        found.append((operation, len(drawn), mark_safe(table)))
    return found


def void_said(made: Voiding) -> str:
    """What is said of a reading that was just declared void."""
    if made.counts and made.reading.is_out:
        return "The reading is void. It was out of limit and is still counted as a try."
    return "The reading is void."


def folded(drawn: Iterable[tuple[int, int, SafeString]], *, opened: bool) -> SafeString:
    """Each table of `groups` under its operation, folded away unless it shall stand open."""
    head = f'<details class="more"{" open" if opened else ""}><summary>'
    return mark_safe(
        "".join(
            f"{head}Operation {operation}: {count} reading{'' if count == 1 else 's'}</summary>{table}</details>"
            for operation, count, table in drawn
        )
    )


def reading_row(row: Row, *, closed: bool, of: str = "axle") -> str:
    """One try. Every value of the record is escaped."""
    told = _escaped(row)
    head = "<tr>" if not row["state"] else '<tr class="is-superseded">'
    return "".join(
        (
            head,
            f'<th scope="row" data-label="Characteristic"><span>{_name(row, told)}</span></th>',
            f'<td data-label="Reading"><span>{told["shown"]} {told["unit"]}',
            _soft(f"typed {told['typed']}") if row["typed"] else "",
            f'</span></td><td data-label="Limits" class="nowrap">{told["limits"]}</td>',
            f'<td data-label="Verdict"><span>{_judged(row, told)}</span></td>',
            f'<td data-label="With">{_with(row, told)}</td>',
            f'<td data-label="Who, when"><span>{_who(row, told, closed=closed, of=of)}</span></td></tr>',
        )
    )


def _soft(*words: str) -> str:
    return f'<br><span class="soft">{"".join(words)}</span>'


def _name(row: Row, told: Mapping[str, str]) -> str:
    said = _characteristic(row["code"], row["name"], row["position"], row["side"])
    if row["pass"] > 1:
        said += f' <span class="soft">pass {row["pass"]}</span>'
    if row["try"] > 1:
        said += _soft(f"try {row['try']}", f": {told['reason']}" if row["reason"] else "")
    return said


@lru_cache(maxsize=4096)
def _characteristic(code: str, name: str, position: str, side: str) -> str:
    """What was read and where, in the words of the card: the same at every axle of a model."""
    name = of_one_side(name, side or position.partition(" ")[0])
    said = f"{code} {name}" + (f", {position}" if position else "")
    if side and not says_side(f"{name} {position}", side):
        said += f", {side}"
    return escape(said)


def _judged(row: Row, told: Mapping[str, str]) -> str:
    said = str(verdict_word(row["verdict"], row["word"])) if row["verdict"] else told["word"]
    return said + (_soft(told["state"], f": {told['void']}" if row["void"] else "") if row["state"] else "")


def _with(row: Row, told: Mapping[str, str]) -> str:
    if not row["gauge"]:
        return ""
    calibration = f'<br><span class="soft nowrap">{told["calibration"]}</span>' if row["calibration"] else ""
    return f'<span><span class="nowrap">{told["gauge"]}</span>{calibration}</span>'


def _who(row: Row, told: Mapping[str, str], *, closed: bool, of: str) -> str:
    said = told["who"] + (f", {told['terminal']}" if row["terminal"] else "")
    said += _soft(told["entered"], f", entered late, done {told['happened']}" if row["late"] else "")
    if not closed and row["who"] != "computed" and not row["void"] and row["state"] != "pass done again":
        said += f'<br class="on-screen"><a class="on-screen" href="?void={row["pk"]}">not of this {of}</a>'
    return said
