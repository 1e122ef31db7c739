"""Recorded figures and words of the demo axles for which a card gives no limits to lie between. All invented."""

from __future__ import annotations

from collections.abc import Mapping

VALUES = {
    "30.a": "150.0",
    "80.a": "9.60", "80.b": "52",
    "130.a": "2.00", "130.b": "11",
    "150.b": "6.00", "150.c": "33",
    "180.a": "70",
    "190.a": "4.0",
    "250.a": "2.625", "250.b": "0.035",
    "410.a": "14.70", "410.1": "5.00", "410.b": "72.0", "410.c": "300", "410.d": "4.97", "410.e": "72.0",
}  # fmt: skip

#: What the demo's own story writes where a form would do with anything; a card asks for them under these codes.
TOLD = VALUES | {
    "10.a": "0",
    "20.b": "3.1",
    "110.b": "0.2",
    "140.b": "4.5",
    "170.a": "wash 46", "170.c": "9", "190.d": "9",
    "180.a": "WX-604, batch 46", "180.d": "68", "180.e": "70", "180.f": "45", "180.g": "16.0",
    "260.a left": "0.121", "260.a right": "0.117", "290.a left": "0.125", "290.a right": "0.121",
    "280.a": "0.035", "280.b": "0.062",
    "310.1": "95", "310.a": "94", "310.b": "5", "310.2": "1",
    "360.a": "week 31 of last year",
}  # fmt: skip

#: By the gear cut of a model: how its gears look, and what a right mark looks like on them.
PATTERNS = {
    "face-hobbed": {"270.a": "face-hobbed", "270.b": "centre slanted", "300.a": "centre slanted", "300.b": "33"},
    "face-milled": {"270.a": "face-milled", "270.b": "centre", "300.a": "centre", "300.b": "21"},
}


def by_code(told: Mapping[str, str]) -> dict[str, str]:
    """What was told by keyword, by the characteristic's code: c50_3 is 50.3."""
    return {name.removeprefix("c").replace("_", "."): value for name, value in told.items()}
