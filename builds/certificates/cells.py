"""One reading as a certificate shows it: both units, the word where it is not in limits, its try, whether late."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from builds.reports.wording import VERDICT_WORDS, figure, in_other, other_unit, unit_words
from measurements.models import VerdictWord

Piece = dict[str, Any]
GOOD = ("in", "recorded")


def cell(result: Piece, reading: Piece, side: str = "") -> Piece:
    """`side`: of the unit that was measured; a position that begins with it does not say it twice."""
    word = VERDICT_WORDS[VerdictWord(reading["verdict"])]
    found = {
        "position": f"{side} {reading['position'].removeprefix(side).strip()}".strip(),
        "shown": reading["typed"],
        "other": "",
        "unit": unit_words(result["unit"]),
        "other_unit": "",
        "word": word,
        "out": "" if word in GOOD else word,
        "tries": reading["tries"] if reading.get("tries", 1) > 1 else 0,
        "late": bool(reading["late"]),
        "gauge": reading["gauge"],
    }
    if not reading["value"]:
        return found
    value, decimals, difference = Decimal(reading["value"]), result["decimals"], bool(result.get("difference"))
    other = in_other(value, result["unit"], decimals, with_unit=False, difference=difference)
    return found | {
        "shown": figure(value, decimals),
        "other": other,
        "other_unit": other_unit(result["unit"]) if other else "",
    }


def verdict(cells: Iterable[Piece]) -> str:
    """One word where all agree; else every position that is not in."""
    cells = list(cells)
    if not any(found["out"] for found in cells):
        return ", ".join(dict.fromkeys(found["word"] for found in cells))
    return "; ".join(
        f"{found['out']} at {found['position']}" if found["position"] and len(cells) > 1 else found["out"]
        for found in cells
        if found["out"]
    )


def late(cells: Iterable[Piece]) -> str:
    """Whether readings were entered later, and which when it is not all of them."""
    cells = list(cells)
    marked = [found["position"] for found in cells if found["late"]]
    if not marked:
        return ""
    return "entered late" if len(marked) == len(cells) else f"entered late: {', '.join(marked)}"


def gauges(cells: Iterable[Piece], kind: str) -> str:
    named = dict.fromkeys(found["gauge"] for found in cells if found["gauge"])
    return ", ".join(named) or ("computed" if kind == "computed" else "by eye")


def short(limits: str) -> str:
    """Limits as a table shows them: "100–110 ft-lb", "≤ 0.003 in". A range that begins below zero keeps its word."""
    limits = limits.replace("at most ", "≤ ").replace("at least ", "≥ ")
    return limits if limits.startswith("-") else limits.replace(" to ", "–")


def both(limits: str, other: str) -> str:
    """Limits in both units on one line: "≤ 0.010 in (0.25 mm)"."""
    if not other or other == limits:
        return short(limits)
    return f"{short(limits)} ({short(other).removeprefix('≤ ').removeprefix('≥ ')})"


def plain(name: str) -> str:
    """A name without the remark that it is computed or counted: that stands where the gauge would."""
    return name.removesuffix(" (calculated)").removesuffix(" (count)")
