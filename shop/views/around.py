"""What stands around every page: who is here, where they can go, and when the terminal locks itself."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.http import urlencode

from shop.http.request import Asked
from shop.http.seat import IDLE_TERMINAL
from shop.models import Role

R = Role
_LOOKS = frozenset({R.MANAGER, R.QUALITY, R.ENGINEER, R.INSPECTOR, R.LEAD_BUILDER, R.OFFICE})


@dataclass(frozen=True)
class Way:
    """A page in the navigation, and the roles that use it (none named: everybody).

    `also`: other lists that are reached from it, so that somebody deep in one sees the way back.
    """

    name: str
    label: str
    roles: frozenset[Role] = frozenset()
    also: tuple[str, ...] = ()

    def covers(self, path: str) -> int:
        """How much of the path this way's own address, or one of `also`, begins; 0 when none does."""
        return max(len(url) if url and path.startswith(url) else 0 for url in map(address, (self.name, *self.also)))


#: By the names of addresses, so that pages of the packages above can stand here; unknown ones are left out.
WAYS = (
    Way("floor", "Floor", _LOOKS | {R.SHIPPER}, also=("axles",)),
    Way("holds", "Holds", frozenset({R.INSPECTOR, R.QUALITY, R.ENGINEER})),
    Way("orders", "Orders", frozenset({R.OFFICE, R.MANAGER, R.LEAD_BUILDER, R.SHIPPER})),
    Way("kits", "Kits", frozenset({R.RECEIVER, R.MANAGER})),
    Way("units", "Units", frozenset({R.LEAD_BUILDER, R.MANAGER, R.ENGINEER, R.QUALITY})),
    Way("stock", "Stock", frozenset({R.RECEIVER, R.MANAGER, R.QUALITY})),
    Way("cutting", "Cutting plan", frozenset({R.TUBE_PREP, R.LEAD_BUILDER, R.RECEIVER})),
    Way("red_tags", "Red tags", _LOOKS),
    Way("reach", "Reach list", _LOOKS, also=("notices",)),
    Way("returns", "Returns", frozenset({R.OFFICE, R.QUALITY, R.INSPECTOR, R.ENGINEER})),
    Way("gauges", "Gauges", _LOOKS),
    Way("cards", "Build cards", frozenset({R.ENGINEER, R.MANAGER, R.QUALITY})),
    Way("people", "People", frozenset({R.MANAGER, R.QUALITY})),
    Way("record", "Record", frozenset({R.MANAGER, R.QUALITY})),
    Way("terminals", "Terminals", frozenset({R.MANAGER})),
    Way("partners", "Partners", frozenset({R.OFFICE, R.MANAGER, R.RECEIVER})),
    Way("bench_book", "Bench book"),
    Way("mine", "What is mine"),
)


def page_frame(request: HttpRequest) -> dict[str, Any]:
    """Context of base.html and terminal.html; harmless on pages that nobody is signed in at."""
    frame: dict[str, Any] = {"theme_url": address("theme")}
    if not isinstance(request, Asked):
        return frame
    frame["terminal"] = request.terminal
    if request.seat.person is None:
        return frame
    frame |= {
        "person": request.seat.person.short_name,
        "sign_out_url": address("sign_out"),
        "navigation": _Ways(request),
        "book_url": address("bench_book"),
    }
    if request.terminal is not None:
        frame["scan_url"] = address("scan")
        frame["idle"] = {
            "seconds": int(IDLE_TERMINAL.total_seconds()),
            "extend_url": address("extend"),
            "leave_url": f"{address('sign_in')}?{urlencode({'next': request.get_full_path()})}",
        }
    return frame


class _Ways:
    """The navigation, looked up only by a page that draws it."""

    def __init__(self, request: Asked) -> None:
        self.request = request

    def __iter__(self) -> Any:
        path = self.request.path
        mine = [way for way in WAYS if address(way.name) and (not way.roles or self.request.roles & way.roles)]
        nearest = max(mine, key=lambda way: way.covers(path), default=None)
        for way in mine:
            url = address(way.name)
            here = "page" if path == url else "true" if way is nearest and way.covers(path) else ""
            yield {"url": url, "label": way.label, "current": here}


@lru_cache(maxsize=256)
def address(name: str, *args: object) -> str:
    """The address of a page, or empty when no package provides it. Every page asks for the same fifteen or so."""
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""
