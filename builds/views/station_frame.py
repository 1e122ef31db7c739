"""What every part of the station page shares: a refused form, addresses, the name of a place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from builds.models import Visit
from builds.reports.work import Place
from builds.views.station_found import At, at_of
from measurements.models import OUT
from shop.errors import Refusal


@dataclass(frozen=True)
class Refused:
    """Which form was refused, why, and what was posted: all of it is drawn again."""

    form: str
    refusal: Refusal
    posted: Mapping[str, Any]

    def text(self, form: str) -> str:
        return self.refusal.text if self.form == form else ""


def urls(visit: Visit) -> dict[str, str]:
    return dict(_addresses(at_of(visit)))


@lru_cache(maxsize=256)
def _addresses(at: At) -> dict[str, str]:
    """The same at every entry, so they are looked up once."""
    named = ("reading", "set_down", "wrong", "finish", "scan", "back", "changes", "second")
    found = {name: at.url(f"station_{name}") for name in named}
    return found | {"here": at.url(), "again": at.url()}


def noun(place: Place) -> str:
    name = place.asked.name.lower()
    for word in ("bolt", "stud", "point", "pass", "plug", "weld", "hole", "photo"):
        if word in name and place.position:
            return word.capitalize()
    return "Position" if place.position else ""


def is_out(place: Place) -> bool:
    return place.last is not None and place.last.verdict in OUT and not place.asked.recorded_only
