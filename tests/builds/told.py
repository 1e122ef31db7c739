"""The demo's story in figures, typed in, and how to look a figure up in the loaded demo."""

from __future__ import annotations

from builds.models import Axle, Fitted
from measurements.models import Reading

SIDES = ("left", "right")
LIMITED = {"differential": "limited_slip"}
#: What each order sells: customer, card, numbers, and the options that the story names.
ORDERS = {
    "O-2499": ("Lumen Ridge Rescue Cooperative", "SORREL", range(131, 137), {"ratio": "4.30", "differential": "open"}),
    "O-2511": (
        "Lumen Ridge Rescue Cooperative",
        "SORREL",
        range(137, 141),
        {"ratio": "4.30", "differential": "locking_air", "brackets": "RB-2"},
    ),
    "O-2514": ("Hollow Pine Trailer Guild", "TEASEL", range(141, 147), {"ratio": "3.91", "differential": "open"}),
    "O-2517": (
        "Vetch & Harrow Expedition Hire",
        "SORREL",
        range(147, 149),
        {"ratio": "4.30", "differential": "limited_slip"},
    ),
    "O-2520": (
        "Saltmarsh Relief Ambulance",
        "SORREL",
        range(149, 150),
        {"ratio": "3.70", "differential": "limited_slip"},
    ),
}
SUPPLIERS = {
    "Quernmoss Tube Mill", "Ashgrommet Gear Foundry", "Pellanby Bearings", "Wexcombe Lacquer", "Orrinfold Wire",
}  # fmt: skip
#: mark: (step, low, high, setting) as far as the story names them.
GAUGES = {
    "G-014": ("0.0001", "2", "6", None), "G-017": ("0.0001", "2", "6", None), "G-016": ("0.0001", "2", "6", None),
    "G-015": (None, None, None, "3.0630"), "G-018": (None, None, None, "2.3130"),
    "G-019": (None, None, None, "3.5000"), "G-020": (None, None, None, "2.6250"),
    "G-021": ("0.0001", "3", "4", None), "G-023": ("0.0001", "2", "3", None),
    "G-033": ("0.0005", None, None, None), "G-034": ("0.0001", None, None, None),
    "G-041": ("1", "0", "60", None), "G-044": ("1", "5", "50", None), "G-042": ("1", "20", "150", None),
    "G-043": ("1", "100", "600", None), "G-072": ("1", "0", "160", None), "G-050": ("0.1", None, None, None),
    "G-071": ("0.01", "0", "15", None), "G-074": ("0.1", "0", "150", None),
}  # fmt: skip
CHEMISTRY = {
    "Q7714": ("0.300", "0.490", "0.011", "0.006", "0.240", "0.960", "0.190", "112", "94", "16"),
    "Q7731": ("0.310", "0.520", "0.014", "0.008", "0.260", "0.980", "0.180", "109", "90", "14"),
}
#: Read with G-014: left and right; both readings of a bore agree.
BORES = {
    "0131": ("3.0631", "3.0629"), "0132": ("3.0634", "3.0633"), "0133": ("3.0627", "3.0632"),
    "0134": ("3.0630", "3.0636"), "0135": ("3.0629", "3.0635"), "0136": ("3.0633", "3.0628"),
}  # fmt: skip
SHIPPED = ["0131", "0132", "0133", "0134", "0135", "0136", "0141", "0142", "0143", "0144"]


def axle(number: str) -> Axle:
    return Axle.objects.get(item__mark__contains=f"-{number}-")


def readings(number: str, code: str, visit: int | None = None, side: str = "") -> list[tuple[str, str, str]]:
    """Position, figure as typed and verdict of every try, in the order in which they were entered."""
    rows = Reading.objects.filter(sheet__visit_links__visit__axle=axle(number), characteristic__code=code)
    if visit is not None:
        rows = rows.filter(sheet__visit_links__visit__number=visit)
    if side:
        rows = rows.filter(sheet__visit_links__visit__item__unit__side=side)
    return [(row.position, row.typed, row.verdict) for row in rows.distinct().order_by("pk")]


def typed(number: str, code: str, visit: int | None = None, side: str = "") -> list[str]:
    return [figure for _, figure, _ in readings(number, code, visit, side)]


def heat_of(number: str, side: str) -> str:
    tube = Fitted.objects.now().get(axle=axle(number), role="tube", host__unit__side=side)
    heat = tube.part.piece.heat
    return heat.item.mark if heat is not None else ""
