"""Pages that say why there is nothing else to see, drawn for a whole page or for a fragment."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

_TITLES = {
    400: "This could not be read",
    403: "Not for you",
    404: "Not here",
    409: "Somebody else is at work there",
    422: "Not saved",
    500: "Something broke",
}


def plain_page(request: HttpRequest, status: int, text: str) -> HttpResponse:
    """One sentence on a page of its own; inside a page drawn by a script it takes the whole page's place."""
    context = {"title": _TITLES.get(status, "Not done"), "text": text, "status": status}
    response = render(request, "shop/plain.html", context, status=status)
    if getattr(request, "htmx", False):
        response["HX-Retarget"], response["HX-Reswap"] = "body", "innerHTML"
    return response


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return plain_page(
        request,
        404,
        "There is nothing at this address, or it is not yours to see. Go back.",
    )


def not_read(request: HttpRequest, exception: Exception) -> HttpResponse:
    return plain_page(
        request,
        400,
        "What was sent could not be read: too large, or damaged. Nothing was saved.",
    )


def not_allowed(request: HttpRequest, exception: Exception) -> HttpResponse:
    return plain_page(request, 403, str(exception) or "This page is not for your role.")


def token_missing(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The form's token did not fit: cookies are off, or the page was drawn before another sign-in."""
    return plain_page(
        request,
        403,
        "This page is from before the last sign-in, so what it sent was not taken. Nothing was saved. "
        "Go back, reload the page and enter it again.",
    )


def broken(request: HttpRequest) -> HttpResponse:
    return HttpResponse(
        "<!doctype html><html lang=en><title>Something broke</title><h1>Something broke</h1>"
        "<p>Nothing was saved. Go back and try again; tell the manager when it happens again.</p>",
        status=500,
    )
