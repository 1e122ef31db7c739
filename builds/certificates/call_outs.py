"""The axle drawing of a certificate: at each zone one measured value in both units, and which value that is."""

from __future__ import annotations

from decimal import Decimal

from builds.certificates.cells import Piece, plain
from builds.drawings.axle import SIDED, AxlePicture, Zone, large_axle
from builds.reports.wording import figure, in_other, other_unit, unit_words
from shop.drawing import Drawing

#: Units worth calling out, by rank: fits and clearances, then preloads and torques, press forces, pressures.
CALLED_OUT = {"in": 0, "mm": 0, "in-lb": 1, "N·m": 1, "ft-lb": 2, "lbf": 3, "kN": 3, "psi": 4, "kPa": 4}
#: Computed values say how parts stand to each other; they come before what was only measured.
KINDS = ("computed", "measured")


def drawing(record: Piece) -> tuple[Drawing, list[Piece]]:
    """The axle, and in its order what is called out: code, name and the zones."""
    chosen = _chosen(record)
    zones = tuple(Zone(name, "done", side, "", _note(result, own)) for (name, side), (result, own) in chosen.items())
    named: dict[str, Piece] = {}
    for (zone, _), (result, _) in chosen.items():
        row = named.setdefault(result["code"], {"code": result["code"], "name": plain(result["name"]), "zones": {}})
        row["zones"][zone] = None
    sides = tuple(record["axle"]["sides"] or ["left"])
    picture = AxlePicture(record["axle"]["model"], zones + _silent(record, chosen), sides)
    legend = [row | {"zones": " and ".join(row["zones"])} for row in named.values()]
    return large_axle(picture, key="certificate-axle", on_paper=True), legend


def _chosen(record: Piece) -> dict[tuple[str, str], tuple[Piece, list[Piece]]]:
    """For each zone and side the result that is called out, with its readings there."""
    best: dict[tuple[str, str], tuple[tuple[int, ...], Piece, list[Piece]]] = {}
    for operation, side in _zones(record):
        for result in operation["results"]:
            own = _readings(result, side)
            rank = _rank(result)
            place = (operation["zone"], side)
            if own and rank is not None and (place not in best or rank < best[place][0]):
                best[place] = (rank, result, own)
    return {place: (result, own) for place, (_, result, own) in best.items()}


def _zones(record: Piece) -> list[tuple[Piece, str]]:
    sides = record["axle"]["sides"] or ["left"]
    return [
        (operation, side)
        for operation in record["operations"]
        if operation["zone"] != "whole"
        for side in ((operation["side"],) if operation["side"] else sides if operation["zone"] in SIDED else ("",))
    ]


def _silent(record: Piece, chosen: dict[tuple[str, str], tuple[Piece, list[Piece]]]) -> tuple[Zone, ...]:
    """Zones without a value that is worth it are drawn all the same."""
    places = dict.fromkeys((operation["zone"], side) for operation, side in _zones(record))
    return tuple(Zone(name, "done", side) for name, side in places if (name, side) not in chosen)


def _rank(result: Piece) -> tuple[int, ...] | None:
    """The lower the better: how parts stand to each other before a torque, before a plain size."""
    if result["recorded_only"] or result["kind"] not in KINDS or result["unit"] not in CALLED_OUT:
        return None
    return (
        _is_size(result),
        CALLED_OUT[result["unit"]],
        KINDS.index(result["kind"]),
        result["class"] != "S",
    )


def _is_size(result: Piece) -> bool:
    """Whether it is a plain size (a diameter, a length): it says less than a fit."""
    largest = {"in": 1, "mm": 25}.get(result["unit"])
    values = [abs(Decimal(reading["value"])) for reading in result["readings"] if reading["value"]]
    return largest is not None and bool(values) and max(values) > largest


def _readings(result: Piece, side: str) -> list[Piece]:
    rows = [row for row in result["readings"] if row["value"]]
    return [row for row in rows if not side or row["position"].partition(" ")[0] in ("", side)] or rows


def _note(result: Piece, own: list[Piece]) -> str:
    """Lowest to highest in the drawing's unit, and under it in the other."""
    values, unit = [Decimal(row["value"]) for row in own], result["unit"]
    ends = (min(values), max(values))
    if ends[0] < 0 < ends[1]:
        ends = (max(map(abs, ends)),) * 2
    sign = "±" if min(values) < 0 < max(values) else ""
    first = "–".join(dict.fromkeys(figure(end, result["decimals"]) for end in ends))
    other = "–".join(dict.fromkeys(_less(in_other(end, unit, result["decimals"], with_unit=False)) for end in ends))
    return f"{sign}{first} {unit_words(unit)}\n{sign if other else ''}{other} {other_unit(unit)}".strip()


def _less(text: str) -> str:
    """Whole numbers are enough beyond a hundred: the table has the figure in full."""
    return figure(Decimal(text), 0) if text and abs(Decimal(text)) >= 100 else text
