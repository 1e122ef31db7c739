"""The text of a card as it is kept: what its windows gave stands in it as figures from the day it was loaded."""

import tomllib
from collections.abc import Iterator
from decimal import Decimal

from builds.definitions.card import Card
from builds.definitions.reading import read_kept
from builds.definitions.table import DefinitionError, Fault
from builds.definitions.text_lines import Path, line_numbers, nearest_line

_SAID = "worked out from its window when the card was loaded"


def frozen_text(text: str, card: Card, file: str) -> str:
    """The text with every limit that was left out written beside its code; `card` is what the text was read as.

    DefinitionError when a line cannot be added there: the characteristic stands inside a list of tables in braces.
    """
    lines = line_numbers(text)
    rows = text.splitlines(keepends=True)
    after: dict[int, str] = {}
    for place, figures in _left_out(text, card):
        at = lines.get((*place, "code"))
        if at is None:
            raise _no_room(file, nearest_line(lines, place), figures)
        after[at] = "".join(f"{key} = {value:f}  # {_SAID}\n" for key, value in figures.items())
    kept = "".join(_ended(row) + after[at] if at in after else row for at, row in enumerate(rows, start=1))
    try:
        if not after or read_kept(kept, file) == card:
            return kept
    except DefinitionError:
        pass  # told below: the line that was added stands in the middle of something
    raise _no_room(file, min(after), next(figures for _, figures in _left_out(text, card)))


def _left_out(text: str, card: Card) -> Iterator[tuple[Path, dict[str, Decimal]]]:
    """Where a characteristic with a window states no limit of its own, and which ones it has."""
    written = tomllib.loads(text, parse_float=Decimal)["operation"]
    for index, operation in enumerate(card.operations):
        for number, found in enumerate(operation.characteristics):
            keys = written[index]["characteristic"][number] if found.window else {}
            if found.window is None or "target" in keys:
                continue
            limits = {"low": found.low, "high": found.high}
            missing = {key: value for key, value in limits.items() if value is not None and key not in keys}
            if missing:
                yield ("operation", index, "characteristic", number), missing


def _ended(row: str) -> str:
    return row if row.endswith("\n") else f"{row}\n"


def _no_room(file: str, line: int, figures: dict[str, Decimal]) -> DefinitionError:
    said = " and ".join(f"{key} = {value:f}" for key, value in figures.items())
    return DefinitionError(
        [Fault(file, line, "", "window", f"expected {said} to be written out; there is no room to add it here")]
    )
