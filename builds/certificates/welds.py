"""The welds of a frozen record as one table: a row a joint, with what was read at it and how it looked."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal

from builds.certificates.cells import Piece, cell, gauges, late, plain, short, verdict
from builds.certificates.results import FIGURES, shown_codes

#: Millimetres that the columns share beside the joint's own.
WIDTH = Decimal(160)
#: Lines that a column's name may take.
HEAD_LINES = 3
#: Figures of a reading are bold, so it is a little wider.
BOLD = "."
_PASS = re.compile(r"\bpass \d+$")


@dataclass
class Joint:
    """One weld; `words` are what a reading must name to be about it."""

    weld: Piece
    words: frozenset[str]
    cells: dict[str, list[Piece]] = field(default_factory=dict)


def welds(record: Piece) -> Piece:
    """`columns` (names), `groups` (an operation each: procedure, limits, joints) and the `codes` printed here."""
    joints = [_joint(weld) for weld in record["welds"] if not weld["superseded"]]
    shown = shown_codes(record)
    columns: dict[str, None] = {}
    limits: dict[tuple[int, str], Piece] = {}
    codes: set[str] = set()
    for operation in record["operations"]:
        for result in operation["results"]:
            if not _asked(result, operation, joints, shown):
                continue
            about = [(_about(operation, reading, joints), reading) for reading in result["readings"]]
            if not all(found for found, _ in about):
                continue
            columns[result["name"]] = None
            codes.add(result["code"])
            for found, reading in about:
                for joint in found:
                    joint.cells.setdefault(result["name"], []).append(cell(result, reading, operation["side"]))
                    limits[joint.weld["operation"], result["name"]] = result
    names = list(columns)
    groups = [
        _group(number, names, joints, limits, record) for number in dict.fromkeys(j.weld["operation"] for j in joints)
    ]
    return {"columns": _columns(names, joints, limits), "groups": groups, "codes": codes}


def _columns(names: list[str], joints: list[Joint], limits: dict[tuple[int, str], Piece]) -> list[Piece]:
    """Each as wide as what stands in it, in millimetres, all of them together as wide as the page lets them be."""
    sizes = []
    for name in names:
        texts = ["; ".join(_text(found) for found in joint.cells.get(name, [])) + BOLD for joint in joints]
        texts += [line for (_, column), asked in limits.items() if column == name for line in _limits(asked)]
        name = plain(name)
        widest = max(_breadth(text) for text in (*texts, *name.split()))
        sizes.append(max(widest, _breadth(name) / HEAD_LINES) + 1)
    share = WIDTH / max(Decimal(1), sum(sizes, Decimal(0)))
    shared = [_shared(name, limits) for name in names]
    return [
        {"name": plain(name), "width": round(share * size, 1), "limits": same}
        for name, size, same in zip(names, sizes, shared, strict=True)
    ]


def _shared(name: str, limits: dict[tuple[int, str], Piece]) -> list[str]:
    """The limits of a column when every operation asks the same: then they stand once, under its name."""
    asked = [_limits(found)[1:] for (_, column), found in limits.items() if column == name]
    return asked[0] if asked and all(found == asked[0] for found in asked) else []


def _breadth(text: str) -> Decimal:
    """Millimetres of a text in the table's type, measured on its figures: 1.64 each, points and brackets half."""
    thin = sum(1 for sign in text if sign in ".,() ")
    return Decimal(thin) * Decimal("0.85") + Decimal(len(text) - thin) * Decimal("1.64")


def _text(found: Piece) -> str:
    return f"{found['shown']} ({found['other']})" if found["other"] else found["shown"]


def _joint(weld: Piece) -> Joint:
    return Joint(weld, frozenset(f"{weld['joint']} {weld['side']}".split()))


def _asked(result: Piece, operation: Piece, joints: list[Joint], shown: set[str]) -> bool:
    """Figures of a weld's own operation, with or without limits; of any other only those that are shown anyway."""
    if not result["readings"] or result["kind"] not in FIGURES:
        return False
    own = any(joint.weld["operation"] == operation["number"] for joint in joints)
    return result["code"] in shown or (own and result["recorded_only"])


def _about(operation: Piece, reading: Piece, joints: list[Joint]) -> list[Joint]:
    """The welds a reading names: by side and number at the weld's own operation, by the kind of joint elsewhere."""
    words = frozenset(f"{operation['side']} {_PASS.sub('', reading['position'])}".split())
    own = [joint for joint in joints if joint.weld["operation"] == operation["number"]]
    if own:
        return [joint for joint in own if words and words <= joint.words]
    return [joint for joint in joints if joint.weld["joint"].split()[0] in words and words <= joint.words]


def _group(
    number: int, names: list[str], joints: list[Joint], limits: dict[tuple[int, str], Piece], record: Piece
) -> Piece:
    own = [joint for joint in joints if joint.weld["operation"] == number]
    said = list(dict.fromkeys(_by(joint.weld) for joint in own))
    cells = [found for joint in own for row in joint.cells.values() for found in row]
    judged = [found for found in cells if found["word"] != "recorded"]
    asked = [_limits(limits.get((number, name)))[: 1 if _shared(name, limits) else 3] for name in names]
    operation = next(row for row in record["operations"] if row["number"] == number)
    return {
        "number": number,
        "name": operation["name"],
        "by": said[0] if len(said) == 1 else "",
        "gauges": gauges(cells, ""),
        "verdict": verdict(judged),
        "limits": asked,
        "has_limits": any(len(lines) > 1 for lines in asked),
        "joints": [_told(joint, names, alone=len(said) > 1) for joint in own],
    }


def _limits(result: Piece | None) -> list[str]:
    """The code, and under it the limits in both units."""
    if result is None:
        return ["–"]
    return [found for found in (result["code"], short(result["limits"]), short(result["limits_other"])) if found]


def _by(weld: Piece) -> str:
    """Procedure, welder by code, wire, day."""
    wire = f", wire {weld['wire']}" if weld["wire"] else ""
    return f"{weld['procedure']}, welder {weld['welder']}{wire}, {weld['ended'][:10]}"


def _told(joint: Joint, names: list[str], *, alone: bool) -> Piece:
    """`alone`: its welder or procedure is not that of the whole group, so the row says it."""
    weld = joint.weld
    all_cells = [found for row in joint.cells.values() for found in row]
    name = weld["joint"] if weld["side"] in weld["joint"].split() else f"{weld['joint']} {weld['side']}".strip()
    is_late = weld["late"] or bool(late(all_cells))
    return {
        "name": name,
        "by": _by(weld) if alone else "",
        "marks": [*(["repair"] if weld["repair"] else []), *(["entered late"] if is_late else [])],
        "cells": [joint.cells.get(column, []) for column in names],
    }
