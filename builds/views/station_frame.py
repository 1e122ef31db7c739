"""What every part of the station page shares: a refused form, addresses, the name of a place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.urls import reverse

from builds.models import Visit
from builds.reports.work import Place
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
    assert visit.axle is not None
    return dict(_addresses(visit.axle.serial, visit.operation.number, side_word(visit)))


@lru_cache(maxsize=256)
def _addresses(serial: str, number: int, side: str) -> dict[str, str]:
    """The same at every entry, so they are looked up once."""
    named = ("reading", "set_down", "wrong", "finish", "scan", "back", "changes", "second")
    found = {name: reverse(f"station_{name}", args=[serial, number, side]) for name in named}
    here = reverse("station", args=[serial, number, side])
    return found | {"here": here, "again": here}


def side_word(visit: Visit) -> str:
    unit = getattr(visit.item, "unit", None) if visit.item_id != visit.axle_id else None
    return (unit.side if unit is not None else "") or "-"


def noun(place: Place) -> str:
    name = place.asked.name.lower()
    for word in ("bolt", "stud", "point", "pass", "plug", "weld", "hole", "photo"):
        if word in name and place.position:
            return word.capitalize()
    return "Position" if place.position else ""


def is_out(place: Place) -> bool:
    return place.last is not None and place.last.verdict in OUT and not place.asked.recorded_only
