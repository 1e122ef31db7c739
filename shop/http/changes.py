"""Live pages ask every few seconds whether anything changed; when nothing did, the answer is empty."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import Any

from django.http import HttpResponse

from shop.http.request import Asked


def stamp_of(*facts: Any) -> str:
    """A short mark of what a page shows: the same facts, the same mark."""
    return hashlib.sha256("\x1f".join(map(str, facts)).encode()).hexdigest()[:16]


def unless_unchanged(request: Asked, stamp: str, draw: Callable[[], HttpResponse]) -> HttpResponse:
    """An empty 204 when the page that asks (?stamp=...) already shows this; else the page or fragment."""
    if request.is_poll and request.GET["stamp"] == stamp:
        return HttpResponse(status=204)
    return draw()
