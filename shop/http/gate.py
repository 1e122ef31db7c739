"""The gate in front of every page: who is there, whether they may come in, and what they get told if not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect, QueryDict
from django.urls import reverse
from django.utils.http import urlencode

from shop.errors import Refusal
from shop.http.draft import draft_page
from shop.http.pages import plain_page
from shop.http.request import Asked
from shop.http.seat import read_seat, touch
from shop.permissions import OPEN_PAGES

Answer = Callable[[HttpRequest], HttpResponseBase]


class Gate:
    """Names the seat, denies by default, and turns a refusal that no view caught into a plain page."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        asked = _asked(request)
        response = self.get_response(asked)
        if asked.seat.person is not None and not asked.is_poll and _still_sits(response):
            touch(asked, response, asked.seat.token)
        if "Cache-Control" not in response:
            response["Cache-Control"] = "no-store" if asked.seat.person else "no-cache"
        return response

    def process_view(self, request: Asked, view: Callable[..., Any], args: Any, kwargs: Any) -> HttpResponseBase | None:
        if _unwritable(request):
            return plain_page(
                request,
                422,
                "What was sent holds a character that cannot be stored. Nothing was saved; type it again.",
            )
        name = request.resolver_match.url_name if request.resolver_match else None
        if name in OPEN_PAGES or request.seat.person is not None:
            return None
        return _to_sign_in(request)

    def process_exception(self, request: Asked, exception: Exception) -> HttpResponse | None:
        if isinstance(exception, Refusal):
            return plain_page(request, exception.status, exception.text)
        return None


def _asked(request: HttpRequest) -> Asked:
    """The server's own request, seen as ours: the class adds derived values only."""
    request.__class__ = Asked
    assert isinstance(request, Asked)
    request.seat = read_seat(request)
    return request


def _still_sits(response: HttpResponseBase) -> bool:
    """Not when the view itself has just changed who sits here."""
    return not any(name.endswith("seat") for name in response.cookies)


#: NUL, which PostgreSQL cannot keep, and the sign that stands for bytes that were no text.
_LOST = "\x00\ufffd"


def _unwritable(request: Asked) -> bool:
    sent: list[QueryDict] = [request.GET]
    if request.method == "POST":
        sent.append(request.POST)
    return any(
        any(letter in _LOST or "\ud800" <= letter <= "\udfff" for letter in text)
        for values in sent
        for name, several in values.lists()
        for text in (name, *several)
        if not text.isascii() or "\x00" in text
    )


def _to_sign_in(request: Asked) -> HttpResponseBase:
    """To the sign-in page and back again afterwards; what was posted goes along as a draft."""
    if request.method == "POST":
        return draft_page(request)
    back = request.get_full_path()
    if request.htmx:
        back = request.htmx.current_url_abs_path or "/"
    address = f"{reverse('sign_in')}?{urlencode({'next': back})}"
    if request.htmx:
        return HttpResponse(headers={"HX-Redirect": address})
    return HttpResponseRedirect(address)
