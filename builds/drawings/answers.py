"""The small picture of a bench answer, drawn from the answer's own figures."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import cos, radians, sin
from typing import Any

from builds.drawings.backlash_round import Wave, backlash_round
from builds.drawings.bolt_circle import Place, bolt_circle
from builds.drawings.film import film
from builds.drawings.on_scale import Mark, Scale, on_scale
from builds.drawings.polar import Point
from builds.drawings.press_band import press_band
from builds.drawings.section import over_a_turn, section
from builds.drawings.teeth import teeth
from measurements.bench.answer import Picture
from shop.drawing import Drawing

Data = Mapping[str, Any]


def drawn(picture: Picture | None, key: str) -> Drawing | None:
    """The drawing of an answer; None when it has none. `key` is an id on the page."""
    maker = None if picture is None else DRAWN.get(picture.kind)
    return None if picture is None or maker is None else maker(picture.data, key)


def press(data: Data, key: str) -> Drawing:
    """The pair's band inside the card's window, with the peak once it is logged."""
    window = (float(data["window_low"]), float(data["window_high"])) if "window_low" in data else None
    peak = float(data["peak"]) if "peak" in data else None
    return press_band((float(data["low"]), float(data["high"])), window, peak, key=key)


def thermometer(data: Data, key: str) -> Drawing:
    """A temperature with what is needed and what is too much."""
    return on_scale(_scale(data, "Temperature", bulb=True), key=key)


def window(data: Data, key: str) -> Drawing:
    """A figure between its limits, or against its one limit."""
    return on_scale(_scale(data, "Where the figure lies", bulb=False), key=key)


def _scale(data: Data, title: str, *, bulb: bool) -> Scale:
    low, high, other, value = (_mark(data, name) for name in ("low", "high", "other", "value"))
    return Scale(title, str(data["unit"]), low, high, other, value, bulb)


def _mark(data: Data, name: str) -> Mark | None:
    if name not in data:
        return None
    return Mark(float(data[name]), str(data[name]), str(data["says" if name == "value" else f"{name}_says"]))


def spots(data: Data, key: str) -> Drawing:
    """The spots of a paint film between its limits."""
    shown = [(float(value), str(value)) for value in data["spots"]]
    low, high = _mark(data, "low"), _mark(data, "high")
    assert low is not None
    top = None if high is None else (high.value, high.says)
    return film(shown, (low.value, low.says), top, str(data["unit"]), key=key)


def round_of_backlash(data: Data, key: str) -> Drawing:
    """The points clockwise from the top between their limits, with the once-per-turn fit."""
    low, high = str(data["low"]), str(data["high"])
    texts = [str(text) for text in data["points"]]
    points = []
    for number, text in enumerate(texts):
        verdict = "in" if float(low) <= float(text) <= float(high) else "out"
        alone = str(number + 1) == data.get("alone", "")
        points.append(Point(f"point {number + 1}", 360 * number / len(texts), float(text), text, verdict, alone))
    amplitude, phase = float(data["amplitude"]), radians(float(data["phase"]))
    wave = Wave(float(data["mean"]), amplitude * cos(phase), amplitude * sin(phase))
    limits = (float(low), float(high))
    return backlash_round(points, limits=limits, shown=(low, high), title="Backlash round", wave=wave, key=key)


def bolts(data: Data, key: str) -> Drawing:
    """At each bolt its turn in the order: 1 is pulled first."""
    turns = {int(bolt): turn for turn, bolt in enumerate(data["order"], start=1)}
    places = [Place(f"{turns[bolt]}.") for bolt in sorted(turns)]
    title = "Tightening order, bolt 1 on top and on clockwise"
    return bolt_circle(places, title=title, key=key, centre=str(data["torque"]), under="order from the top")


def pattern(data: Data, key: str) -> Drawing:
    """The mark on both flanks of this cut of gear."""
    return teeth(str(data["cut"]), str(data["drive"]), str(data["coast"]), key=key)


def tube(data: Data, key: str) -> Drawing:
    """A tube cut across."""
    return section(float(data["outside"]), float(data["inside"]), str(data["says"]), key=key)


def turn(data: Data, key: str) -> Drawing:
    """A figure over one turn."""
    return over_a_turn([float(value) for value in data["values"]], str(data["says"]), key=key)


DRAWN: Mapping[str, Callable[[Data, str], Drawing]] = {
    "press band": press,
    "thermometer": thermometer,
    "window": window,
    "film": spots,
    "round": round_of_backlash,
    "bolts": bolts,
    "teeth": pattern,
    "section": tube,
    "turn": turn,
}
