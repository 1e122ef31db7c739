"""From a frozen record to what the build certificate prints. Nothing but the record, its pictures and the issue is
looked at, and a record of any format that was ever frozen is read."""

from __future__ import annotations

from collections.abc import Collection

from builds.certificates.call_outs import drawing
from builds.certificates.cells import GOOD, Piece, both, cell
from builds.certificates.results import results, settings_of, test_operations, tests
from builds.certificates.symbols import data_matrix, qr
from builds.certificates.welds import welds
from builds.models import role_and_side

LATE = "Entered later"
#: The photos that are printed: both flanks of the gear, and the pattern looked at again.
PATTERN = ("drive", "coast", "pattern")


def certificate_context(record: Piece, *, sha256: str, issue: Piece, pictures: Collection[str] = ()) -> Piece:
    """All twelve sections. `issue`: number, paper, replaces, reason, certified_by, certified_at, address.

    `pictures`: SHA-256 of the photos that can be printed.
    """
    joints = welds(record)
    elsewhere = joints["codes"] | {
        result["code"] for operation in test_operations(record) for result in operation["results"]
    }
    drawn, called_out = drawing(record)
    return {
        "record": record,
        "axle": record["axle"],
        "order": record["order"],
        "issue": issue,
        "built": (record["dates"]["begun"][:10], record["dates"]["closed"][:10]),
        "fingerprint": [sha256[start : start + 8] for start in range(0, 64, 8)],
        "drawing": drawn,
        "called_out": called_out,
        "code": qr(f"{issue['address']}?serial={record['axle']['serial']}&fingerprint={sha256}"),
        "plate_code": data_matrix(f"~A:{record['axle']['serial']}"),
        "facts": _facts(record),
        "identified": [_part(row) for row in _now(record) if row["tracked_as"] in ("part", "piece")],
        "lots": _lots(record),
        "ahead": [
            row | {"words": role_and_side(row["role"], row["side"])}
            for row in record.get("units", [])
            if row.get("begun_before_booking")
        ],
        "heats": [_heat(heat) for heat in record.get("heats", [])],
        "has_set": any(part["set_mark"] for part in _now(record)),
        "has_heat": any(part["heat"] for part in _now(record)),
        "knows_heats": "heats" in record,
        "results": results(record, elsewhere),
        "welds": joints,
        "tests": tests(record),
        "settings": settings_of(record, elsewhere),
        "patterns": [row for row in photos(record) if row["name"] in PATTERN and row["sha256"] in pictures],
        "photos": photos(record),
        "red_tags": [tag for tag in record["red_tags"] if tag["decision"]],
        "concessions": [_concession(row, record) for row in record["concessions"]],
        "formerly": [part for part in record["parts"] if part["until"]],
        "blank": _blank(record),
        "late": [said for said in record["not_recorded"] if said.startswith(LATE)],
        "exceptions": _exceptions(record),
        "service": [(name.replace("_", " "), value) for name, value in record["service"]],
    }


def _facts(record: Piece) -> list[tuple[str, str]]:
    """What was ordered, then what the model is; a fact that another one says in words is left to that one."""
    axle = record["axle"]
    names = {name for name, _ in axle["facts"]}
    facts = [(name, value) for name, value in axle["facts"] if f"{name}_words" not in names]
    return [(label, value) for label, value in axle["options"]] + [
        (name.removesuffix("_words").replace("_", " "), value) for name, value in facts
    ]


def _now(record: Piece) -> list[Piece]:
    return [part for part in record["parts"] if not part["until"]]


def _part(row: Piece) -> Piece:
    facts = [f"{name.replace('_', ' ')} {value}" for name, value in row["facts"]]
    steel = f"heat {row['heat']}" if row["heat"] else "" if row["heat_determinable"] else "heat not determinable"
    if row["certificate"]:
        steel += f", {row['certificate']}"
    name = row["role"].replace("_", " ") if row["tracked_as"] == "piece" else row["kind"]
    set_mark = f"set {row['set_mark']}" if row["set_mark"] else ""
    return {
        "name": f"{name}, {row['side']}" if row["side"] and row["side"] not in name else name,
        "mark": row["mark"],
        "maker": row["maker"],
        "said": "; ".join(filter(None, (steel, set_mark, *facts))),
    }


def _lots(record: Piece) -> list[Piece]:
    """Lots and drums, one line for each mark."""
    found: dict[tuple[str, str], Piece] = {}
    for part in _now(record):
        if part["tracked_as"] in ("lot", "drum"):
            found.setdefault((part["kind"], part["mark"]), part)
    return list(found.values())


def _heat(heat: Piece) -> Piece:
    rows = []
    for result in heat["results"]:
        cells = [cell(result, reading) for reading in result["readings"]]
        limits = both(result["limits"], result["limits_other"])
        rows.append({"name": result["name"], "limits": limits, "cells": cells})
    return heat | {"rows": rows, "good": all(found["word"] in GOOD for row in rows for found in row["cells"])}


def photos(record: Piece) -> list[Piece]:
    return [
        {"operation": operation["number"], "side": operation["side"], "name": name, "sha256": sha256}
        for operation in record["operations"]
        for name, sha256 in operation["photos"]
    ]


def _concession(row: Piece, record: Piece) -> Piece:
    """With the limits that the value is beyond, and the value in both units."""
    asked = next(
        (found for operation in record["operations"] for found in operation["results"] if found["code"] == row["code"]),
        None,
    )
    if asked is None:
        return row | {"shown": f"{row['value']} {row['unit']}".strip(), "limits": ""}
    reading = {"value": row["value"] if _is_number(row["value"]) else "", "typed": row["value"], "verdict": "none"}
    found = cell(asked, reading | {"position": "", "late": False, "gauge": ""})
    other = f" ({found['other']} {found['other_unit']})" if found["other"] else ""
    return row | {
        "shown": f"{found['shown']} {found['unit']}{other}".strip(),
        "limits": both(asked["limits"], asked["limits_other"]),
    }


def _is_number(text: str) -> bool:
    return text.lstrip("-").replace(".", "", 1).isdigit()


def _blank(record: Piece) -> list[Piece]:
    """What was not recorded, gathered by the reason and by what it is: "40.b Tool offset note (40 left, 40 right)"."""
    groups: dict[str, dict[str, list[str]]] = {}
    for said in record["not_recorded"]:
        what, colon, why = said.rpartition(": ")
        if said.startswith(LATE) or not colon:
            continue
        why, _, where = why.partition(" (operation ")
        groups.setdefault(why.rstrip("."), {}).setdefault(what, []).append(where.removesuffix(".").removesuffix(")"))
    return [
        {"why": why, "what": [f"{what} ({', '.join(where)})" for what, where in rows.items()]}
        for why, rows in groups.items()
    ]


def _exceptions(record: Piece) -> list[str]:
    """What the statement of conformity leaves out, each by the section that tells it."""
    found = [f"concession {row['number']} (section 7)" for row in record["concessions"]]
    found += [f"the shorter wait before operation {row['operation']} (section 9)" for row in record["shorter_waits"]]
    return found
