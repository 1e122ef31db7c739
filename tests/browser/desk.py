"""A person's own browser at a desk, signed in without walking through the sign-in's pages."""

from __future__ import annotations

from typing import Literal

from django.http import HttpRequest, HttpResponse
from playwright.sync_api import Browser, BrowserContext

from shop.http.seat import take_seat
from shop.models import Person


def desk_of(
    person: Person | None,
    browser: Browser,
    address: str,
    *,
    scheme: Literal["light", "dark"] = "light",
    size: tuple[int, int] = (1280, 800),
) -> BrowserContext:
    """Who opens it closes it. `address`: of the server that the pages come from."""
    assert person is not None
    response = HttpResponse()
    take_seat(HttpRequest(), response, person=person, terminal=None)
    context = browser.new_context(color_scheme=scheme, viewport={"width": size[0], "height": size[1]})
    context.add_cookies([{"name": name, "value": one.value, "url": address} for name, one in response.cookies.items()])
    return context
