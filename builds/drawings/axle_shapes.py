"""Outlines of the axle's zones in plan. u runs outward from the middle, v runs down (to the pinion)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from shop import drawing
from shop.drawing import circle, element, number

NECK, TUBE_END, BREAK = 118, 300, 256


@dataclass(frozen=True)
class Plan:
    """Which side a zone is on (+1 right, -1 left), which sides exist, which brake is drawn."""

    side: int
    sides: tuple[str, ...]
    brake: str


def _path(points: Iterable[tuple[float, float]], side: int = 1) -> str:
    return "M" + " L".join(f"{number(side * u)},{number(v)}" for u, v in points) + " Z"


def _box(u1: float, u2: float, v1: float, v2: float, side: int = 1) -> str:
    return _path(((u1, v1), (u2, v1), (u2, v2), (u1, v2)), side)


def _housing(plan: Plan) -> list[str]:
    """Bowl open to the cover at the top, nose for the pinion at the bottom, a neck for each tube there is."""

    def half(side: str, sign: int) -> list[tuple[float, float]]:
        nose = [(36, 132), (36, 106), (62, 78), (84, 36)]
        neck = [(NECK, 31), (NECK, -31)] if side in plan.sides else [(100, 28), (100, -28)]
        return [(sign * u, v) for u, v in (*nose, *neck, (84, -36), (84, -88))]

    right, left = half("right", 1), half("left", -1)
    return [_path([*right, *reversed(left)])]


def _gear_set() -> list[str]:
    case = ((-96, -16), (-60, -18), (-42, -34), (12, -34), (12, 34), (-42, 34), (-60, 18), (-96, 16))
    far = ((46, -46), (60, -46), (82, -22), (96, -16), (96, 16), (82, 22), (60, 46), (46, 46))
    ring = ((12, -38), (26, -68), (46, -68), (46, 68), (26, 68), (12, 38))
    return [_path(case), _path(far), _path(ring)]


def _pinion() -> list[str]:
    head = ((-26, 66), (-12, 38), (12, 38), (26, 66))
    return [_path(head), _box(-9, 9, 66, 143), _box(-28, 28, 143, 156)]


def _cover() -> list[str]:
    return ["M-92,-88 L-92,-98 L-74,-98 C-62,-138 62,-138 74,-98 L92,-98 L92,-88 Z"]


def _brake(plan: Plan) -> list[str]:
    end = TUBE_END
    if plan.brake == "drum":

        def shell(sign: int) -> str:
            points = (
                (end + 14, 58),
                (end + 14, 90),
                (end + 52, 90),
                (end + 52, 46),
                (end + 44, 46),
                (end + 44, 78),
            )
            return _path([(u, sign * v) for u, v in (*points, (end + 22, 78), (end + 22, 58))], plan.side)

        return [shell(-1), shell(1)]
    jaw = ((16, 62), (16, 104), (54, 104), (54, 74), (44, 74), (44, 94), (28, 94), (28, 62))
    caliper = [(end + u, v) for u, v in jaw]
    disc = ((32, 92), (40, 92), (40, 54), (58, 54), (58, 45), (32, 45))
    halves = [_path([(end + u, sign * v) for u, v in disc], plan.side) for sign in (-1, 1)]
    return [*halves, _path(caliper, plan.side)]


def _hub(plan: Plan) -> list[str]:
    end = TUBE_END
    half = (
        (end + 44, -36),
        (end + 56, -44),
        (end + 56, -76),
        (end + 68, -76),
        (end + 68, -44),
        (end + 98, -32),
    )
    return [_path([*half, *((u, -v) for u, v in reversed(half))], plan.side)]


def _spindle(plan: Plan) -> list[str]:
    end = TUBE_END
    half = ((end, -36), (end + 14, -36), (end + 14, -24), (end + 44, -20))
    return [_path([*half, *((u, -v) for u, v in reversed(half))], plan.side)]


def outlines(zone: str, plan: Plan) -> list[str]:
    """Path data of a zone, lowest shape first."""
    side = plan.side
    match zone:
        case "housing":
            return _housing(plan)
        case "gear set":
            return _gear_set()
        case "pinion":
            return _pinion()
        case "cover":
            return _cover()
        case "tube":
            return [_box(NECK, BREAK - 5, -26, 26, side), _box(BREAK + 5, TUBE_END, -26, 26, side)]
        case "shaft":
            return [_box(96, TUBE_END + 100, -6, 6, side), _box(TUBE_END + 98, TUBE_END + 108, -30, 30, side)]
        case "brackets":
            return [_box(182, 236, -40, 40, side)]
        case "spindle":
            return _spindle(plan)
        case "brake":
            return _brake(plan)
        case "hub":
            return _hub(plan)
    return []


def details(zone: str, plan: Plan, look: dict[str, object]) -> str:
    """Thin lines that say what a shape is: teeth, welds, bolt heads, the break of a tube."""
    thin = {"kind": look["kind"], "stroke": look["stroke"], "stroke_width": 1.2, "fill": "none"}
    dot = {"kind": look["kind"], "stroke": look["stroke"], "stroke_width": 1.4, "fill": drawing.SHEET}
    side = plan.side
    match zone:
        case "tube":
            x = side * BREAK
            waves = "".join(f"M{x + d},-30 C{x + d + 7},-12 {x + d - 7},12 {x + d},30 " for d in (-5, 5))
            return element("path", d=waves, **thin)
        case "brackets":
            return circle(side * 209, -30, 4, **dot) + circle(side * 209, 30, 4, **dot)
        case "gear set":
            teeth = "".join(f"M{12 + 14 * k / 5:.1f},{38 + 30 * k / 5:.0f} h{34 - 14 * k / 5:.1f} " for k in (1, 3))
            return element("path", d=teeth + teeth.replace(",", ",-").replace(",--", ",-"), **thin)
        case "pinion":
            crossed = "".join(
                f"M-22,{v} H-9 V{v + 14} H-22 Z L-9,{v + 14} M-9,{v} L-22,{v + 14} "
                f"M9,{v} H22 V{v + 14} H9 Z L22,{v + 14} M22,{v} L9,{v + 14} "
                for v in (76, 114)
            )
            return element("path", d=crossed + "M-8,50 L-14,66 M0,44 V66 M8,50 L14,66", **thin)
        case "housing":
            welds = [circle(s * u, 0, 3.6, **dot) for s, name in ((-1, "left"), (1, "right"))
                     for u in (102, 111) if name in plan.sides]  # fmt: skip
            return "".join(welds)
        case "hub":
            studs = "".join(f"M{side * (TUBE_END + 68)},{v} h{side * 14} " for v in (-64, -58, 58, 64))
            return element("path", d=studs, **thin)
    return ""
