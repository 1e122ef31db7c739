"""The middle of the station page: readings at their places, as a drawing where the places form one."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from html import escape
from typing import Any

from django.utils.http import urlencode

from builds.definitions.plan import grouped
from builds.definitions.words import Kind
from builds.drawings.axle import AxlePicture, Zone, large_axle, small_axle
from builds.drawings.bolt_circle import Place as Spot
from builds.drawings.bolt_circle import bolt_circle
from builds.drawings.limit_window import limit_window
from builds.progress import SlotState, SlotView
from builds.reports.facts import AxleStanding
from builds.reports.wording import VERDICT_KIND, VERDICT_WORDS, clock, figure, other_figure, shown
from builds.reports.work import Place, Work, is_void
from builds.views.station_frame import urls
from measurements.models import Reading
from shop.drawing import Drawing

SIDES = ("left", "right")
FEWEST_ON_A_CIRCLE = 4


def picture(work: Work, places: Sequence[Place], at: Place | None) -> dict[str, Any]:
    """The places of one characteristic: a bolt circle where they are numbered, a list otherwise."""
    at = next((place for place in places if at is not None and place.position == at.position), None)
    waiting = [place for place in places if place.last is None and place is not at]
    after = waiting[0] if waiting else None
    here = urls(work.visit)["here"]
    rows = [_row(place, at, after) | {"url": f"{here}?{_asked_for(place)}"} for place in places]
    circle = _circle(places, at, after)
    return {"drawing": circle, "places": rows, "as_list": circle is None, "under": _names(places)}


def _asked_for(place: Place) -> str:
    """The way to one place: to fill it out of turn, or for a new try with a reason."""
    return urlencode({"characteristic": place.asked.code, "position": place.position})


def _row(place: Place, at: Place | None, after: Place | None) -> dict[str, Any]:
    last = place.last
    turn = "next" if place is at and last is None else "then" if place is after else ""
    row: dict[str, Any] = {"name": place.position or place.asked.name, "turn": turn, "attempt": 1}
    if last is None:
        return row
    decimals = place.asked.decimals
    who = last.person.short_name if last.person else "computed"
    return row | {
        "shown": shown(last, decimals),
        "other": other_figure(last, place.asked),
        "verdict": VERDICT_KIND[last.verdict],  # type: ignore[index]
        "word": VERDICT_WORDS[last.verdict],  # type: ignore[index]
        "who": f"{who}, {clock(last.entered_at)}",
        "attempt": last.attempt,
        "late": last.late,
    }


def _names(places: Sequence[Place]) -> str:
    names = dict.fromkeys(place.last.person.short_name for place in places if place.last and place.last.person)
    return ", ".join(names)


def _circle(places: Sequence[Place], at: Place | None, after: Place | None) -> Drawing | None:
    """Numbered places of one side; with two sides, the side that is worked on."""
    numbered = [place for place in places if place.position.rpartition(" ")[2].isdecimal()]
    if len(numbered) != len(places) or not places or places[0].asked.positions.open_ended:
        return None
    side = (at or places[0]).position.rpartition(" ")[0]
    # A card may name the places in the order they are pulled; on the circle they stand by their numbers.
    ring = sorted((place for place in places if place.position.rpartition(" ")[0] == side), key=_number)
    if len(ring) < FEWEST_ON_A_CIRCLE or side not in ("", *SIDES):
        return None
    spots = [_spot(place, at, after) for place in ring]
    done = sum(1 for place in ring if place.last is not None)
    middle = f"{done} of {len(ring)}"
    then = f"then {after.position.rpartition(' ')[2]}" if after in ring else ""
    title = f"{places[0].asked.name}{f', {side}' if side else ''}"
    return bolt_circle(spots, title=title, centre=middle, under=", ".join(filter(None, (side, then))))


def _number(place: Place) -> int:
    return int(place.position.rpartition(" ")[2])


def _spot(place: Place, at: Place | None, after: Place | None) -> Spot:
    name = place.position.rpartition(" ")[2]
    if place is at and place.last is None:
        return Spot(name, turn="next")
    if place.last is None:
        return Spot(name, turn="then" if place is after else "")
    text = "✓" if is_tick(place) else shown(place.last, place.asked.decimals)
    return Spot(name, text, VERDICT_KIND[place.last.verdict] or "in")  # type: ignore[index]


def is_tick(place: Place) -> bool:
    """A place that is only ticked: there is one word for it and nothing to read."""
    return place.asked.kind is Kind.CHOICE and len(place.asked.choices) == 1


def window(reading: Reading, place: Place) -> Drawing | None:
    """Where the reading lies between its limits."""
    asked = place.asked
    if reading.value is None or (asked.low is None and asked.high is None):
        return None
    kind = VERDICT_KIND[reading.verdict]  # type: ignore[index]
    low = None if asked.low is None else (float(asked.low), figure(asked.low, asked.decimals))
    high = None if asked.high is None else (float(asked.high), figure(asked.high, asked.decimals))
    return limit_window(
        float(reading.value),
        shown(reading, asked.decimals),
        low=low,
        high=high,
        verdict=kind or "in",
        key="latest",
    )


#: A card's zone word that is no zone of its own on the drawing.
WHOLE = "whole"
SIDED = ("shaft", "tube", "brackets", "spindle", "brake", "hub")


def axle_picture(stands: AxleStanding, *, here: str = "", side_here: str = "", url: str = "") -> AxlePicture:
    """The axle with every zone in the state of its operations; `here` is the zone that is worked on."""
    card = stands.plan.card
    sides = card.sides or ("left",)
    zones = []
    for name, here_all in grouped(stands.slots.values(), lambda view: view.slot.operation.zone).items():
        if name == WHOLE:
            continue
        for side in sides if name in SIDED else ("",):
            views = [view for view in here_all if view.slot.side in ("", side)]
            if not views:
                continue
            at_it = name == here and side in ("", side_here or side)
            state = "in hand" if at_it else _state(views)
            link = f"{url}?zone={name.replace(' ', '-')}{f'&side={side}' if side else ''}" if url else ""
            zones.append(Zone(name, state, side, link))
    brake = "drum" if any(kind.code.startswith("drum") for kind in card.part_kinds) else "disc"
    return AxlePicture(card.name, tuple(zones), tuple(sides), brake)


#: Stands for an axle's address while its drawing is kept.
_HERE = "/here/"


def large_picture(stands: AxleStanding, url: str) -> Drawing:
    """The axle with its call-outs, each zone a way to what `url` tells of it. Axles of one card whose zones are in the
    same states share one drawing, in which only the address is each one's own."""
    return Drawing(_kept(axle_picture(stands, url=_HERE)).replace(f'"{_HERE}?', f'"{escape(url)}?'))


_kept = lru_cache(maxsize=256)(large_axle)


def strip(stands: AxleStanding, here: str, side: str) -> Drawing:
    """The small axle of the title block: you are here."""
    return small_axle(axle_picture(stands, here=here, side_here=side), key="here")


def _state(views: Sequence[SlotView]) -> str:
    states = {view.state for view in views}
    for state, word in (
        (SlotState.STOPPED, "stopped"),
        (SlotState.IN_HAND, "in hand"),
        (SlotState.SET_DOWN, "set down"),
        (SlotState.WAIT_SIGN, "waiting for sign"),
    ):
        if state in states:
            return word
    if all(view.finished for view in views):
        return "done"
    return "ready" if states & {SlotState.READY, SlotState.REDO} else "not yet"


def kind_of(place: Place) -> str:
    """The template's word for how this characteristic is entered."""
    kinds = {
        Kind.MEASURED: "figure",
        Kind.GIVEN: "figure",
        Kind.COUNTED: "counted",
        Kind.YES_NO: "yes_no",
        Kind.GO_NO_GO: "go",
        Kind.CHOICE: "choice",
        Kind.TIME: "choice",
        Kind.TEXT: "text",
        Kind.PHOTO: "photo",
    }
    return kinds[place.asked.kind]


def superseded(place: Place) -> list[Reading]:
    """Tries that no longer count: earlier ones, and those declared void."""
    return [reading for reading in place.tries if reading is not place.last or is_void(reading)]
