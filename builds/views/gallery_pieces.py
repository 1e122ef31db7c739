"""Invented values for the gallery: every component and drawing once, in states that show what it can say."""

from __future__ import annotations

from builds.drawings.axle import AxlePicture, Zone, axle_table, large_axle, small_axle
from builds.drawings.backlash_round import Wave, backlash_round
from builds.drawings.bars import Bar, bars
from builds.drawings.bolt_circle import Place, bolt_circle
from builds.drawings.bore import bore
from builds.drawings.limit_window import limit_window
from builds.drawings.polar import Point
from builds.drawings.series import Level, Mark, series, series_table
from shop.drawing import Drawing

Piece = dict[str, object]
ORDER = (1, 7, 4, 10, 2, 8, 3, 9, 5, 11, 6, 12)
READ = {"1": 104, "7": 106, "4": 105, "10": 103, "2": 107, "8": 98}


def picture(states: dict[str, str], *, sides: tuple[str, ...] = ("left", "right"), link: str = "") -> AxlePicture:
    """An axle in which every zone is done except those named."""
    zones = [Zone(name, states.get(name, "done"), url=link) for name in ("housing", "cover", "gear set", "pinion")]
    for side in sides:
        for name in ("tube", "spindle", "brackets", "shaft", "brake", "hub"):
            zones.append(Zone(name, states.get(f"{name} {side}", "done"), side, link))
    return AxlePicture("TBK-26-0148-8", tuple(zones), sides)


AT_GEARS = {
    "gear set": "in hand",
    "pinion": "not yet",
    "cover": "not yet",
    "shaft left": "not yet",
    "shaft right": "not yet",
    "brake left": "ready",
    "brake right": "ready",
    "hub left": "stopped",
    "hub right": "ready",
}


def bolts(*, missing: str = "") -> list[Place]:
    """Twelve bolts in the middle of their pattern."""
    places = []
    for number in range(1, 13):
        name = str(number)
        value = READ.get(name)
        verdict = "" if value is None else ("in" if value >= 100 else "low")
        turn = {"3": "next", "9": "then"}.get(name, "")
        if name == missing:
            verdict = "missing"
        places.append(Place(name, "" if value is None else str(value), verdict, turn))
    return places


def ring(**more: str) -> Drawing:
    """The bolt circle of the station page."""
    return bolt_circle(bolts(**more), title="Ring-gear bolts", centre="6 of 12", under="then 9", key="ring")


BORE = (
    Point("A", 0, 3.0631, "3.0631", "in"),
    Point("B", 90, 3.0643, "3.0643", "high"),
    Point("C", 135, None, verdict="missing"),
)
LASH = (0.0072, 0.0081, 0.0096, 0.0104, 0.0101, 0.0089, 0.0078, 0.0070)


def lash() -> Drawing:
    """Eight points of backlash with the wave of one turn."""
    points = [
        Point(str(n + 1), 45 * n, value, f"{value:.4f}"[1:], "in" if value <= 0.0100 else "high")
        for n, value in enumerate(LASH)
    ]
    wave = Wave(0.0086375, -0.00145, 0.00085)
    return backlash_round(points, limits=(0.006, 0.010), shown=(".0060", ".0100"), title="Backlash round", wave=wave)


WEEKS = (
    ("wk 38", 4),
    ("wk 39", 5),
    ("wk 40", 3),
    ("wk 41", 6),
    ("wk 42", 5),
    ("wk 43", 1),
    ("wk 44", 4),
    ("wk 45", 5),
)


def weeks() -> list[Mark]:
    """Axles finished a week."""
    return [Mark(name, float(count), str(count), out=count == 1) for name, count in WEEKS]


def drawings() -> Piece:
    """Every drawing once, and its table where it has one."""
    axle = picture(AT_GEARS, link="#axle")
    zone_columns, zone_rows = axle_table(axle)
    week_columns, week_rows = series_table(weeks(), "Axles")
    levels = (Level(4.1, "mean 4.1", centre=True), Level(6.8, "6.8"), Level(1.4, "1.4"))
    causes = (
        Bar("Backlash out", 7, "7", "stopped", "#causes"),
        Bar("Waits for second look", 4, "4", "not yet", "#causes"),
        Bar("Kit short", 2, "2", "ready", "#causes"),
        Bar("Bore over", 1, "1", "in hand", "#causes"),
    )
    return {
        "axle_large": large_axle(axle, key="axle-large"),
        "zone_columns": zone_columns,
        "zone_rows": zone_rows,
        "axle_one": large_axle(picture({"housing": "in hand"}, sides=("right",)), key="axle-one"),
        "axle_small": small_axle(picture(AT_GEARS), key="axle-little"),
        "ring_missing": bolt_circle(
            bolts(missing="12"), title="With one missing", centre="6 of 12", key="ring-missing"
        ),
        "five": bolt_circle([Place(str(n), "41.5", "in") for n in range(1, 6)], title="Five bolts", key="ring-five"),
        "bore": bore(BORE, limits=(3.0625, 3.0637), shown=("3.0625", "3.0637"), title="Bore, spindle end"),
        "backlash": lash(),
        "weeks": series(weeks(), title="Axles finished", levels=levels, unit="axles", key="weeks"),
        "week_columns": week_columns,
        "week_rows": week_rows,
        "causes": bars(causes, title="Why axles stood still", key="causes", piled=True),
        "window_in": limit_window(104, "104", low=(100, "100"), high=(110, "110"), verdict="in", key="w-in"),
        "window_low": limit_window(98, "98", low=(100, "100"), high=(110, "110"), verdict="low", key="w-low"),
        "window_one": limit_window(0.0034, ".0034", low=None, high=(0.0020, ".0020"), verdict="high", key="w-one"),
    }
