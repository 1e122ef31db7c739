"""Where the mark lies, pressed on the drawn tooth: the card's own words at their places on the flank."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builds.definitions.words import Kind
from builds.drawings.tooth_keys import edge, flank, spot
from builds.reports.work import Place, Work
from measurements.bench.marks import mark_of
from measurements.engineering.gears.pattern_terms import Height, Length, Mark

#: Top to root, toe to heel: the grid of the flank.
_ROWS = (Height.HIGH, Height.MIDDLE, Height.LOW)
_COLUMNS = (Length.TOE, Length.CENTRE, Length.HEEL)
#: Which flank is which curve of a ring gear in ordinary use (TM 10-3930-638-24&P and public truck pages).
CURVES = {"drive": "drive side, convex", "coast": "coast side, concave"}
MILLED, HOBBED = "face-milled", "face-hobbed"


def tooth(work: Work, at: Place) -> dict[str, Any] | None:
    """The tooth to press on; None where the choices of this place are not all marks on a tooth."""
    asked = at.asked
    if asked.kind is not Kind.CHOICE or at.position not in CURVES:
        return None
    return tooth_of(asked.choices, at.position, _cut(work))


def tooth_of(words: Sequence[str], position: str, cut: str) -> dict[str, Any] | None:
    """What builds/_tooth.html takes.

    rows: three rows of three cells, each the list of its choices; edges: the choices that are no place on it.
    """
    marks = {word: found for word in words if (found := mark_of(word)) is not None}
    if len(marks) != len(words):
        return None
    return {
        "side": CURVES[position],
        "cut": cut,
        "flank": flank(tapered=cut == MILLED),
        "rows": [[_cell(marks, height, length, cut) for length in _COLUMNS] for height in _ROWS],
        "edges": [{"word": word, "spot": edge()} for word, mark in marks.items() if mark.faults],
    }


def _cell(marks: Mapping[str, Mark], height: Height, length: Length, cut: str) -> list[dict[str, Any]]:
    here = [word for word, mark in marks.items() if not mark.faults and (mark.height, mark.length) == (height, length)]
    return [{"word": word, "spot": spot(slanted=_slants(word, here, cut))} for word in here]


def _slants(word: str, here: Sequence[str], cut: str) -> bool:
    """A word that says so; elsewhere the mark of a hobbed tooth lies aslant by nature."""
    return word.endswith("slanted") or (len(here) == 1 and cut == HOBBED)


def _cut(work: Work) -> str:
    """How these gears are cut: as it was seen at this pass, else as the card has it; empty when neither says."""
    call = next((call for call in work.slot.operation.advice if call.name == "tooth_pattern"), None)
    if call is None:
        return ""
    seen = work.place(dict(call.inputs)["cut"], "")
    if seen is not None and seen.last is not None:
        return seen.last.typed
    stated = dict(call.figures).get("card_cut")
    return "" if stated is None else HOBBED if stated else MILLED
