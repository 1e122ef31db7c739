"""Measured results of a frozen record, laid out: a row each, by position, answers, tests, and what has no limits."""

from __future__ import annotations

from decimal import Decimal

from builds.certificates.cells import GOOD, Piece, both, cell, gauges, late, plain, verdict

#: More readings than this at one characteristic are printed by position.
FEW = 4
#: So many positions stand side by side.
ABREAST = 12
#: Millimetres of the column of units, and of each position.
FIRST, EACH = 8, Decimal("10.3")
SAFETY = "S"
ANSWERS = ("yes_no", "go_no_go", "choice")
PRESSURES = ("psi", "kPa", "bar", "mbar")
FIGURES = ("measured", "counted", "computed", "given")


class Row:
    """One characteristic of the certificate, gathered over the sides and visits it was read at."""

    def __init__(self, result: Piece, station: str) -> None:
        self.result, self.station = result, station
        self.cells: list[Piece] = []

    def told(self) -> Piece:
        return {
            "code": self.result["code"],
            "name": plain(self.result["name"]),
            "limits": both(self.result["limits"], self.result["limits_other"]),
            "cells": _sides_once(self.cells),
            "gauges": gauges(self.cells, self.result["kind"]),
            "verdict": verdict(self.cells),
            "out": any(found["out"] for found in self.cells),
            "late": late(self.cells),
            "unit": self.cells[0]["unit"],
            "other_unit": self.cells[0]["other_unit"],
        }


def _sides_once(cells: list[Piece]) -> list[Piece]:
    """`at`: the position, without a side that the one before it has said: "left A", "B", "right A", "B"."""
    found, before = [], ""
    for one in cells:
        side, _, rest = one["position"].partition(" ")
        found.append(one | {"at": rest if rest and side == before else one["position"]})
        before = side
    return found


def shown_codes(record: Piece) -> set[str]:
    """Class S, those agreed to be shown, and everything under a concession."""
    conceded = {row["code"] for row in record["concessions"]}
    return {
        result["code"]
        for operation in record["operations"]
        for result in operation["results"]
        if not result["recorded_only"] and (result["class"] == SAFETY or result["agreed"] or result["code"] in conceded)
    }


def rows_of(record: Piece, codes: set[str]) -> list[Row]:
    """The characteristics with these codes that have readings, in the order of the card."""
    found: dict[str, Row] = {}
    for operation in record["operations"]:
        for result in operation["results"]:
            if result["code"] not in codes or not result["readings"]:
                continue
            row = found.setdefault(result["code"], Row(result, operation["station"]))
            row.cells += [cell(result, reading, operation["side"]) for reading in result["readings"]]
    return list(found.values())


def results(record: Piece, elsewhere: set[str]) -> Piece:
    """Section 4: `stations` with a row a characteristic, `by_position`, and `answers` that are as they must be.

    `elsewhere`: codes that another section prints.
    """
    stations: dict[str, list[Piece]] = {}
    by_position: list[Piece] = []
    answers: dict[str, list[Piece]] = {}
    for row in rows_of(record, shown_codes(record) - elsewhere):
        told = row.told()
        if row.result["kind"] in ANSWERS and all(found["word"] in GOOD for found in row.cells):
            answers.setdefault(_answer(row.cells), []).append(told)
        elif len(row.cells) > FEW:
            by_position += _blocks(told)
        else:
            stations.setdefault(row.station, []).append(told)
    groups = [{"name": name, "rows": rows} for name, rows in stations.items()]
    return {
        "stations": groups,
        "by_position": by_position,
        "answers": [{"answer": said, "rows": rows} for said, rows in answers.items()],
    }


def _answer(cells: list[Piece]) -> str:
    values = ", ".join(dict.fromkeys(found["shown"] for found in cells))
    return f"{values} at all {len(cells)}" if len(cells) > 1 else values


def _blocks(told: Piece) -> list[Piece]:
    """Tables of at most twelve positions; a block does not mix sides when there are several."""
    cells = told["cells"]
    if len(cells) <= ABREAST:
        return [_block(told, cells)]
    blocks: list[list[Piece]] = []
    for found in cells:
        side = found["position"].partition(" ")[0]
        begun = bool(blocks) and blocks[-1][-1]["position"].partition(" ")[0] == side
        if begun and len(blocks[-1]) < ABREAST:
            blocks[-1].append(found)
        else:
            blocks.append([found])
    if any(len(block) == 1 for block in blocks):
        blocks = [cells[start : start + ABREAST] for start in range(0, len(cells), ABREAST)]
    return [_block(told, block) for block in blocks]


def _block(told: Piece, cells: list[Piece]) -> Piece:
    """One table; every position is as wide in all of them, so that columns stand under each other."""
    return told | {"cells": cells, "width": FIRST + EACH * len(cells)}


def test_operations(record: Piece) -> list[Piece]:
    """Operations that compute a pressure: the leak test with its temperatures."""
    return [
        operation
        for operation in record["operations"]
        if any(
            result["kind"] == "computed" and result["unit"] in PRESSURES and result["readings"]
            for result in operation["results"]
        )
    ]


def tests(record: Piece) -> list[Piece]:
    """Everything read at those operations, with limits where there are any."""
    found = []
    for operation in test_operations(record):
        codes = {result["code"] for result in operation["results"] if result["kind"] in (*FIGURES, *ANSWERS)}
        rows = [row.told() for row in rows_of(record, codes)]
        found.append({"number": operation["number"], "name": operation["name"], "rows": rows})
    return found


def settings_of(record: Piece, elsewhere: set[str]) -> list[Piece]:
    """Recorded without limits: shims, marks, climate. Free text is left out, it may name people."""
    codes = {
        result["code"]
        for operation in record["operations"]
        for result in operation["results"]
        if result["recorded_only"] and result["kind"] in ("measured", "choice")
    }
    return [_gathered(row) for row in rows_of(record, codes - elsewhere)]


def _gathered(row: Row) -> Piece:
    """Positions that say the same stand together: "1A to 5C 4.0 mil"."""
    told = row.told()
    first = row.cells[0]
    if len(row.cells) > 1 and len({found["shown"] for found in row.cells}) == 1:
        positions = [found["position"] for found in row.cells]
        span = " and ".join(positions) if len(positions) == 2 else f"all {len(positions)}"
        return told | {"cells": [first | {"position": span}]}
    return told
