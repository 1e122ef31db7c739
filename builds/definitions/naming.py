"""A name of the card beside the side it is meant for: said once, whatever the card's own words are."""

from __future__ import annotations

import re
from functools import lru_cache

from builds.definitions.words import SIDES

_FIRST, _SECOND = SIDES
_JOINED = r"\s*(?:,\s*(?:and|or)?|/|&|\band\b|\bor\b)\s*"
#: Both sides named together: "left, right", "left and right", "right/left".
_BOTH = rf"\b(?:{_FIRST}{_JOINED}{_SECOND}|{_SECOND}{_JOINED}{_FIRST})\b"
_BRACKETED = re.compile(rf"\s*\(\s*{_BOTH}\s*\)", re.IGNORECASE)
_BARE = re.compile(_BOTH, re.IGNORECASE)


@lru_cache(maxsize=4096)
def of_one_side(name: str, side: str) -> str:
    """The name as it is meant for one side, without saying the side where the name can do without: both sides in
    brackets go, both sides in the sentence become the one. A name that is meant for no side stays."""
    if side not in SIDES:
        return name
    return _BARE.sub(side, _BRACKETED.sub("", name))


@lru_cache(maxsize=4096)
def says_side(words: str, side: str) -> bool:
    """Whether these words name the side, as a word of its own: "leftover" does not."""
    return re.search(rf"(?<![\w-]){re.escape(side)}(?![\w-])", words, re.IGNORECASE) is not None


@lru_cache(maxsize=4096)
def with_side(name: str, side: str) -> str:
    """ "Press spindles (left, right)" at the left: "Press spindles, left"; "Sawn length left" stays as it is."""
    said = of_one_side(name, side)
    return said if not side or says_side(said, side) else f"{said}, {side}"
